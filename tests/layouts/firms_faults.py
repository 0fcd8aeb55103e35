"""Workbooks of firms that made one mistake each; the other surveys beside it are sound."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from tests.layouts.firms_pen import Firm, Hood, Page, mean, spoken


def swapped_cover(firm: Firm) -> None:
    """The only date of the file is 04/05/2026 on the cover."""
    cover = firm.page("Front page")
    cover.row(2, 1, ["Hood survey", None, "Survey date", "04/05/2026"])
    for n in range(2):
        hood = firm.hood()
        page = firm.page(f"Hood {n + 1}")
        page.row(1, 1, ["Hood", hood.tag, "Sash (in)", 18])
        face = _small_grid(page, firm.values(2, 3), 3)
        firm.tell(page, hood, face, held=True, codes=("date-ambiguous",))


def two_units(firm: Firm) -> None:
    """The title says m/s, the units box fpm."""
    for n in range(2):
        hood, page = firm.hood(), firm.page(f"Test {n + 1}")
        page.merged(1, 1, 1, 5, "Face velocity test (m/s)" if n == 0 else "Face velocity test (ft/min)")
        page.row(2, 1, ["Hood", hood.tag, "Date", hood.day])
        page.row(3, 1, ["Sash (in)", 18, "Units", "fpm"])
        face = _small_grid(page, firm.values(2, 3), 5, unit="")
        firm.tell(page, hood, face, held=n == 0, codes=("unit-mismatch",) if n == 0 else ())


def gap_in_table(firm: Firm) -> None:
    """Grouped headers; one hood lacks a point."""
    _grouped(firm, lambda n, grid: [grid[0], [grid[1][0], None, grid[1][2]]] if n == 2 else grid, 2, "grid-incomplete")


def word_in_column(firm: Firm) -> None:
    """A column for each hood; one point is 'n/a'."""
    _columns(firm, lambda n, flat: [*flat[:2], "n/a", *flat[3:]] if n == 1 else flat, 1, "reading-not-numeric")


def dropped_digit(firm: Firm) -> None:
    """1030 for 103 in one column."""
    _columns(firm, lambda n, flat: [*flat[:4], 1030, flat[5]] if n == 3 else flat, 3, "reading-implausible")


def no_unit_columns(firm: Firm) -> None:
    """A column for each hood and no unit anywhere."""
    _columns(firm, lambda n, flat: flat, None, "unit-missing", unit=None)


def metres_in_one(firm: Firm) -> None:
    """One column of a sheet in fpm was read off in m/s."""
    _columns(firm, lambda n, flat: [round(v * 0.00508, 2) for v in flat] if n == 2 else flat, 2, "unit-mismatch")


def unknown_tab(firm: Firm) -> None:
    """The tag is the tab's name, and one is not in the register."""
    cover = firm.page("Cover")
    cover.down(1, 1, ["Hood survey of " + spoken(dt.date(2026, 6, 16)), "Sash at 18 in, velocities in fpm"])
    for n in range(3):
        hood = firm.hood(dt.date(2026, 6, 16), known=n != 2)
        if n == 2:
            hood = Hood("ZZ-9999", hood.building, hood.floor, hood.room, hood.day)
        page = firm.page(hood.tag)
        page.row(1, 1, ["Hood", hood.tag])
        face = _small_grid(page, firm.values(2, 3), 3, unit="")
        firm.tell(page, hood, face, held=n == 2, codes=("hood-unknown",) if n == 2 else ())


def nameless_box(firm: Firm) -> None:
    """Boxes below each other; the second has no tag."""
    page = firm.page("Boxes")
    page.at(1, 1, "All velocities fpm")
    for n in range(3):
        hood, top = firm.hood(), 3 + 7 * n
        page.row(top, 1, ["Hood", hood.tag if n != 1 else None, "Date", hood.day, "Sash (in)", 18])
        face = _small_grid(page, firm.values(2, 3), top + 1, unit="")
        firm.tell(page, None if n == 1 else hood, face, held=n == 1, codes=("hood-missing",) if n == 1 else ())


def sash_left_out(firm: Firm) -> None:
    """A row for each hood; one has no sash height."""
    _rows(firm, lambda n, row: [*row[:2], None, *row[3:]] if n == 1 else row, {1}, "sash-missing")


def far_date(firm: Firm) -> None:
    """2062 for 2026."""
    _rows(
        firm, lambda n, row: [row[0], row[1].replace(year=2062), *row[2:]] if n == 3 else row, {3}, "date-implausible"
    )


def sash_180(firm: Firm) -> None:
    """180 for 18.0."""
    _rows(firm, lambda n, row: [*row[:2], 180, *row[3:]] if n == 0 else row, {0}, "sash-implausible")


def other_average(firm: Firm) -> None:
    """The average of one row is of another hood."""
    _rows(firm, lambda n, row: [*row[:-1], row[-1] + 9] if n == 2 else row, {2}, "reported-mean-differs")


