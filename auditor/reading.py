"""From a file's bytes to its surveys as written: the workbook room and the sheets room, joined for one file.

What this gives is plain rows, so that files may be read in processes of their own.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from auditor.sheets import Context, understand
from auditor.sheets.model import SheetAccount
from auditor.stacking import Rows, rows_of
from auditor.workbook import Unreadable, read_workbook
from auditor.workbook.cells import Workbook
from auditor.workbook.own_sheet import REASON, is_own_list


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
    out.rows = rows_of(_accounts(workbook, context), name, out.sha256)
    return out


def _accounts(workbook: Workbook, context: Context | None) -> list[SheetAccount]:
    """What is understood of each sheet, in order; the list that went back with a return copy is no part of the survey."""
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


def look(data: bytes, name: str, known_hoods: Sequence[str] = ()) -> Look:
    """Reads one file as `read_bytes` does, and keeps what was understood."""
    try:
        workbook = read_workbook(data, name)
    except Unreadable as trouble:
        return Look(name, code=trouble.code, reason=trouble.detail)
    accounts = _accounts(workbook, Context(known_hoods=frozenset(known_hoods)))
    return Look(name, workbook.format, accounts, list(workbook.notes))
