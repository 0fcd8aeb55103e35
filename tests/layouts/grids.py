"""Laying a grid of readings: labels, orientation, derived rows and columns, grids that are not readings."""

from __future__ import annotations

import statistics
from dataclasses import dataclass, field
from random import Random

from tests.layouts.canvas import Canvas, Written
from tests.layouts.firm import WORDS, Firm
from tests.layouts.truth import FPM_PER, Reading, Survey, round_half_up

Grid = dict[tuple[int, int], Reading]


@dataclass
class GridStyle:
    """How a firm draws its grids. Orders list the hood's rows from the sheet's top and its columns from the left."""

    row_labels: list[str | int]  # by hood row; '' for none
    column_labels: list[str | int]
    row_order: list[int]
    column_order: list[int]
    transposed: bool = False
    corner: str = ""
    derived_columns: list[str] = field(default_factory=list)
    derived_rows: list[str] = field(default_factory=list)
    features: set[str] = field(default_factory=set)


def ended(n: int, first: str, last: str, backwards: bool) -> list[str | int]:
    """Numbers of which the outer two say where they lie: '1 (top)', 2, '3 (bottom)'. `backwards` numbers from the
    far end; the list is by the hood's own order."""
    numbers = list(range(n, 0, -1)) if backwards else list(range(1, n + 1))
    out: list[str | int] = list(numbers)
    out[0], out[-1] = f"{numbers[0]} ({first})", f"{numbers[-1]} ({last})"
    return out


def axis_labels(rng: Random, axis: str, kind: str, n: int) -> list[str | int]:
    """Labels of the hood's rows or columns, in the hood's order (top first, left first)."""
    if kind == "words":
        return list(rng.choice(WORDS["positions"][axis][str(n)]))
    if kind == "numbers":
        return list(range(1, n + 1))
    if kind == "prefixed":
        word = rng.choice(["Row {}", "R{}", "row {}"] if axis == "rows" else ["Col {}", "Column {}", "Col. {}"])
        return [word.format(i) for i in range(1, n + 1)]
    if kind == "letters":
        return list("ABCDEFGH"[:n])
    if kind == "ended":
        first, last = ("top", "bottom") if axis == "rows" else ("left", "right")
        return ended(n, first, last, rng.random() < 0.4)
    return [""] * n


def draw_style(rng: Random, rows: int, columns: int) -> GridStyle:
    """A fair style: where an order is not the plain one, its labels say so."""
    row_kinds = ["words", "words", "numbers", "prefixed", "letters", "ended", "none"]
    column_kinds = ["words", "words", "numbers", "numbers", "prefixed", "ended", "none"]
    row_kind = rng.choice([k for k in row_kinds if k != "words" or str(rows) in WORDS["positions"]["rows"]])
    column_kind = rng.choice([k for k in column_kinds if k != "words" or str(columns) in WORDS["positions"]["columns"]])
    row_order, column_order = list(range(1, rows + 1)), list(range(1, columns + 1))
    features = {f"rows:{row_kind}", f"columns:{column_kind}"}
    if row_kind in ("words", "ended") and rng.random() < 0.25:
        row_order.reverse()
        features.add("bottom-first")
    if column_kind in ("words", "ended") and rng.random() < 0.15:
        column_order.reverse()
        features.add("right-to-left")
    style = GridStyle(axis_labels(rng, "rows", row_kind, rows), axis_labels(rng, "columns", column_kind, columns),
                      row_order, column_order, features=features)  # fmt: skip
    if {row_kind, column_kind} <= {"words", "prefixed"} and rng.random() < 0.15:
        style.transposed = True
        features.add("transposed")
    if row_kind != "none" and column_kind != "none":
        style.corner = "" if style.transposed else rng.choice(WORDS["positions"]["row_corner"])
        if rng.random() < 0.25:
            style.derived_columns = rng.choice([["mean"], ["minimum", "maximum"], ["mean", "minimum", "maximum"],
                                                ["total", "mean"], ["mean", "deviation"]])  # fmt: skip
            features.add("derived-columns")
        if rng.random() < 0.2:
            style.derived_rows = rng.choice([["mean"], ["minimum", "maximum"], ["mean", "deviation"]])
            features.add("derived-rows")
    return style


def _derive(name: str, values: list[float]) -> float | None:
    if not values:
        return None
    if name == "deviation":
        return statistics.stdev(values) if len(values) > 1 else 0.0
    return {"mean": statistics.fmean, "minimum": min, "maximum": max, "total": sum}[name](values)


