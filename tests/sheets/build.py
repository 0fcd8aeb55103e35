"""Small workbooks in memory, from lists of rows: what a test writes is what stands in the cells, from A1 on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from auditor.sheets import Context, understand
from auditor.sheets.model import SheetAccount, SurveyAsWritten
from auditor.workbook.cells import Cell, Kind, Sheet, Value, Workbook

DAY = dt.datetime(2026, 5, 12)


def cell(row: int, column: int, value: Value, number_format: str = "General") -> Cell:
    if isinstance(value, Cell):
        return value._replace(row=row, column=column)
    if isinstance(value, bool):
        kind = Kind.BOOLEAN
    elif isinstance(value, (int, float)):
        kind = Kind.NUMBER
    elif isinstance(value, (dt.datetime, dt.date)):
        kind = Kind.DATE
    else:
        kind = Kind.TEXT
    return Cell(row, column, kind, value, number_format)


def error(text: str = "#DIV/0!") -> Cell:
    return Cell(0, 0, Kind.ERROR, text)


def no_value() -> Cell:
    return Cell(0, 0, Kind.FORMULA, None, formula=True)


def sheet(rows: Sequence[Sequence], name: str = "Hood", **more) -> Sheet:
    """A sheet of rows; None is an absent cell. `more` are fields of Sheet (merged, hidden, hidden_rows ...)."""
    cells = {(r, c): cell(r, c, v) for r, row in enumerate(rows, 1) for c, v in enumerate(row, 1) if v is not None}
    return Sheet(name, 0, cells, **more)


def read(*sheets: Sheet, hoods: Sequence[str] = ()) -> list[SheetAccount]:
    return understand(Workbook("test.xlsx", "xlsx", list(sheets)), Context(frozenset(hoods)))


def survey(rows: Sequence[Sequence], **more) -> SurveyAsWritten:
    """The one survey of a sheet of rows."""
    [account] = read(sheet(rows, **more))
    assert account.outcome == "read", account
    [only] = account.surveys
    return only


def face(one: SurveyAsWritten) -> dict[str, tuple]:
    """Face readings as {cell: (row, column, value)}."""
    return {r.cell: (r.row, r.column, r.value) for r in one.readings if r.kind == "face"}


def cross(one: SurveyAsWritten) -> dict[str, float | None]:
    return {r.cell: r.value for r in one.readings if r.kind == "cross-draft"}


def codes(one: SurveyAsWritten | SheetAccount) -> list[str]:
    return sorted(p.code for p in one.problems)


HEAD: list[list] = [["Hood ID", "H-1"], ["Date", DAY], ["Sash height (in)", 18], ["Velocity unit", "fpm"], []]
GRID: list[list] = [["Face velocity"], [None, 98, 97, 99], [None, 101, 103, 96]]


def form(*grid: Sequence, head: Sequence[Sequence] = HEAD) -> list[list]:
    return [*map(list, head), *map(list, grid)]
