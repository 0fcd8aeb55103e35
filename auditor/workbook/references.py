"""References as sheets write them: cells, areas, row and column numbers."""

from __future__ import annotations

import re

from auditor.workbook.limits import SHEET_COLUMNS, damaged, too_large
from auditor.workbook.numbers import xml_number

_REFERENCE = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})", re.IGNORECASE)
_KNOWN_MAX = 100_000

known_places: dict[str, tuple[int, int]] = {}  # 'B4' -> (4, 2): the same few thousand in every sheet


def is_zero(text: str | None) -> bool:
    """Whether an attribute is there and writes zero."""
    return text is not None and xml_number(text) == 0


def count_of(text: str | None, what: str) -> int:
    """A row or column number as an attribute writes it. Raises Unreadable."""
    if text is None or not text.isascii() or not text.isdigit() or len(text) > 9 or int(text) == 0:
        raise damaged(f"'{(text or '')[:20]}' is no {what} number")
    return int(text)


def place_of(reference: str, sheet: str) -> tuple[int, int]:
    """The row and column that a reference names ('B4' -> (4, 2)). Raises Unreadable."""
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        raise damaged(f"sheet '{sheet}' has a cell at '{reference[:20]}', which is no place")
    column = 0
    for letter in match[1].upper():
        column = column * 26 + ord(letter) - 64
    if column > SHEET_COLUMNS:
        raise too_large(f"Columns in sheet '{sheet}'", column, SHEET_COLUMNS)
    place = (int(match[2]), column)
    if len(known_places) < _KNOWN_MAX:
        known_places[reference] = place
    return place


def area_of(reference: str, sheet: str) -> tuple[int, int, int, int]:
    """(top, left, bottom, right) of a range ('A1:C2'). Raises Unreadable."""
    first, _, last = reference.replace("$", "").partition(":")
    top, left = place_of(first, sheet)
    bottom, right = place_of(last or first, sheet)
    return min(top, bottom), min(left, right), max(top, bottom), max(left, right)
