"""A grid is never read smaller than it is: what a blank may have cut off is asked about."""

from __future__ import annotations

import pytest

from auditor.sheets import understand
from auditor.workbook.cells import Cell, Kind, Sheet, Workbook

HEAD = [
    ["Hood ID", "H-1"],
    ["Date", "2026-04-01"],
    ["Sash height (in)", 18],
    ["Velocity unit", "fpm"],
    ["Face velocity"],
]


def read(grid: list[list]) -> tuple[int, set[str]]:
    """(face readings, codes of problems) of a form whose grid has no labels."""
    cells = {}
    for r, row in enumerate(HEAD + [[None, *line] for line in grid], start=1):
        for c, value in enumerate(row, start=1):
            if value is not None:
                cells[(r, c)] = Cell(r, c, Kind.TEXT if isinstance(value, str) else Kind.NUMBER, value)
    (account,) = understand(Workbook("in.xlsx", "xlsx", [Sheet("Hood", 0, cells)]))
    (survey,) = account.surveys
    return len(survey.readings), {p.code for p in survey.problems}


def test_a_whole_grid_raises_nothing() -> None:
    assert read([[101, 98, 104], [97, 102, 95]]) == (6, set())


def test_a_blank_inside_leaves_the_grid_whole() -> None:
    assert read([[101, None, 104], [97, 102, 95]]) == (6, set())


@pytest.mark.parametrize(
    "grid",
    [
        [[101, None, 104], [97, None, 95]],
        [[101, None, 104], [97, "n/a", 95]],
        [[101, "x", 104], [97, "blocked", 95]],
        [[101, None, 104], [97, "-", 95], [90, None, 93]],
        [[101, 90, None, 104, 100]],
    ],
)
def test_numbers_that_a_gap_cuts_off_are_never_dropped_in_silence(grid: list[list]) -> None:
    readings, codes = read(grid)
    assert readings >= sum(not isinstance(v, str) and v is not None for row in grid for v in row) or codes
