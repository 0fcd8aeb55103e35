"""`register load`, `intake`, `explain`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from auditor.cli import common
from auditor.cli.main import DONE, DOUBTS


def intake(options: Any) -> int:
    from auditor.files import gather
    from auditor.intake import take_in

    sources, passed_over = gather(options.paths)
    cards = common.cards_of(options)
    with _store_for_intake(options) as store:
        terms = common.terms_of(options)
        with common.progress(len(sources), "Reading workbooks") as bar:
            outcome = take_in(
                sources, store, terms, check=options.check, workers=options.workers, progress=bar, cards=cards
            )
        return report(outcome, options, passed_over, None if options.check else store)


def _store_for_intake(options: Any):
    """A check that finds no record yet works on one in memory, so that it leaves nothing behind."""
    from auditor.store import StoreUnavailable, open_store

    if not options.check:
        return open_store(options.store)
    try:
        return open_store(options.store, create=False)
    except StoreUnavailable:
        if options.store:
            raise
        return open_store("sqlite://")


def report(outcome: Any, options: Any, passed_over: list[str] | None = None, store: Any = None) -> int:
    """Prints what came of an intake, as text or as the contract's JSON, and gives the exit status. With the `store` the
    text opens with the hoods that must not be used now."""
    from auditor import account

    for name in passed_over or []:
        print(f"passed over, not a workbook by its ending: {name}", file=sys.stderr)
    for note in outcome.notes:
        print(account.plain(note, 300), file=sys.stderr)
    frames = (outcome.workbooks, outcome.surveys, outcome.discrepancies)
    if options.json:
        names = ("workbooks", "surveys", "discrepancies")
        document: dict[str, Any] = {name: common.rows_of(frame) for name, frame in zip(names, frames, strict=True)}
        common.print_json(document | {"totals": account.totals(*frames)})
    else:
        from auditor.answers import hood_states

        states = None if store is None else hood_states(store, common.as_of(options), common.terms_of(options).profiles)
        account.tell(account.console(), *frames, states)
    return DONE if outcome.clean else DOUBTS


def register_load(options: Any) -> int:
    from auditor.intake import load_register

    path = Path(options.file)
    with common.open_store(options, create=True) as store:
        terms = common.terms_of(options)
        loaded = common.asked(load_register, store, path.read_bytes(), path.name, terms)
    if options.json:
        common.print_json(
            {
                "added": loaded.change.added, "changed": loaded.change.changed,
                "unchanged": len(loaded.change.unchanged), "refused": [vars_of(one) for one in loaded.refused],
                "judged_again": loaded.judged_again,
            }
        )  # fmt: skip
    else:
        _tell_register(loaded)
    return DOUBTS if loaded.refused else DONE


def vars_of(refused: Any) -> dict[str, Any]:
    return {name: getattr(refused, name) for name in ("sheet", "cell", "reason", "remedy")}


def _tell_register(loaded: Any) -> None:
    from auditor import account

    out = account.console()
    change = loaded.change
    out.print(
        f"Register: {len(change.added):,} hoods added, {len(change.changed):,} changed, "
        f"{len(change.unchanged):,} as they were; {account.number(len(loaded.refused), 'row')} refused.",
        style="bold",
    )
    for one in loaded.refused:
        where = " ".join(filter(None, (account.plain(one.sheet), account.plain(one.cell))))
        out.print(f"  {where}: {account.plain(one.reason, 300)} Mend: {account.plain(one.remedy, 300)}")
    if loaded.judged_again:
        out.print(f"{account.number(loaded.judged_again, 'survey')} judged again under the new register.")


def explain(options: Any) -> int:
    from auditor.cli import explaining
    from auditor.intake import known_hoods
    from auditor.reading import look
    from auditor.store import StoreUnavailable
    from auditor.teaching import cards_of

    path = Path(options.file)
    given = common.cards_of(options)
    try:
        with common.open_store(options, read_only=True) as store:
            hoods = known_hoods(store)
            cards, trouble = cards_of(store, given)
    except StoreUnavailable:
        hoods, cards, trouble = (), tuple(one.card for one in given), []  # it can be explained before there is a record
    for line in trouble:
        print(line, file=sys.stderr)
    if options.draft_card:
        return _draft(options, path, hoods)
    seen = look(path.read_bytes(), path.name, hoods, cards)
    if options.json:
        common.print_json(explaining.document(seen))
    else:
        explaining.tell(seen)
    return DONE if explaining.certain(seen) else DOUBTS


def _draft(options: Any, path: Path, hoods: Any) -> int:
    """Writes a first layout card; status 1 where it has to be filled in before it can be used."""
    from auditor.reading import draft
    from auditor.sheets.cards import CardError, load_card
    from auditor.workbook import Unreadable

    try:
        text = draft(path.read_bytes(), path.name, hoods)
    except Unreadable as trouble:
        raise common.CannotDo(f"{path.name}: {trouble.detail}") from trouble
    if options.output:
        Path(options.output).write_text(text, encoding="utf-8")
    if options.json:
        common.print_json({"workbook": path.name, "card": text})
    elif not options.output:
        print(text, end="")
    try:
        load_card(text, options.output or "the draft")
    except CardError as trouble:
        print(f"to be filled in: {trouble}", file=sys.stderr)
        return DOUBTS
    return DONE
