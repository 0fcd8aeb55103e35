"""How `settle` offers to keep what was settled for the contractor's other sheets."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from auditor import account

if TYPE_CHECKING:
    from auditor.teaching import Offer

SHOWN = 10  # held surveys named beside an offer


def command(options: Any) -> str:
    """The command that keeps what is offered."""
    words = ["hoodaudit", "settle", options.survey]
    for name, value in options.settings:
        words += ["--set", f"{name}={value}"]
    words += ["--evidence", options.evidence, "--by", options.by, "--remember"]
    return shlex.join([*words, *(["--store", options.store] if options.store else [])])


def row(offer: Offer, options: Any) -> dict[str, Any]:
    """An offer for `--json`."""
    return {
        "says": offer.says, "line": offer.line, "contractor": offer.contractor or None,
        "against": offer.against or None,
        "would_have_changed": [vars_of(one) for one in offer.changes], "workbooks_not_looked_at": offer.unread,
        "kept": options.remember and not offer.against, "command": command(options),
    }  # fmt: skip


def vars_of(changed: Any) -> dict[str, Any]:
    return {name: getattr(changed, name) for name in ("survey_id", "workbook", "sheet", "how")}


def tell(out: Any, offers: Sequence[Offer], options: Any) -> None:
    """The offers on a terminal, with what each would have changed, and the command that keeps them."""
    for offer in offers:
        kept = options.remember and not offer.against
        out.print(f"\n{'Kept' if kept else 'Could be kept'}: {account.plain(offer.says, 300)}.", style="bold")
        if offer.against:
            out.print(f"  It cannot be: {account.plain(offer.against, 300)}")
            continue
        where = f"the card of {account.plain(offer.contractor)}" if offer.contractor else "the hood aliases"
        out.print(f"  A line of {where}: {account.plain(offer.line, 300)}")
        _changes(out, offer)
    if offers and not options.remember and not all(one.against for one in offers):
        out.print(f"  To keep it: {account.plain(command(options), 600)}")


def _changes(out: Any, offer: Offer) -> None:
    out.print(f"  It would have changed {account.number(len(offer.changes), 'held survey')} of the record.")
    for one in offer.changes[:SHOWN]:
        said = (
            f"{one.survey_id}  {account.plain(one.workbook)}, {account.plain(one.sheet)}: {account.plain(one.how, 200)}"
        )
        out.print(f"    {said}")
    if len(offer.changes) > SHOWN:
        out.print(f"    ... and {len(offer.changes) - SHOWN} more")
    if offer.unread:
        out.print(f"  {account.number(offer.unread, 'workbook')} more with held surveys were not looked at.")
    if offer.changes and not offer.alias:
        out.print("  What is recorded stays as it was written: settle those one by one, or hand in corrected copies.")
