"""One sheet, looked at once: every cell classified, so that the steps after it ask instead of parse."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from auditor.sheets.dates import DateOrder
from auditor.sheets.labels import NOTHING, Meaning, analyse
from auditor.sheets.measured_axes import label_measured_lines
from auditor.sheets.numbers import PLAIN_NUMBER, Parsed, parse_cell, written
from auditor.sheets.text import is_blank
from auditor.workbook.cells import Cell, Kind, Sheet, a1

Spot = tuple[int, int]  # (row, column), 1-based


@dataclass(frozen=True, slots=True)
class Region:
    """A rectangle of a sheet, inclusive."""

    top: int
    left: int
    bottom: int
    right: int

    def holds(self, row: int, column: int) -> bool:
        return self.top <= row <= self.bottom and self.left <= column <= self.right

    @property
    def name(self) -> str:
        return f"{a1(self.top, self.left)}:{a1(self.bottom, self.right)}"


@dataclass(slots=True)
class Scene:
    """The classified cells of one sheet. `numbers` has every cell that is a number, writes one, or should hold one (an
    error, a formula without its value); `meanings` every text; `filled` the filled columns of each row, ascending."""

    sheet: Sheet
    order: DateOrder
    numbers: dict[Spot, Parsed] = field(default_factory=dict)
    meanings: dict[Spot, Meaning] = field(default_factory=dict)
    filled: dict[int, list[int]] = field(default_factory=dict)
    spans: dict[Spot, Spot] = field(default_factory=dict)  # anchor of a merged area -> its bottom right
    memo: dict[Any, Any] = field(default_factory=dict)  # what was found in a region, so that it is found once

    @property
    def cells(self) -> dict[Spot, Cell]:
        return self.sheet.cells

    def text(self, spot: Spot) -> str:
        return written(self.sheet.cells.get(spot))

    def meaning(self, spot: Spot) -> Meaning:
        return self.meanings.get(spot, NOTHING)

    def span(self, spot: Spot) -> Spot:
        """The bottom right of the merged area anchored here, or the cell itself."""
        return self.spans.get(spot, spot)

    def right_of(self, spot: Spot, limit: int) -> Iterator[Spot]:
        """Filled cells to the right in the same row, nearest first, up to column `limit`."""
        row = spot[0]
        columns = self.filled.get(row, [])
        for column in columns[bisect_right(columns, self.span(spot)[1]) :]:
            if column > limit:
                return
            yield (row, column)

    def left_of(self, spot: Spot, limit: int) -> Iterator[Spot]:
        """Filled cells to the left in the same row, nearest first, down to column `limit`."""
        columns = self.filled.get(spot[0], [])
        for column in reversed(columns[: bisect_left(columns, spot[1])]):
            if column < limit:
                return
            yield (spot[0], column)

    def is_hidden(self, spot: Spot) -> bool:
        return self.sheet.hidden or spot[0] in self.sheet.hidden_rows or spot[1] in self.sheet.hidden_columns

    def in_region(self, region: Region) -> Iterator[Spot]:
        """Filled cells of a region in reading order."""
        for row in range(region.top, region.bottom + 1):
            for column in self.filled.get(row, ()):
                if region.left <= column <= region.right:
                    yield (row, column)

    @property
    def extent(self) -> Region:
        rows = [r for r, c in self.filled.items() if c]
        columns = [c for cs in self.filled.values() for c in cs]
        return Region(min(rows), min(columns), max(rows), max(columns))


def look_at(sheet: Sheet, order: DateOrder, all_text: bool = False) -> Scene:
    """Classify every cell of a sheet once. Cells of blanks only count as absent. `all_text`: the format writes numbers
    as text and cannot do otherwise (csv), so that a number written plainly is no repair."""
    scene = Scene(sheet, order)
    for top, left, bottom, right in sheet.merged:
        scene.spans[(top, left)] = (bottom, right)
    numbers, meanings, filled = scene.numbers, scene.meanings, scene.filled
    for spot, cell in sheet.cells.items():
        kind = cell.kind
        if kind == Kind.TEXT:
            text = str(cell.value)
            if is_blank(text):
                continue
            parsed = parse_cell(cell)
            if all_text and parsed.outcome == "coerced" and PLAIN_NUMBER.fullmatch(text.strip()):
                parsed = parsed._replace(outcome="number")
            if parsed.outcome != "not-numeric":
                numbers[spot] = parsed
            meanings[spot] = analyse(text)
        elif kind in (Kind.NUMBER, Kind.ERROR, Kind.FORMULA):
            numbers[spot] = parse_cell(cell)
        filled.setdefault(spot[0], []).append(spot[1])
    for columns in filled.values():
        columns.sort()
    label_measured_lines(scene)
    return scene
