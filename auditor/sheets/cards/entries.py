"""Taking a TOML table apart strictly: every key known, every value of its kind, every complaint with its place."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from typing import Any

from auditor.sheets.cards.schema import OPEN, CardError
from auditor.sheets.scene import Region, Spot
from auditor.sheets.units import find_unit

_CELL = re.compile(r"([A-Z]{1,3})([1-9]\d{0,6})")
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384  # of a sheet, by the format's own limits
MOST_CELLS = 2_000  # of one range: no opening has more, and a slip of the pen should not cost minutes


def column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


class Entry:
    """One table of a card. `take` asks for a key once; `done` complains about those that nobody asked for."""

    def __init__(self, table: Any, place: str):
        if not isinstance(table, dict):
            raise CardError(f"{place}: a table of settings is wanted here, not {_said(table)}")
        self.table = dict(table)
        self.place = place
        self.asked: list[str] = []

    def at(self, key: str) -> str:
        return f"{self.place}, {key}" if self.place else key

    def bad(self, key: str, what: str, mend: str) -> CardError:
        return CardError(f"{self.at(key)}: {what}; {mend}")

    def take(self, key: str, kind: type, needed: str = "") -> Any:
        """The value of a key, or None where it is absent. `needed` says what to write where it must not be."""
        self.asked.append(key)
        value = self.table.pop(key, None)
        if value == OPEN:
            raise self.bad(key, "the draft left this open", needed or "write what holds, or take the line out")
        if value is None:
            if needed:
                raise self.bad(key, "is missing", needed)
            return None
        if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
            raise self.bad(key, f"{_said(value)} does not fit", f"write {_KINDS[kind]}")
        return value

    def text(self, key: str, needed: str = "") -> str:
        value = self.take(key, str, needed) or ""
        if needed and not value.strip():
            raise self.bad(key, "is empty", needed)
        return value

    def choice(self, key: str, choices: Sequence[str], needed: str = "") -> str:
        value = self.text(key, needed)
        if value and value not in choices:
            near = difflib.get_close_matches(value, choices, 1) if len(choices) > 4 else []
            hint = f"did you mean '{near[0]}'? " if near else ""
            raise self.bad(key, f"'{value}' is not known here", f"{hint}it is one of: {', '.join(choices)}")
        return value

    def number(self, key: str, needed: str = "") -> int | None:
        value = self.take(key, int, needed)
        if value is not None and not 1 <= value <= LAST_ROW:
            raise self.bad(key, f"{value} does not fit", "write a whole number from 1 on")
        return value

    def unit(self, key: str, dimension: str = "") -> str | None:
        """A unit in any spelling that is known, as its canonical name."""
        value = self.text(key)
        if not value:
            return None
        found = find_unit(value)
        if found is None or (dimension and found.dimension != dimension):
            wanted = {"velocity": "such as ft/min or m/s", "length": "such as in or mm"}.get(dimension, "such as in")
            raise self.bad(key, f"'{value}' is not a unit {f'of {dimension} ' if dimension else ''}that is known",
                           f"write one {wanted}")  # fmt: skip
        return found.name

    def spot(self, key: str) -> Spot | None:
        value = self.text(key)
        return spot_of(value, self.at(key)) if value else None

    def region(self, key: str, needed: str = "") -> Region | None:
        value = self.text(key, needed)
        return region_of(value, self.at(key)) if value else None

    def done(self) -> None:
        for key in self.table:
            near = difflib.get_close_matches(str(key), self.asked, 1)
            hint = f"did you mean '{near[0]}'? " if near else ""
            raise self.bad(str(key), "is not known here", f"{hint}these are: {', '.join(self.asked)}")


_KINDS = {str: "a text in quotes", int: "a whole number", bool: "true or false", list: "a list in square brackets",
          dict: "a table of settings"}  # fmt: skip


def _said(value: Any) -> str:
    text = str(value)
    return f"'{text if len(text) <= 60 else text[:57] + '...'}'"


def spot_of(text: str, place: str) -> Spot:
    """(row, column) of 'B7'. CardError names the `place` in the card."""
    found = _CELL.fullmatch(text.strip().replace("$", "").upper())
    row, column = (int(found[2]), column_number(found[1])) if found else (0, 0)
    if not found or row > LAST_ROW or column > LAST_COLUMN:
        raise CardError(f"{place}: {_said(text)} is not a cell; write one such as B7")
    return row, column


def region_of(text: str, place: str) -> Region:
    """The rectangle of 'B10:F12', or of one cell."""
    if text == OPEN:
        raise CardError(f"{place}: the draft left this open; write the range of the readings, such as B10:F12")
    first, _, last = text.partition(":")
    try:
        (top, left), (bottom, right) = spot_of(first, place), spot_of(last or first, place)
    except CardError:
        raise CardError(f"{place}: {_said(text)} is not a range; write one such as B10:F12") from None
    if bottom < top or right < left:
        raise CardError(f"{place}: '{text}' runs backwards; write its top left cell first")
    return Region(top, left, bottom, right)


def cells_of(text: str, place: str) -> list[Spot]:
    """All cells of a range, row by row."""
    region = region_of(text, place)
    many = (region.bottom - region.top + 1) * (region.right - region.left + 1)
    if many > MOST_CELLS:
        raise CardError(f"{place}: '{text}' has {many:,} cells; write a range of at most {MOST_CELLS:,}")
    rows, columns = range(region.top, region.bottom + 1), range(region.left, region.right + 1)
    return [(row, column) for row in rows for column in columns]
