"""Which unit governs a reading: the nearest declaration wins, and contradictions hold."""

from __future__ import annotations

import pytest

from auditor.sheets.model import SurveyAsWritten
from auditor.sheets.unit_scope import velocity_units_in
from tests.sheets.build import GRID, HEAD, codes, form, read, sheet, survey

NO_UNIT = HEAD[:3]


def unit_of(one: SurveyAsWritten) -> str | None:
    units = {r.unit for r in one.readings if r.kind == "face"}
    assert len(units) == 1
    return units.pop()


@pytest.mark.parametrize("title", ["Face velocity (m/s)", "Face velocity, m/s", "Face velocities in metres per second"])
def test_the_heading_goes_before_the_units_field(title: str) -> None:
    one = survey(form([title], *GRID[1:]))
    assert unit_of(one) == "m/s"
    assert one.fields["unit"].cell == "A6"
    assert one.problems == []


def test_a_unit_beside_the_heading_and_in_the_column_heads() -> None:
    assert unit_of(survey(form(["Face velocity", "m/s"], *GRID[1:], head=NO_UNIT))) == "m/s"
    assert (
        unit_of(survey(form(["Face velocity"], [None, "L (m/s)", "R (m/s)"], ["Top", 0.5, 0.5], ["Bot", 0.4, 0.6])))
        == "m/s"
    )


@pytest.mark.parametrize(
    "note", ["All velocities in fpm", "Velocities measured in ft/min.", "Units: fpm", "Readings are in feet per minute"]
)
def test_a_note_governs_the_sheet(note: str) -> None:
    assert unit_of(survey(form(*GRID, [], [note], head=NO_UNIT))) == "ft/min"


def test_two_notes_that_differ() -> None:
    assert codes(survey(form(*GRID, ["All velocities in fpm"], ["Velocities in m/s"], head=NO_UNIT))) == [
        "unit-mismatch"
    ]


def test_a_cell_in_another_unit_than_its_grid() -> None:
    one = survey(form(["Face velocity"], [None, 98, "0.5 m/s"], [None, 97, 96]))
    assert codes(one) == ["unit-mismatch"]
    assert one.problems[0].cell == "C7"


def test_cells_that_all_carry_their_unit() -> None:
    one = survey(form(["Face velocity"], [None, "98 fpm", "97 fpm"], [None, "96 fpm", "95 fpm"], head=NO_UNIT))
    assert unit_of(one) == "ft/min"
    assert {r.outcome for r in one.readings} == {"coerced"}


def test_a_cell_that_carries_a_unit_governs_no_other_cell() -> None:
    one = survey(form(["Face velocity"], [None, "98 fpm", 97], [None, 96, 95], head=NO_UNIT))
    assert "unit" not in one.fields
    assert [r.unit for r in one.readings] == ["ft/min", None, None, None]


def test_a_unit_on_another_field_governs_no_grid() -> None:
    one = survey(form(*GRID, ["Monitor reading (fpm)", 97], ["Design face velocity", "100 fpm"], head=NO_UNIT))
    assert unit_of(one) is None
    assert one.fields["monitor"].unit == "ft/min"


@pytest.mark.parametrize("unit", ["knots", "cfm"])
def test_units_that_are_none_of_velocity(unit: str) -> None:
    one = survey(form(*GRID, head=[*NO_UNIT, ["Velocity unit", unit]]))
    assert codes(one) == ["unit-unknown"]
    assert one.fields["unit"].value is None
    assert unit_of(one) is None
    assert codes(survey(form([f"Face velocity ({unit})"], *GRID[1:], head=NO_UNIT))) == ["unit-unknown"]


def test_the_ticked_one_of_two() -> None:
    assert unit_of(survey(form(*GRID, head=[*NO_UNIT, ["Velocity unit", "☒ fpm ☐ m/s"]]))) == "ft/min"
    assert codes(survey(form(*GRID, head=[*NO_UNIT, ["Velocity unit", "☐ fpm ☐ m/s"]]))) == ["unit-unknown"]


def test_a_note_on_the_cover_governs_the_workbook_where_a_sheet_says_nothing() -> None:
    cover = sheet([["Hood survey"], ["All velocities in m/s"]], name="Cover")
    bare, own = sheet(form(*GRID, head=NO_UNIT), name="a"), sheet(form(*GRID), name="b")
    _, first, second = read(cover, bare, own)
    assert unit_of(first.surveys[0]) == "m/s"
    assert unit_of(second.surveys[0]) == "ft/min"


def test_units_in_prose() -> None:
    assert velocity_units_in("All velocities are given in feet per minute (fpm)") == ["ft/min", "ft/min"]
    assert velocity_units_in("The limit is 80 fpm at any point") == []
    assert velocity_units_in("fpm or m/s") == ["ft/min", "m/s"]
