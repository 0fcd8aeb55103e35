"""A firm's words beside its layouts: whose sheets they hold for, its own unit, its spellings, its tables."""

from __future__ import annotations

import pytest

from tests.sheets.build import DAY, face, sheet
from tests.sheets.cards.taught import accounts, holds, read

FORM = [["Contractor", "Cobalt"], ["Hood ID", "H-1"], ["Date", DAY], ["Sash height (in)", 18], [],
        ["Vel."], [None, 98, 97, 99], [None, 101, 103, 96]]  # fmt: skip
VEL = 'card = 1\ncontractor = "{}"\n[labels]\n"Vel." = {{ means = "face", unit = "ft/min" }}\n'


def form(*changes: tuple[int, list]) -> list[list]:
    rows = [list(r) for r in FORM]
    for at, row in changes:
        rows[at] = row
    return rows


def test_without_a_mark_the_words_hold_where_the_sheet_names_the_firm():
    survey = read(FORM, VEL.format("COBALT "))
    assert survey.fields["unit"].value == "ft/min"
    assert "Vel." in survey.fields["unit"].written
    assert {r.unit for r in survey.readings} == {"ft/min"}


def test_on_another_firms_sheet_they_do_not():
    for rows in (form((0, ["Contractor", "Amber"])), form((0, [])), form((0, ["Seen by Cobalt"]))):
        survey = read(rows, VEL.format("Cobalt"))
        assert "unit" not in survey.fields
        assert {r.unit for r in survey.readings} == {None}


def test_the_firm_on_the_cover_holds_for_the_workbook():
    cover = sheet([["Contractor", "Cobalt"], ["Prepared for", "Facilities"]], name="Cover")
    _, account = accounts([cover, sheet(form((0, [])))], VEL.format("Cobalt"))
    assert account.surveys[0].fields["unit"].value == "ft/min"


def test_the_unit_of_all_its_sheets():
    card = 'card = 1\ncontractor = "Cobalt"\nunit = "m/s"\n'
    assert read(FORM, card).fields["unit"].value == "m/s"
    said = read(form((5, ["Vel. (fpm)"])), card)
    assert holds(said) == ["unit-mismatch"]
    assert holds(read(form((5, ["Vel. (m/s)"])), card)) == []


@pytest.mark.parametrize("rows", [form((4, ["Velocity unit", "fpmm"])), form((5, ["Face velocity (fpmm)"]))])
def test_a_unit_as_only_this_firm_spells_it(rows):
    assert "unit-unknown" in holds(read(rows))
    card = 'card = 1\ncontractor = "Cobalt"\n[unit_words]\nfpmm = "ft/min"\n'
    survey = read(rows, card)
    assert (survey.fields["unit"].value, holds(survey)) == ("ft/min", [])
    assert {r.unit for r in survey.readings} == {"ft/min"}


def test_a_unit_that_nobody_knows_is_not_overruled():
    survey = read(form((4, ["Velocity unit", "knots"])), VEL.format("Cobalt"))
    assert "unit-unknown" in holds(survey)
    assert {r.unit for r in survey.readings} == {None}


def test_headings_of_a_table():
    rows = [["Contractor: Cobalt"], ["Tag", "Q2", "Sash height (in)", "V1", "V2", "Z"],
            ["H-1", DAY, 18, 98, 97, 8], ["H-2", DAY, 18, 88, 87, 9]]  # fmt: skip
    card = """card = 1
contractor = "Cobalt"
unit = "ft/min"
mark.texts = ["Contractor: Cobalt"]
[labels]
Tag = "hood"
Q2 = "surveyed_on"
V1 = { means = "column", number = 2 }
V2 = { means = "column", number = 1 }
Z = "cross-draft"
"""
    [account] = accounts([sheet(rows)], card)
    assert [s.fields["hood"].value for s in account.surveys] == ["H-1", "H-2"]
    assert {k: (r, c) for k, (r, c, _) in face(account.surveys[0]).items()} == {"D3": (1, 2), "E3": (1, 1)}
    assert [holds(s) for s in account.surveys] == [[], []]


def test_words_that_change_nothing_leave_no_trace():
    rows = form((5, ["Face velocity (ft/min)"]))
    [plain] = accounts([sheet(rows)])
    [same] = accounts([sheet(rows)], VEL.format("Cobalt"))
    assert same == plain
