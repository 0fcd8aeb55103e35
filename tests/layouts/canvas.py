"""A workbook to be written: sheets of placed values, before any file format. Placing twice in one cell is an error,
so that a builder cannot spoil its own truth."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import NamedTuple

Scalar = int | float | str | bool | dt.date | dt.datetime


class ErrorValue(NamedTuple):
    """An Excel error, '#VALUE!'."""

    text: str


class Formula(NamedTuple):
    """A formula; `stored` is the value a spreadsheet program would have kept, None for a file that was never
    calculated."""

    text: str
    stored: float | str | None


Written = Scalar | ErrorValue | Formula


class Placed(NamedTuple):
    value: Written
    number_format: str | None = None


def a1(row: int, column: int) -> str:
    """The A1 address of a 1-based row and column (written apart from the program's own on purpose)."""
    letters = ""
    while column > 0:
        column, rest = (column - 1) // 26, (column - 1) % 26
        letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[rest] + letters
    return letters + str(row)


@dataclass
class Canvas:
    """One sheet to be written."""

    name: str
    cells: dict[tuple[int, int], Placed] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    hidden: bool = False
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)

    def put(self, row: int, column: int, value: Written | None, number_format: str | None = None) -> str:
        """Places a value and returns its address; None and '' place nothing."""
        if value is None or value == "":
            return a1(row, column)
        if (row, column) in self.cells:
            raise ValueError(f"{self.name}!{a1(row, column)} is taken by {self.cells[row, column].value!r}")
        if any(t <= row <= b and x <= column <= y and (row, column) != (t, x) for t, x, b, y in self.merged):
            raise ValueError(f"{self.name}!{a1(row, column)} lies in a merged area")
        self.cells[row, column] = Placed(value, number_format)
        return a1(row, column)

    def merge(self, top: int, left: int, bottom: int, right: int) -> None:
        if (top, left) != (bottom, right):
            self.merged.append((top, left, bottom, right))

    def row(self, row: int, column: int, values: list) -> None:
        """Places values from left to right."""
        for offset, value in enumerate(values):
            self.put(row, column + offset, value)

    @property
    def bottom(self) -> int:
        return max([r for r, _ in self.cells] + [b for _, _, b, _ in self.merged], default=0)

    def bottom_from(self, column: int) -> int:
        """The last filled row at or to the right of a column: the end of a form that stands beside others."""
        merged = [b for _, x, b, _ in self.merged if x >= column]
        return max([r for r, c in self.cells if c >= column] + merged, default=0)

    @property
    def right(self) -> int:
        return max([c for _, c in self.cells] + [y for _, _, _, y in self.merged], default=0)


@dataclass
class Book:
    """A workbook to be written."""

    sheets: list[Canvas] = field(default_factory=list)

    def add(self, name: str) -> Canvas:
        taken = {s.name.lower() for s in self.sheets}
        base, n = name[:28], 2
        name = base
        while name.lower() in taken:
            name, n = f"{base} {n}", n + 1
        self.sheets.append(Canvas(name))
        return self.sheets[-1]
