"""What must stay the same when a workbook is changed in a way that changes nothing, whatever the reader makes of it."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.layouts.canvas import Book, Canvas, a1
from tests.layouts.check import read
from tests.layouts.generator import Draft, make_case, make_draft
from tests.layouts.truth import FPM_PER, Case
from tests.layouts.writers import write

SEEDS = range(5000, 5040)
DOWN, ACROSS = ["Top", "Middle", "Bottom"], ["Left", "Centre", "Right"]
Grid = list[list[float]]


def _drafts(several: bool = False) -> list[Draft]:
    drafts = [make_draft(seed) for seed in SEEDS]
    return [d for d in drafts if d.file_format != "csv" and (len(d.book.sheets) > 1 or not several)]


def _by_sheet(case: Case) -> dict[str, Any]:
    return {account.sheet: account for account in read(case)[0]}


def _form(down: list[str], across: list[str], grid: Grid, unit: str = "fpm", corner: str = "") -> Case:
    """A plain form with a labelled grid, as bytes."""
    sheet = Canvas("Hood")
    head = [
        ["Hood ID", "B-1"],
        ["Date", "18 Mar 2026"],
        ["Sash height (in)", 18],
        ["Velocity unit", unit],
        ["Face velocity"],
    ]
    for r, row in enumerate(head, start=1):
        sheet.row(r, 1, row)
    sheet.row(6, 1, [corner, *across])
    for r, (word, values) in enumerate(zip(down, grid, strict=True), start=7):
        sheet.row(r, 1, [word, *values])
    return Case("form.xlsx", write(Book([sheet]), "openpyxl"), [], [{"hood_id": "B-1"}])


def _velocities(case: Case) -> dict[tuple[int, int], float]:
    """ft/min by place of the only survey, which must be read without a problem that holds."""
    accounts, _ = read(case)
    (survey,) = [s for a in accounts for s in a.surveys]
    return {(r.row, r.column): r.value * FPM_PER[r.unit] for r in survey.readings if r.kind == "face"}


def _grids(low: int = 70, high: int = 130) -> st.SearchStrategy[Grid]:
    return st.lists(st.lists(st.integers(low, high).map(float), min_size=3, max_size=3), min_size=3, max_size=3)


def _expected(grid: Grid) -> dict[tuple[int, int], float]:
    return {(r + 1, c + 1): v for r, row in enumerate(grid) for c, v in enumerate(row)}


def _plain(grid: Grid) -> bool:
    """No row or column is, within rounding, the mean of the others: such a grid may be held as doubtful."""
    sides = [grid, [list(c) for c in zip(*grid, strict=True)]]
    return all(
        any(abs(side[i][k] - (side[i - 1][k] + side[i - 2][k]) / 2) > 2 for k in range(3))
        for side in sides
        for i in range(3)
    )


@settings(max_examples=25, deadline=None)
@given(_grids().filter(_plain), st.sampled_from(list(FPM_PER)))
def test_the_unit_leaves_the_velocities(grid: Grid, unit: str) -> None:
    told = [[v / FPM_PER[unit] for v in row] for row in grid]
    velocities = _velocities(_form(DOWN, ACROSS, told, unit))
    assert velocities == pytest.approx(_expected(grid), rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(_grids().filter(_plain), st.permutations([0, 1, 2]), st.permutations([0, 1, 2]))
def test_permuting_a_labelled_grid_moves_only_the_cells(grid: Grid, down: list[int], across: list[int]) -> None:
    moved = [[grid[r][c] for c in across] for r in down]
    case = _form([DOWN[r] for r in down], [ACROSS[c] for c in across], moved)
    assert _velocities(case) == _expected(grid)


@settings(max_examples=15, deadline=None)
@given(_grids().filter(_plain))
def test_transposing_a_labelled_grid_moves_only_the_cells(grid: Grid) -> None:
    turned = [list(column) for column in zip(*grid, strict=True)]
    assert _velocities(_form(ACROSS, DOWN, turned)) == _expected(grid)


def test_a_blank_sheet_adds_nothing() -> None:
    for draft in _drafts():
        before = _by_sheet(draft.write())
        after = _by_sheet(draft.write(Book([Canvas("Nothing here"), *draft.book.sheets])))
        blank = after.pop("Nothing here")
        assert not blank.surveys
        assert blank.outcome == "set aside"
        assert after == before, draft.case.name


def test_the_order_of_sheets_changes_nothing() -> None:
    for draft in _drafts(several=True):
        assert _by_sheet(draft.write(Book(draft.book.sheets[::-1]))) == _by_sheet(draft.write()), draft.case.name


def test_reading_twice_gives_the_same() -> None:
    for seed in SEEDS:
        assert read(make_case(seed)) == read(make_case(seed))


def _shifted(canvas: Canvas, down: int, right: int) -> Canvas:
    return dataclasses.replace(
        canvas,
        cells={(r + down, c + right): placed for (r, c), placed in canvas.cells.items()},
        merged=[(t + down, x + right, b + down, y + right) for t, x, b, y in canvas.merged],
        hidden_rows={r + down for r in canvas.hidden_rows},
        hidden_columns={c + right for c in canvas.hidden_columns},
    )


def _address_free(account: Any, down: int, right: int) -> list[Any]:
    """What was read, with every address moved."""

    def move(address: str) -> str:
        row = int(address.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
        column = 0
        for ch in address.rstrip("0123456789"):
            column = column * 26 + ord(ch) - 64
        return a1(row + down, column + right)

    return [
        (
            account.outcome,
            {k: (move(f.cell), f.value, f.unit) for k, f in s.fields.items() if f.cell and ":" not in f.cell},
            [(move(r.cell), r.kind, r.value, r.outcome, r.unit, r.row, r.column, r.pass_number) for r in s.readings],
            sorted(p.code for p in s.problems),
        )
        for s in account.surveys
    ]


def test_moving_everything_on_the_sheet_moves_only_the_addresses() -> None:
    for draft in _drafts():
        before = {k: _address_free(a, 3, 2) for k, a in _by_sheet(draft.write()).items()}
        moved = draft.write(Book([_shifted(c, 3, 2) for c in draft.book.sheets]))
        assert {k: _address_free(a, 0, 0) for k, a in _by_sheet(moved).items()} == before, draft.case.name


def test_the_file_format_changes_nothing() -> None:
    """The same book as .xlsx by two writers is read the same."""
    for draft in _drafts():
        if draft.file_format in ("openpyxl", "xlsxwriter"):
            both = [
                _by_sheet(dataclasses.replace(draft.case, data=write(draft.book, kind)))
                for kind in ("openpyxl", "xlsxwriter")
            ]
            readings = [[s.readings for a in one.values() for s in a.surveys] for one in both]
            assert readings[0] == readings[1], draft.case.name
