"""Part of a sheet as it was handed in, read anew from the bytes that the record keeps."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from auditor.store.store import Store
    from auditor.workbook import Sheet, Workbook

MOST_ROWS, MOST_COLUMNS = 60, 40
_A1 = re.compile(r"^\$?([A-Z]{1,3})\$?([0-9]{1,7})(?::\$?([A-Z]{1,3})\$?([0-9]{1,7}))?$")
Area = tuple[int, int, int, int]  # top, left, bottom, right; 1-based, inclusive


@dataclass(frozen=True)
class Excerpt:
    """`cells`: texts as a spreadsheet would show them, index the sheet's row numbers, columns its letters; `marked`:
    the (row, column letter) asked for; `trouble`: why there is nothing to show, else ''; `cut`: more lies outside."""

    cells: pd.DataFrame
    marked: frozenset[tuple[int, str]] = frozenset()
    trouble: str = ""
    cut: bool = False


def area_of(cell: object) -> Area | None:
    """The area that 'C7' or 'B5:F9' means (the first one of 'B5, C7'); None where it means none."""
    if not isinstance(cell, str):
        return None
    found = _A1.match(cell.split(",")[0].strip().upper())
    if not found:
        return None
    left, top = _column(found[1]), int(found[2])
    right, bottom = (_column(found[3]), int(found[4])) if found[3] else (left, top)
    return min(top, bottom), min(left, right), max(top, bottom), max(left, right)


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def excerpt(store: Store, sha256: str, workbook: str, sheet: str, cells: tuple[str, ...], margin: int = 2) -> Excerpt:
    """The part of a sheet that holds `cells` (A1 addresses or ranges), with `margin` rows and columns around it, at
    most MOST_ROWS by MOST_COLUMNS."""
    nothing = pd.DataFrame()
    areas = [area for area in (area_of(cell) for cell in cells) if area]
    data = store.workbook_bytes(sha256)
    if data is None:
        return Excerpt(nothing, trouble="The record does not hold this workbook's bytes.")
    try:
        page = next((one for one in _opened(data, workbook).sheets if one.name == sheet), None)
    except _unreadable() as error:
        return Excerpt(nothing, trouble=f"The workbook cannot be read: {error}")
    if page is None:
        only = _opened(data, workbook).sheets
        page = only[0] if len(only) == 1 else None
    if page is None:
        return Excerpt(nothing, trouble="The workbook has no sheet of that name.")
    if not page.cells:
        return Excerpt(nothing, trouble="The sheet is empty.")
    return _cut(page, areas, margin)


def _unreadable() -> type[Exception]:
    from auditor.workbook import Unreadable

    return Unreadable


@lru_cache(maxsize=4)
def _opened(data: bytes, name: str) -> Workbook:
    from auditor.workbook import read_workbook

    return read_workbook(data, name)


def _cut(page: Sheet, areas: list[Area], margin: int) -> Excerpt:
    from auditor.workbook import a1

    used = (1, 1, max(row for row, _ in page.cells), max(column for _, column in page.cells))
    around = _around(areas, margin) if areas else used
    top, left, bottom, right = around[0], around[1], min(around[2], used[2] + margin), min(around[3], used[3] + margin)
    bottom, right = max(bottom, top), max(right, left)
    cut = bottom - top >= MOST_ROWS or right - left >= MOST_COLUMNS
    bottom, right = min(bottom, top + MOST_ROWS - 1), min(right, left + MOST_COLUMNS - 1)
    letters = {column: a1(1, column)[:-1] for column in range(left, right + 1)}
    texts = [
        [shown(page.cells[row, column].value) if (row, column) in page.cells else "" for column in letters]
        for row in range(top, bottom + 1)
    ]
    table = pd.DataFrame(texts, index=range(top, bottom + 1), columns=list(letters.values()), dtype=object)
    marked = {
        (row, letters[column])
        for a in areas
        for row in range(max(a[0], top), min(a[2], bottom) + 1)
        for column in range(max(a[1], left), min(a[3], right) + 1)
    }
    return Excerpt(table, frozenset(marked), cut=cut)


def _around(areas: list[Area], margin: int) -> Area:
    return (
        max(1, min(a[0] for a in areas) - margin),
        max(1, min(a[1] for a in areas) - margin),
        max(a[2] for a in areas) + margin,
        max(a[3] for a in areas) + margin,
    )


def shown(value: object) -> str:
    """A cell's value as text: dates without a time as ISO days, whole numbers without a point."""
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else value.isoformat(" ", "minutes")
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value)
