"""What the forty invented firms share: pages to write on, hoods to survey, and the truth of what was written."""

from __future__ import annotations

import datetime as dt
import io
import random
from dataclasses import dataclass, field

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from tests.layouts.truth import FPM_PER, Case
from tests.layouts.writers import _settle_zip

Value = str | int | float | dt.date | None
Point = tuple[int | None, int | None, str, float]  # row, column, cell, value as written
BUILDINGS = ("Larch House", "Rowan Hall", "Juniper Laboratories")


@dataclass(frozen=True)
class Hood:
    """A hood of the register and the day of its survey."""

    tag: str
    building: str
    floor: str
    room: str
    day: dt.date

    def row(self) -> dict:
        return {
            "hood_id": self.tag, "building": self.building, "floor": self.floor, "room": self.room,
            "hood_type": "general chemical", "opening_width_in": 60, "opening_height_in": 28,
            "design_airflow_cfm": "", "air_handler": "AHU-3", "installed_on": "2011-05-01", "profile": "",
            "interval_months": 12,
        }  # fmt: skip


@dataclass
class Page:
    """A worksheet: every writing method returns the address written to."""

    sheet: Worksheet

    @property
    def name(self) -> str:
        return str(self.sheet.title)

    def at(self, row: int, column: int, value: Value) -> str:
        self.sheet.cell(row, column, value)
        return f"{get_column_letter(column)}{row}"

    def row(self, row: int, column: int, values: list) -> list[str]:
        """Values to the right of the first; None leaves a cell empty."""
        return [self.at(row, column + k, v) for k, v in enumerate(values)]

    def down(self, row: int, column: int, values: list) -> list[str]:
        return [self.at(row + k, column, v) for k, v in enumerate(values)]

    def merged(self, row: int, column: int, height: int, width: int, value: Value) -> str:
        last_row, last_column = row + height - 1, column + width - 1
        self.sheet.merge_cells(start_row=row, start_column=column, end_row=last_row, end_column=last_column)
        return self.at(row, column, value)

    def grid(self, row: int, column: int, values: list[list], first: int = 1) -> list[Point]:
        """A grid with the opening's top row first; returns its points. `first` numbers the top row."""
        return [
            (first + r, 1 + c, self.at(row + r, column + c, v), v)
            for r, line in enumerate(values)
            for c, v in enumerate(line)
        ]


@dataclass
class Firm:
    """One contractor's workbook in the making."""

    name: str
    tag: str  # how the campus numbers the hoods, such as 'K-{}'
    number: int
    hoods: list[Hood] = field(default_factory=list)
    truth: list[dict] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.chance = random.Random(f"firm {self.name}")
        self.book = Workbook()
        self.book.remove(self.book.active)

    def page(self, title: str) -> Page:
        return Page(self.book.create_sheet(title))

    def hood(self, day: dt.date | None = None, known: bool = True) -> Hood:
        """The next hood; with `known` false the register does not have it."""
        n = len(self.hoods) + 1
        floor = str(1 + (n + self.number) % 3)
        day = day or dt.date(2026, 3 + self.number % 6, 3 + (n * 5) % 24)
        code = self.number * 100 + n
        hood = Hood(self.tag.format(code), BUILDINGS[self.number % 3], floor, f"{floor}{self.number:02d}{n}", day)
        if known:
            self.hoods.append(hood)
        return hood

    def values(self, rows: int, columns: int, unit: str = "ft/min") -> list[list]:
        """Readings of one hood that works, as an instrument shows them in that unit."""
        level = self.chance.uniform(88, 112)
        fpm = [[level + self.chance.gauss(0, 5) for _ in range(columns)] for _ in range(rows)]
        if unit == "ft/min":
            return [[round(v) for v in line] for line in fpm]
        return [[round(v / FPM_PER[unit], 2) for v in line] for line in fpm]

    def drafts(self, count: int, unit: str = "ft/min") -> list:
        fpm = [self.chance.randint(3, 17) for _ in range(count)]
        return fpm if unit == "ft/min" else [round(v / FPM_PER[unit], 2) for v in fpm]

    def tell(
        self,
        page: Page,
        hood: Hood | None,
        face: list[Point],
        cross: list[tuple[str, float]] | None = None,
        *,
        unit: str = "ft/min",
        sash: float = 18,
        shape: list[int] | None = None,
        codes: tuple[str, ...] = (),
        held: bool = False,
        day: dt.date | None = None,
        place_free: bool = False,
        cross_free: bool = False,
    ) -> None:
        """Records the truth of one survey. `shape` defaults to the largest row and column of the points."""
        placed = [(r, c) for r, c, _, _ in face if r is not None and c is not None]
        if shape is None and placed:
            shape = [max(r for r, _ in placed), max(c for _, c in placed)]
        values = [v * FPM_PER[unit] for *_, v in face if isinstance(v, int | float)]
        self.truth.append(
            {
                "sheet": page.name,
                "hood_id": hood.tag if hood else None,
                "surveyed_on": (day or hood.day).isoformat() if hood else None,
                "unit": unit,
                "sash_height_in": sash,
                "status": "held" if held else "accepted",
                "codes": sorted(codes),
                "face": [] if held else [[r, c, cell, v * FPM_PER[unit]] for r, c, cell, v in face],
                "shape": None if held else shape,
                "cross": [] if held else [[cell, v * FPM_PER[unit]] for cell, v in cross or []],
                "mean_fpm": None if held or not values else sum(values) / len(values),
                "cells": [cell for _, _, cell, _ in face],
                "place_free": place_free,
                "cross_free": cross_free,
            }
        )

    def case(self) -> Case:
        """The workbook as a case, the same bytes each time."""
        stamp = dt.datetime(2026, 1, 1)
        self.book.properties.created = self.book.properties.modified = stamp
        out = io.BytesIO()
        self.book.save(out)
        return Case(f"{self.name}.xlsx", _settle_zip(out.getvalue()), self.truth, [h.row() for h in self.hoods])


def mean(values: list[list], digits: int = 1) -> float:
    flat = [v for line in values for v in line]
    return round(sum(flat) / len(flat), digits)


def spoken(day: dt.date) -> str:
    """A date that cannot be swapped: '7 May 2026'."""
    return f"{day.day} {day:%B} {day.year}"
