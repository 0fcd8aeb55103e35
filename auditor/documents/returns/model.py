"""What goes back to a contractor: points to settle, each at its place."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass

_RANGE = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7})(?::\$?([A-Z]{1,3})\$?(\d{1,7}))?")
MOST_CELLS = 400  # of one range that are coloured; the comment stands at its first
_NOT_IN_XML = dict.fromkeys([*range(0, 9), 11, 12, *range(14, 32), 127, 0xFFFE, 0xFFFF], "\ufffd")
_LONGEST = 2_000
ALIVE = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True)
class Point:
    """One open discrepancy. `sheet` and `cell` may be empty where a whole file or sheet is meant."""

    severity: str  # 'hold' or 'caution'
    title: str
    message: str
    remedy: str
    sheet: str = ""
    cell: str = ""
    hood: str = ""
    written: str = ""


@dataclass(frozen=True)
class About:
    """What the list says of itself."""

    workbook: str
    on: dt.date


def area(cell: str) -> tuple[int, int, int, int] | None:
    """(top, left, bottom, right), 1-based, of 'B7' or 'B7:D9'; None for anything else."""
    match = _RANGE.fullmatch((cell or "").strip())
    if match is None:
        return None
    left, top = column_number(match[1]), int(match[2])
    right, bottom = (column_number(match[3]), int(match[4])) if match[3] else (left, top)
    if not (1 <= top <= bottom <= 1_048_576 and 1 <= left <= right <= 16_384):
        return None
    return top, left, bottom, right


def cells_in(place: tuple[int, int, int, int]) -> Iterator[tuple[int, int]]:
    """The cells of an area in reading order, at most MOST_CELLS of them."""
    top, left, bottom, right = place
    given = 0
    for row in range(top, bottom + 1):
        for column in range(left, right + 1):
            if given == MOST_CELLS:
                return
            given += 1
            yield row, column


def column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def clean(text: object, length: int = _LONGEST) -> str:
    """Text fit for XML and for a cell; line breaks are kept."""
    said = "" if text is None or text != text else str(text).encode("utf-8", "replace").decode("utf-8")
    return said.translate(_NOT_IN_XML)[:length]
