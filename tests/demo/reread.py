"""Reads the sample workbooks back with openpyxl and csv alone, cell by cell, for the tests."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.utils.cell import coordinate_from_string, get_column_letter, range_boundaries

Cells = dict[str, Any]


@cache
def cells(path: Path) -> dict[str, Cells]:
    """{sheet: {address: value}}; a formula shows its stored value, a csv has one sheet named as the file."""
    if path.suffix == ".csv":
        with path.open(encoding="utf-8", newline="") as stream:
            rows = list(csv.reader(stream))
        found = {
            f"{get_column_letter(j)}{i}": _typed(v)
            for i, row in enumerate(rows, 1)
            for j, v in enumerate(row, 1)
            if v != ""
        }
        return {path.stem: found}
    book = openpyxl.load_workbook(path, data_only=True)
    return {
        sheet.title: {c.coordinate: c.value for row in sheet.iter_rows() for c in row if c.value is not None}
        for sheet in book
    }


def _typed(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def span(area: str) -> Iterator[str]:
    """The addresses in a range, row by row."""
    left, top, right, bottom = range_boundaries(area)
    for row in range(top, bottom + 1):
        for column in range(left, right + 1):
            yield f"{get_column_letter(column)}{row}"


def row_of(address: str) -> int:
    return coordinate_from_string(address)[1]