def twice_the_same(firm: Firm) -> None:
    """Last hood carries the tag, day and sash of the first: both are doubtful."""
    tags: list = []

    def again(n: int, row: list) -> list:
        tags.append(row[:3])
        return [*tags[0], *row[3:]] if n == 3 else row

    _rows(firm, again, {0, 3}, "survey-repeated", same=True)


def averages_only(firm: Firm) -> None:
    """Averages and nothing behind them."""
    page = firm.page("Averages")
    page.row(1, 1, ["Hood", "Date", "Sash (in)", "Average face velocity (fpm)", "Cross-draft max (fpm)"])
    for n in range(3):
        hood = firm.hood()
        page.row(2 + n, 1, [hood.tag, hood.day, 18, mean(firm.values(2, 3)), firm.drafts(1)[0]])
        firm.tell(page, hood, [], held=True, codes=("readings-missing",))


def lapsed(firm: Firm) -> None:
    """Calibration ran out before the second day of work."""
    for n in range(2):
        hood, page = firm.hood(dt.date(2026, 4, 20 + 5 * n)), firm.page(f"Sheet {n + 1}")
        page.row(1, 1, ["Hood", hood.tag, "Date", hood.day, "Sash height", "18 in"])
        page.row(2, 1, ["Instrument", "TA-7", "Calibration due", dt.date(2026, 4, 22)])
        face = _small_grid(page, firm.values(2, 3), 4)
        firm.tell(page, hood, face, held=n == 1, codes=("calibration-expired",) if n == 1 else ())


def _small_grid(page: Page, grid: list[list], top: int, unit: str = " (fpm)") -> list:
    page.row(top, 1, [f"Face velocity{unit}", "Left", "Centre", "Right"])
    page.down(top + 1, 1, ["Top", "Bottom"])
    return page.grid(top + 1, 2, grid)


def _grouped(firm: Firm, change: Callable, at: int, code: str) -> None:
    page = firm.page("Hood table")
    page.at(1, 1, "Face velocities, FPM. Sash height 18 in")
    page.merged(2, 3, 1, 3, "Top row")
    page.merged(2, 6, 1, 3, "Bottom row")
    page.row(3, 1, ["Hood", "Date", 1, 2, 3, 1, 2, 3])
    for n in range(4):
        hood, grid = firm.hood(), change(n, firm.values(2, 3))
        page.row(4 + n, 1, [hood.tag, hood.day])
        face = page.grid(4 + n, 3, grid[:1]) + page.grid(4 + n, 6, grid[1:], first=2)
        firm.tell(page, hood, face, held=n == at, codes=(code,) if n == at else ())


def _columns(firm: Firm, change: Callable, at: int | None, code: str, unit: str | None = "fpm") -> None:
    page = firm.page("Hoods")
    points = [f"{r} {c}" for r in ("Top", "Bottom") for c in ("left", "centre", "right")]
    page.down(1, 1, ["Hood", "Test date", "Sash (in)", f"Velocities ({unit})" if unit else "Velocities", *points])
    for n in range(4):
        hood, flat = firm.hood(), change(n, firm.values(1, 6)[0])
        cells = page.down(1, 2 + n, [hood.tag, hood.day, 18, None, *flat])
        face = [(1 + k // 3, 1 + k % 3, cells[4 + k], v) for k, v in enumerate(flat)]
        bad = at in (n, None)
        firm.tell(page, hood, face, held=bad, codes=(code,) if bad else ())


def _rows(firm: Firm, change: Callable, at: set[int], code: str, same: bool = False) -> None:
    page = firm.page("Results")
    heads = [f"{r} {c} (fpm)" for r in ("Top", "Bottom") for c in ("left", "centre", "right")]
    page.row(1, 1, ["Hood", "Date", "Sash (in)", *heads, "Average (fpm)"])
    for n in range(4):
        hood, grid = firm.hood(), firm.values(2, 3)
        row = change(n, [hood.tag, hood.day, 18, *grid[0], *grid[1], mean(grid)])
        cells = page.row(2 + n, 1, row)
        face = [(1 + k // 3, 1 + k % 3, cells[3 + k], v) for k, v in enumerate([*grid[0], *grid[1]])]
        told = firm.hoods[0] if same and n == 3 else hood
        firm.tell(page, told, face, held=n in at, codes=(code,) if n in at else (), day=row[1])


FAULTS = {
    "swapped cover": (swapped_cover, "SC-{}"), "two units": (two_units, "TU-{}"), "gap": (gap_in_table, "GT-{}"),
    "word": (word_in_column, "WC-{}"), "dropped digit": (dropped_digit, "DD-{}"), "no unit": (no_unit_columns, "NU-{}"),
    "metres in one": (metres_in_one, "MO-{}"), "unknown tab": (unknown_tab, "UT-{}"),
    "nameless": (nameless_box, "NB-{}"), "no sash": (sash_left_out, "SL-{}"), "far date": (far_date, "FD-{}"),
    "sash 180": (sash_180, "SD-{}"), "other average": (other_average, "OA-{}"),
    "twice the same": (twice_the_same, "TS-{}"), "averages only": (averages_only, "AO-{}"), "lapsed": (lapsed, "LA-{}"),
}  # fmt: skip
