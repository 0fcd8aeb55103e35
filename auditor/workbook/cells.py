"""What a workbook is to the rest of the program: sheets of typed cells, nothing lost and nothing interpreted."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from enum import IntEnum
from functools import lru_cache
from typing import NamedTuple


class Kind(IntEnum):
    """What a cell holds. A blank cell is absent from its sheet."""

    NUMBER = 1
    TEXT = 2
    DATE = 3  # value is a datetime.datetime, datetime.date or datetime.time
    BOOLEAN = 4
    ERROR = 5  # value is the error's text, '#VALUE!'
    FORMULA = 6  # a formula whose value was never stored; value is None


Value = int | float | str | bool | dt.datetime | dt.date | dt.time | dt.timedelta | None


class Cell(NamedTuple):
    """One filled cell. `row` and `column` are 1-based; `number_format` is the format's code ('General', '0.0')."""

    row: int
    column: int
    kind: Kind
    value: Value
    number_format: str = "General"
    formula: bool = False  # the value shown is a formula's stored result

    @property
    def address(self) -> str:
        return a1(self.row, self.column)


@dataclass(slots=True)
class Sheet:
    """One sheet. `cells` is keyed by (row, column), in reading order; `merged` holds (top, left, bottom, right),
    1-based and inclusive, only the top left cell of which has a value."""

    name: str
    index: int
    cells: dict[tuple[int, int], Cell] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    hidden: bool = False
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    grid: bool = True  # False for a sheet that has no cells by nature (a chart sheet)


@dataclass(slots=True)
class Workbook:
    """A file that could be read. `format` is one of xlsx, xlsm, xls, xlsb, ods, csv."""

    name: str
    format: str
    sheets: list[Sheet]
    notes: list[str] = field(default_factory=list)  # what a reader should know ('macros were not run')


class Unreadable(Exception):
    """A file that cannot be read. `code` is a discrepancy code (file-unreadable, file-encrypted, file-too-large)."""

    def __init__(self, code: str, detail: str):
        super().__init__(detail)
        self.code = code
        self.detail = detail


@lru_cache(maxsize=65536)
def a1(row: int, column: int) -> str:
    """The A1 address of a 1-based row and column."""
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row}"
