"""Tools for the hand-made cases: rows typed as they would stand on a sheet, and the truth told by cell ranges."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from tests.layouts.canvas import Book, Canvas, ErrorValue, Formula, Written, a1
from tests.layouts.truth import FPM_PER, Case
from tests.layouts.writers import ENDING, CsvStyle, write

Spot = tuple[int | None, int | None, str]  # hood row, hood column, cell
REGISTRY: list[tuple[str, Callable[[Hard], None]]] = []


def hard(name: str) -> Callable[[Callable[[Hard], None]], Callable[[Hard], None]]:
    """Registers a builder under the words that say what is hard about it."""

    def keep(build: Callable[[Hard], None]) -> Callable[[Hard], None]:
        assert name not in {n for n, _ in REGISTRY}, name
        REGISTRY.append((name, build))
        return build

    return keep


def at(address: str) -> tuple[int, int]:
    """(row, column) of an A1 address."""
    letters, digits = re.fullmatch(r"([A-Z]+)(\d+)", address).groups()  # type: ignore[union-attr]
    column = 0
    for ch in letters:
        column = column * 26 + ord(ch) - 64
    return int(digits), column


def block(
    area: str, up: bool = False, rtl: bool = False, turned: bool = False, step: tuple[int, int] = (1, 1)
) -> list[Spot]:
    """The spots of a grid that fills an area; `up`: bottom row first; `rtl`: right column first; `turned`: the
    sheet's rows are the hood's columns; `step`: every how many sheet rows and columns a reading stands."""
    start, end = area.split(":")
    (top, left), (bottom, right) = at(start), at(end)
    down, across = range(top, bottom + 1, step[0]), range(left, right + 1, step[1])
    rows, columns = (len(across), len(down)) if turned else (len(down), len(across))
    spots: list[Spot] = []
    for i, r in enumerate(down, start=1):
        for j, c in enumerate(across, start=1):
            row, column = (j, i) if turned else (i, j)
            spots.append((rows + 1 - row if up else row, columns + 1 - column if rtl else column, a1(r, c)))
    return spots


def nowhere(area: str) -> list[Spot]:
    """The spots of points of which the sheet does not say where they lie."""
    return [(None, None, cell) for _, _, cell in block(area)]


def number(written: Written | None) -> float | None:
    """The number in a cell's text, comma or point; None for '<20' and for what is no number."""
    if isinstance(written, bool) or written is None or isinstance(written, ErrorValue):
        return None
    if isinstance(written, Formula):
        return number(written.stored)
    if isinstance(written, int | float):
        return float(written)
    found = re.search(r"[-−]?\d+(?:[.,]\d+)?", str(written))
    if not found or "<" in str(written):
        return None
    return float(found[0].replace("−", "-").replace(",", "."))


class Hard:
    """One hand-made workbook in the making. Hood tags are unique over all cases: `tag(1)`, `tag(2)` ..."""

    def __init__(self, index: int, name: str):
        self.index, self.name = index, name
        self.book, self.format, self.csv_style = Book(), "openpyxl", CsvStyle()
        self.truths: list[dict] = []
        self.hoods: list[str] = []
        self.file_name: str | None = None
        self.mac_dates = False

    def tag(self, n: int = 1, style: str = "B-{}") -> str:
        """A hood of the register; the first call of each also enters it there."""
        tag = style.format(f"{self.index:03d}{n}")
        if tag not in self.hoods:
            self.hoods.append(tag)
        return tag

    def sheet(self, name: str, rows: Iterable[Iterable[Written | None]] = (), start: str = "A1") -> Canvas:
        canvas = self.book.add(name)
        self.rows(canvas, start, rows)
        return canvas

    def rows(self, canvas: Canvas, start: str, rows: Iterable[Iterable[Written | None]]) -> None:
        top, left = at(start)
        for i, row in enumerate(rows):
            for j, value in enumerate(row):
                canvas.put(top + i, left + j, value)

    def merge(self, canvas: Canvas, *areas: str) -> None:
        for area in areas:
            start, end = area.split(":")
            canvas.merge(*at(start), *at(end))

    def survey(self, canvas: Canvas, hood: str | None, date: str | None, sash_in: float | None, unit: str | None,
               face: list[Spot], cross: Iterable[str] = (), *, status: str = "accepted", codes: Iterable[str] = (),
               place_free: bool = False, cross_free: bool = False, cross_unit: str = "") -> None:  # fmt: skip
        """Tells the truth of one survey; velocities are taken from the cells named."""
        factor = FPM_PER[unit] if unit else 1.0

        def fpm(cell: str, by: float) -> float | None:
            value = number(canvas.cells[at(cell)].value)
            return None if value is None else value * by

        held = status == "held"
        told = [] if held else [[r, c, cell, fpm(cell, factor)] for r, c, cell in face]
        values = [v for *_, v in told]
        placed = bool(face) and all(r is not None for r, _, _ in face) and not held
        shape = [max(r or 0 for r, _, _ in face), max(c or 0 for _, c, _ in face)] if placed else None
        mean = sum(v for v in values if v is not None) / len(values) if values and None not in values else None
        by = FPM_PER[cross_unit] if cross_unit else factor
        self.truths.append({
            "sheet": canvas.name, "hood_id": hood, "surveyed_on": date, "unit": unit, "sash_height_in": sash_in,
            "status": status, "codes": sorted(codes), "face": told,
            "shape": shape, "mean_fpm": mean, "cross": [] if held else [[c, fpm(c, by)] for c in cross],
            "cells": [cell for _, _, cell in face], "place_free": place_free, "cross_free": cross_free,
        })  # fmt: skip

    def absent(self, canvas: Canvas, codes: Iterable[str] = ()) -> None:
        """Nothing on this sheet is a survey."""
        nothing = dict.fromkeys(["hood_id", "surveyed_on", "unit", "sash_height_in", "shape", "mean_fpm"])
        self.truths.append({"sheet": canvas.name, **nothing, "status": "absent", "codes": sorted(codes), "face": [],
                            "cross": [], "cells": []})  # fmt: skip

    def finish(self) -> Case:
        name = self.file_name or f"hard-{self.index:03d}-{re.sub(r'[^a-z0-9]+', '-', self.name.lower())}"
        name = f"{name}.{ENDING[self.format]}"
        if self.format == "csv":
            for truth in self.truths:
                truth["sheet"] = name.rsplit(".", 1)[0]
        register = [
            {"hood_id": hood, "building": "Alder Building", "floor": "1", "room": "110",
             "hood_type": "general chemical",
             "opening_width_in": 60, "opening_height_in": 28, "air_handler": "AHU-A",
             "installed_on": "2009-06-01", "interval_months": 12, "sash_type": "vertical"}
            for hood in self.hoods
        ]  # fmt: skip
        data = write(self.book, self.format, self.csv_style, self.mac_dates)
        return Case(name, data, self.truths, register, (f"hard:{self.name}",))


def build_all() -> list[Case]:
    """Every registered case, in the order of registration."""
    cases = []
    for index, (name, build) in enumerate(REGISTRY, start=1):
        one = Hard(index, name)
        build(one)
        cases.append(one.finish())
    return cases
