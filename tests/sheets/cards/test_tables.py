"""A table whose headings mean nothing, read by the columns that a layout names."""

from __future__ import annotations

import datetime as dt

import pytest

from tests.sheets.build import DAY, cross, face, sheet
from tests.sheets.cards.taught import accounts, holds

HEAD = ["Q1", "Q2", "Q3", "V1", "V2", "V3", "V4", "Z"]
ROWS: list[list] = [
    ["Cobalt round 7"],
    HEAD,
    ["H-1", DAY, 18, 98, 97, 101, 103, 12],
    ["H-2", DAY, 457, 88, 87, 91, 93, 9],
]
TABLE = """
card = 1
contractor = "Cobalt"
[[layout]]
name = "round"
shape = "table"
unit = "ft/min"
header = 2
mark.cells.A1 = "Cobalt round 7"
[layout.columns]
A = { means = "hood", heading = "Q1" }
B = "surveyed_on"
C = { means = "sash_height", unit = "in" }
D = { means = "point", row = 1, column = 1, heading = "V1" }
E = { means = "point", row = 1, column = 2 }
F = { means = "point", row = 2, column = 1 }
G = { means = "point", row = 2, column = 2 }
H = "cross-draft"
"""


def surveys(rows, card=TABLE):
    [account] = accounts([sheet(rows)], card)
    return account.surveys


def test_each_row_is_a_survey():
    first, second = surveys(ROWS)
    assert (first.fields["hood"].value, second.fields["hood"].value) == ("H-1", "H-2")
    assert first.fields["surveyed_on"].value == dt.date(2026, 5, 12)
    assert (first.fields["sash_height"].value, first.fields["sash_height"].unit) == (18.0, "in")
    assert face(first) == {"D3": (1, 1, 98.0), "E3": (1, 2, 97.0), "F3": (2, 1, 101.0), "G3": (2, 2, 103.0)}
    assert (first.grid_rows, first.grid_columns) == (2, 2)
    assert cross(second) == {"H4": 9.0}
    assert {r.unit for s in (first, second) for r in s.readings} == {"ft/min"}
    assert holds(first) == holds(second) == []
    assert (first.place, second.place) == ("A3:H3", "A4:H4")


@pytest.mark.parametrize(
    ("column", "heading", "code"),
    [
        (0, "Q9", "layout-ambiguous"),  # another heading than the card's
        (3, "V9", "layout-ambiguous"),
        (1, "Room", "layout-ambiguous"),  # a heading that says something else
        (4, "Average", "layout-ambiguous"),
        (5, "Cross-draft", "layout-ambiguous"),
        (2, "Q3 (mm)", "unit-mismatch"),
        (4, "V2 (m/s)", "unit-mismatch"),
    ],
)
def test_headings_against_the_card_hold_every_row(column, heading, code):
    head = [heading if i == column else h for i, h in enumerate(HEAD)]
    assert [code in holds(s) for s in surveys([ROWS[0], head, *ROWS[2:]])] == [True, True]


def test_a_note_in_another_unit_holds():
    assert all("unit-mismatch" in holds(s) for s in surveys([*ROWS, [], ["All velocities in m/s"]]))


def test_a_column_of_numbers_that_the_card_leaves_out_holds():
    card = TABLE.replace("F = { means = \"point\", row = 2, column = 1 }\n", "").replace(
        "row = 2, column = 2", "row = 2, column = 1"
    )  # fmt: skip
    assert all("layout-ambiguous" in holds(s) for s in surveys(ROWS, card))
    skipping = card + 'F = "skip"\n'
    assert all(holds(s) == [] for s in surveys(ROWS, skipping))


def test_fields_outside_hold_for_every_row():
    rows = [["Cobalt round 7", None, "K. L."], *ROWS[1:]]
    card = TABLE.replace("[layout.columns]", '[layout.fields]\nsurveyor = { cell = "C1" }\n[layout.columns]')
    assert [s.fields["surveyor"].value for s in surveys(rows, card)] == ["K. L.", "K. L."]


def test_one_reading_to_a_row():
    rows = [
        ["Cobalt round 8"],
        ["Q1", "Q2", "Q3", "Q4", "Q5", "Q6"],
        *[["H-1", DAY, 18, r, c, 90 + 3 * r + c] for r in (1, 2) for c in (1, 2, 3)],
        *[["H-2", DAY, 18, r, c, 80 + 3 * r + c] for r in (1, 2) for c in (1, 2, 3)],
    ]
    card = """
card = 1
contractor = "Cobalt"
[[layout]]
shape = "table"
unit = "ft/min"
header = 2
mark.texts = ["Cobalt round 8"]
columns = { A = "hood", B = "surveyed_on", C = { means = "sash_height", unit = "in" }, D = "row", E = "column",
 F = "reading" }
""".replace(",\n F", ", F")
    first, second = surveys(rows, card)
    assert face(first)["F3"] == (1, 1, 94.0)
    assert face(second)["F14"] == (2, 3, 89.0)
    assert (first.grid_rows, first.grid_columns, holds(first)) == (2, 3, [])


def test_an_averages_row_is_no_survey():
    assert len(surveys([*ROWS, ["Average", None, None, 93, 92, 96, 98, 10]])) == 2


def test_rows_stop_where_the_card_says():
    rows = [*ROWS, ["H-3", DAY, 18, 1, 2, 3, 4, 5]]
    assert len(surveys(rows, TABLE.replace("header = 2", "header = 2\nlast_row = 4"))) == 2


def test_points_of_which_nobody_says_where_they_lie():
    card = TABLE.replace("row = 1, column = 1, ", "").replace(", row = 1, column = 2", "")
    card = card.replace(", row = 2, column = 1", "").replace(", row = 2, column = 2", "")
    first, _ = surveys(ROWS, card)
    assert {(r, c) for r, c, _ in face(first).values()} == {(None, None)}
    assert (first.grid_rows, first.grid_columns, holds(first)) == (None, None, [])


def test_units_in_a_row_under_the_headings():
    rows = [ROWS[0], HEAD, [None, None, "in", "fpm", "fpm", "fpm", "fpm", "fpm"], *ROWS[2:]]
    first, _ = surveys(rows, TABLE.replace("header = 2", "header = 2\nheader_to = 3"))
    assert (first.fields["unit"].value, first.fields["unit"].cell, holds(first)) == ("ft/min", "D3", [])
    metric = [ROWS[0], HEAD, [None, None, "in", "m/s", "m/s", "m/s", "m/s", "m/s"], *ROWS[2:]]
    first, _ = surveys(metric, TABLE.replace("header = 2", "header = 2\nheader_to = 3"))
    assert "unit-mismatch" in holds(first)
