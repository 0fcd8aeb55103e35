"""Lines placed as seen from the room: row 1 is the top, column 1 the left."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.sheets.geometry import HORIZONTAL, VERTICAL, place_grid, place_lines, place_points
from auditor.sheets.positions import Position, parse_position


def at(*labels: str) -> list[Position | None]:
    return [parse_position(t) if t else None for t in labels]


@pytest.mark.parametrize(
    ("labels", "axis", "order"),
    [
        (["Top", "Mid", "Bot"], VERTICAL, (1, 2, 3)),
        (["Bottom", "Middle", "Top"], VERTICAL, (3, 2, 1)),
        (["A", "B", "C"], VERTICAL, (1, 2, 3)),
        (["3", "2", "1"], VERTICAL, (3, 2, 1)),
        (["1 (bottom)", "2", "3 (top)"], VERTICAL, (3, 2, 1)),
        (["T", "M", "B"], VERTICAL, (1, 2, 3)),
        (["L", "CL", "CR", "R"], HORIZONTAL, (1, 2, 3, 4)),
        (["Right", "Centre", "Left"], HORIZONTAL, (3, 2, 1)),
        (["1 (right)", "2", "3", "4 (left)"], HORIZONTAL, (4, 3, 2, 1)),
        (["Far left", "Left", "Right", "Far right"], HORIZONTAL, (1, 2, 3, 4)),
        (["1", "2", "3"], HORIZONTAL, (1, 2, 3)),
        (["", ""], VERTICAL, (1, 2)),
    ],
)
def test_orders(labels: list[str], axis: str, order: tuple[int, ...]) -> None:
    found = place_lines(at(*labels), axis)
    assert found is not None
    assert found.order == order


@pytest.mark.parametrize(
    "labels", [["Top", "Top"], ["Top", ""], ["1", "3"], ["1 (left)", "2 (left)"], ["A", "C"], ["Top", "Left"]]
)
def test_labels_that_leave_it_open(labels: list[str]) -> None:
    assert place_lines(at(*labels), VERTICAL) is None


def test_numbered_from_the_far_end() -> None:
    found = place_lines(at("1", "2", "3"), VERTICAL, frozenset({VERTICAL}))
    assert found is not None
    assert found.order == (3, 2, 1)


def test_a_grid_on_its_side() -> None:
    found = place_grid(at("Left", "Right"), at("Top", "Mid", "Bottom"))
    assert found is not None
    assert found[2]
    assert place_grid(at("Left", "Right"), at("L", "R")) is None


def test_named_points() -> None:
    found = place_points([p for p in at("Top left", "Top right", "Bottom left", "Bottom right") if p])
    assert found == ([(1, 1), (1, 2), (2, 1), (2, 2)], 2, 2)
    found = place_points([p for p in at("A1", "A2", "A3", "B1", "B2", "B3", "C1", "C2", "C3") if p])
    assert found is not None
    assert found[1:] == (3, 3)
    assert place_points([p for p in at("Top left", "Top left") if p]) is None
    assert place_points([p for p in at("P1", "P2") if p]) is None


@given(st.permutations(["Top", "Upper", "Middle", "Lower", "Bottom"]))
def test_words_order_themselves_whatever_their_order_on_the_sheet(labels: list[str]) -> None:
    found = place_lines(at(*labels), VERTICAL)
    assert found is not None
    assert dict(zip(labels, found.order, strict=True)) == {"Top": 1, "Upper": 2, "Middle": 3, "Lower": 4, "Bottom": 5}


@given(st.permutations([1, 2, 3, 4, 5, 6]))
def test_numbers_say_their_own_place(numbers: list[int]) -> None:
    found = place_lines(at(*map(str, numbers)), HORIZONTAL)
    assert found is not None
    assert list(found.order) == numbers