@dataclass
class LaidGrid:
    """Cells as (hood row, hood column, address, reading); the last row and column that the grid takes."""

    cells: list[tuple[int, int, str, Reading]]
    bottom: int
    right: int


def lay_grid(canvas: Canvas, firm: Firm, style: GridStyle, grid: Grid, top: int, left: int) -> LaidGrid:
    """Lays one grid with its labels; `top`, `left` is the corner of the labels (which may be absent)."""
    down, across = style.row_order, style.column_order
    down_labels, across_labels = style.row_labels, style.column_labels
    if style.transposed:
        down, across, down_labels, across_labels = across, down, across_labels, down_labels
    has_header = any(x != "" for x in across_labels) or bool(style.derived_columns)
    has_side = any(x != "" for x in down_labels) or bool(style.derived_rows)
    first_row, first_column = top + has_header, left + has_side
    if has_header and has_side:
        canvas.put(top, left, style.corner)
    for j, c in enumerate(across):
        canvas.put(top, first_column + j, across_labels[c - 1] if has_header else "")
    cells: list[tuple[int, int, str, Reading]] = []
    written_format = number_format(firm)
    for i, d in enumerate(down):
        if has_side:
            canvas.put(first_row + i, left, down_labels[d - 1])
        for j, a in enumerate(across):
            at = (a, d) if style.transposed else (d, a)
            reading = grid.get(at)
            if reading is None:
                continue
            address = canvas.put(first_row + i, first_column + j, reading.written, written_format)
            cells.append((*at, address, reading))
    _derived(canvas, firm, style, grid, down, across, (top, left, first_row, first_column))
    bottom = first_row + len(down) + len(style.derived_rows) - 1
    return LaidGrid(cells, bottom, first_column + len(across) + len(style.derived_columns) - 1)


def _derived(canvas: Canvas, firm: Firm, style: GridStyle, grid: Grid, down, across, corner) -> None:
    top, left, first_row, first_column = corner

    def values(pairs: list[tuple[int, int]]) -> list[float]:
        flipped = [(a, d) if style.transposed else (d, a) for d, a in pairs]
        found = [grid[at].value for at in flipped if at in grid]
        return [v for v in found if v is not None]

    for k, name in enumerate(style.derived_columns):
        column = first_column + len(across) + k
        canvas.put(top, column, firm.cased(firm.word(name)))
        for i, d in enumerate(down):
            canvas.put(first_row + i, column, derived_number(firm, _derive(name, values([(d, a) for a in across]))))
    for k, name in enumerate(style.derived_rows):
        row = first_row + len(down) + k
        canvas.put(row, left, firm.cased(firm.word(name)))
        for j, a in enumerate(across):
            canvas.put(row, first_column + j, derived_number(firm, _derive(name, values([(d, a) for d in down]))))


def derived_number(firm: Firm, value: float | None) -> Written | None:
    return None if value is None else round_half_up(value, firm.decimals + 1)


def number_format(firm: Firm) -> str | None:
    """The cells' number format; in the mode 'number-format' it is what shows the unit."""
    plain = "0" if firm.decimals == 0 else "0." + "0" * firm.decimals
    if firm.unit_mode == "number-format":
        return f'{plain}" {firm.unit_word}"'
    return firm.labels.setdefault("number format", firm.rng.choice(["", "", plain, "General"])) or None


def other_grid(rng: Random, survey: Survey, kind: str) -> Grid:
    """A grid of the same shape that is not this survey's readings: last year's, percentages, deviations, design."""
    mean = survey.mean or 1.0
    out: Grid = {}
    for at, reading in survey.passes[0].items():
        value = reading.value if reading.value is not None else mean
        if kind == "previous":
            shown: float = round(value * (1 + rng.gauss(0, 0.06)) + (0.01 if value < 5 else 1), 2 if value < 5 else 0)
        elif kind == "percent":
            shown = round(100 * value / mean, 1)
        elif kind == "off_mean":
            shown = round(100 * (value / mean - 1), 1)
        elif kind in ("volume", "temperature"):
            shown = round(rng.gauss(120, 5)) if kind == "volume" else round(rng.gauss(70, 1), 1)
        else:
            design = 100 / FPM_PER[survey.unit]
            shown = round(design, 2 if design < 5 else 0)
        shown = int(shown) if shown == int(shown) and kind != "off_mean" else shown
        out[at] = Reading(shown, shown)
    return out
