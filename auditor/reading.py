"""From a file's bytes to its surveys as written: the workbook room and the sheets room, joined for one file.

What this gives is plain rows, so that files may be read in processes of their own.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from auditor.sheets import Context, understand
from auditor.sheets.model import SheetAccount
from auditor.stacking import Rows, rows_of
from auditor.workbook import Unreadable, read_workbook
from auditor.workbook.cells import Workbook
from auditor.workbook.own_sheet import REASON, is_own_list

if TYPE_CHECKING:
    from auditor.sheets.cards import Card


@dataclass
class FileRead:
    """One file after reading. `status` is 'read' or 'unreadable'; `code` and `reason` say why it was not read."""

    name: str
    path: str
    sha256: str
    size: int
    status: str = "read"
    code: str = ""
    reason: str = ""
    rows: Rows = field(default_factory=Rows)
    notes: list[str] = field(default_factory=list)


def read_bytes(data: bytes, name: str, path: str, context: Context | None = None) -> FileRead:
    """Reads one file. Never raises for what the bytes are: an unreadable file comes back as such."""
    out = FileRead(name, path, hashlib.sha256(data).hexdigest(), len(data))
    try:
        workbook = read_workbook(data, name)
    except Unreadable as trouble:
        out.status, out.code, out.reason = "unreadable", trouble.code, trouble.detail
        return out
    out.notes = list(workbook.notes)
    accounts = _accounts(workbook, context)
    out.notes += cards_used(accounts)
    out.rows = rows_of(accounts, name, out.sha256)
    return out


def cards_used(accounts: Sequence[SheetAccount]) -> list[str]:
    """One line for each layout card that sheets of a workbook were read by."""
    used = Counter(account.card for account in accounts if account.card)
    return [f"{number} sheet{'s' if number > 1 else ''} read by {card}" for card, number in used.items()]


def _accounts(workbook: Workbook, context: Context | None) -> list[SheetAccount]:
    """What is understood of each sheet, in order; the list that went back with a return copy is no part of the
    survey."""
    own = [number for number, sheet in enumerate(workbook.sheets) if is_own_list(sheet)]
    if not own:
        return understand(workbook, context)
    survey = replace(workbook, sheets=[sheet for sheet in workbook.sheets if not is_own_list(sheet)])
    accounts = understand(survey, context)
    for number in own:
        accounts.insert(number, SheetAccount(workbook.sheets[number].name, "set aside", REASON))
    return accounts


@dataclass
class Look:
    """What was understood of one file, sheet by sheet, for a person to see; or why it could not be read."""

    name: str
    format: str = ""
    accounts: list[SheetAccount] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    code: str = ""
    reason: str = ""


def look(data: bytes, name: str, known_hoods: Sequence[str] = (), cards: Sequence[Card] = ()) -> Look:
    """Reads one file as `read_bytes` does, and keeps what was understood."""
    try:
        workbook = read_workbook(data, name)
    except Unreadable as trouble:
        return Look(name, code=trouble.code, reason=trouble.detail)
    accounts = _accounts(workbook, Context(frozenset(known_hoods), tuple(cards)))
    return Look(name, workbook.format, accounts, [*workbook.notes, *cards_used(accounts)])


def draft(data: bytes, name: str, known_hoods: Sequence[str] = ()) -> str:
    """A first layout card (TOML) for a workbook. Raises Unreadable for a file that cannot be read."""
    from auditor.sheets.cards.drafting import draft_card

    workbook = read_workbook(data, name)
    survey = replace(workbook, sheets=[sheet for sheet in workbook.sheets if not is_own_list(sheet)])
    return draft_card(survey, Context(frozenset(known_hoods)))
