"""Tables: a row per hood, per grid row, per pass, per reading; a column per hood."""

from __future__ import annotations

import datetime as dt

from tests.sheets.build import DAY, codes, cross, error, face, read, sheet

MORE = dt.datetime(2026, 5, 13)


def surveys(rows, **more):
    [account] = read(sheet(rows, **more))
    assert account.outcome == "read", account
    return account.surveys


def test_named_points_in_columns() -> None:
    head = [
        "Hood ID",
        "Room",
        "Date",
        "Sash height in",
        "Top left",
        "Top right",
        "Bottom left",
        "Bottom right",
        "Mean",
        "Cross-draft max",
        None,
        "Velocities in ft/min",
    ]
    one, two = surveys(
        [head, ["H-1", "322", DAY, 18, 113, 110, 114, 116, 113.3, 14], ["H-2", "323", DAY, 18, 96, 97, 91, 100, 96, 16]]
    )
    assert face(one) == {"E2": (1, 1, 113), "F2": (1, 2, 110), "G2": (2, 1, 114), "H2": (2, 2, 116)}
    assert cross(two) == {"J3": 16}
    assert one.fields["unit"].value == "ft/min"
    assert (one.fields["reported_mean"].value, one.fields["reported_mean"].unit) == (113.3, "ft/min")
    assert (one.place, two.place) == ("A2:J2", "A3:J3")


def test_numbered_points_have_no_place_and_that_is_well() -> None:
    [one] = surveys([["Hood", "Date", "Sash (in)", "P1 (fpm)", "P2 (fpm)", "P3 (fpm)"], ["H-1", DAY, 18, 98, 97, 99]])
    assert {(r.row, r.column) for r in one.readings} == {(None, None)}
    assert (one.grid_rows, one.grid_columns) == (None, None)
    assert one.problems == []


def test_points_by_letter_and_number_and_by_row_and_column() -> None:
    for names in (["A1", "A2", "B1", "B2"], ["R1C1", "R1C2", "R2C1", "R2C2"]):
        [one] = surveys([["Hood", "Date", "Sash (in)", "Unit", *names], ["H-1", DAY, 18, "fpm", 98, 97, 99, 96]])
        assert face(one)["G2"] == (2, 1, 99)
        assert (one.grid_rows, one.grid_columns) == (2, 2)


def test_group_headings_over_points_and_a_row_of_units() -> None:
    rows = [
        [None, None, None, "Top", None, "Bottom", None, "Cross-draft", None],
        ["Hood", "Date", "Sash", "L", "R", "L", "R", "L", "R"],
        [None, None, "mm", "m/s", "m/s", "m/s", "m/s", "m/s", "m/s"],
        ["H-1", DAY, 457, 0.51, 0.52, 0.53, 0.54, 0.05, 0.06],
    ]
    [one] = surveys(rows)
    assert face(one) == {"D4": (1, 1, 0.51), "E4": (1, 2, 0.52), "F4": (2, 1, 0.53), "G4": (2, 2, 0.54)}
    assert cross(one) == {"H4": 0.05, "I4": 0.06}
    assert (one.fields["sash_height"].unit, one.fields["unit"].value) == ("mm", "m/s")


def test_columns_of_last_year_limits_and_percentages_are_no_readings() -> None:
    rows = [
        ["Hood", "Date", "Sash (in)", "P1 (fpm)", "P2 (fpm)", "Last year mean", "Limit", "% of design"],
        ["H-1", DAY, 18, 98, 97, 91, 80, 98],
    ]
    [one] = surveys(rows)
    assert set(face(one)) == {"D2", "E2"}
    assert "reported_mean" not in one.fields


def test_rows_that_are_no_hoods() -> None:
    head = ["Hood", "Date", "Sash (in)", "P1 (fpm)", "P2 (fpm)"]
    rows = [
        head,
        ["Alder Building"],
        ["H-1", DAY, 18, 98, 97],
        [],
        head,
        ["H-2", DAY, 18, 96, 95],
        ["Average", None, None, 97, 96],
        ["Checked by K. L."],
    ]
    assert [s.fields["hood"].value for s in surveys(rows)] == ["H-1", "H-2"]


def test_an_example_row_is_said_and_not_counted() -> None:
    rows = [
        ["Hood", "Date", "Sash (in)", "P1 (fpm)", "P2 (fpm)"],
        ["EXAMPLE", DAY, 18, 98, 97],
        ["H-2", DAY, 18, 96, 95],
    ]
    [account] = read(sheet(rows))
    assert [s.fields["hood"].value for s in account.surveys] == ["H-2"]
    assert codes(account) == ["example-left-in"]


def test_a_blank_or_broken_point_stays() -> None:
    [one] = surveys(
        [["Hood", "Date", "Sash (in)", "P1 (fpm)", "P2 (fpm)", "P3 (fpm)"], ["H-1", DAY, 18, 98, None, error("#REF!")]]
    )
    assert [r.outcome for r in one.readings] == ["number", "blank", "not-numeric"]


def test_units_of_one_table_that_differ() -> None:
    [one] = surveys([["Hood", "Date", "Sash (in)", "P1 (fpm)", "P2 (m/s)"], ["H-1", DAY, 18, 98, 97]])
    assert codes(one) == ["unit-mismatch"]


def test_facts_over_the_table_hold_for_every_row() -> None:
    one, two = surveys(
        [
            ["Survey date", DAY],
            ["Sash height (in)", 18],
            [],
            ["Hood", "P1 (fpm)", "P2 (fpm)"],
            ["H-1", 98, 97],
            ["H-2", 96, 95],
        ]
    )
    assert [s.fields["surveyed_on"].value for s in (one, two)] == [dt.date(2026, 5, 12)] * 2
    assert [s.fields["sash_height"].value for s in (one, two)] == [18, 18]


LONG = ["hood", "date", "sash_in", "kind", "row", "col", "value", "unit"]


def test_a_row_for_each_reading() -> None:
    rows = [LONG]
    for hood in ("H-1", "H-2"):
        rows += [[hood, DAY, 18, "face", r, c, 90 + r + c, "fpm"] for r in (1, 2) for c in (1, 2)]
        rows += [[hood, DAY, 18, "cross-draft", None, 1, 12, "fpm"]]
    one, two = surveys(rows)
    assert face(one) == {"G2": (1, 1, 92), "G3": (1, 2, 93), "G4": (2, 1, 93), "G5": (2, 2, 94)}
    assert cross(two) == {"G11": 12}
    assert two.place == "A7:H11"


def test_readings_of_one_survey_apart_on_the_sheet_are_one_survey() -> None:
    rows = [
        LONG,
        ["H-1", DAY, 18, "face", 1, 1, 98, "fpm"],
        ["H-2", DAY, 18, "face", 1, 1, 97, "fpm"],
        ["H-1", DAY, 18, "face", 1, 2, 99, "fpm"],
        ["H-2", DAY, 18, "face", 1, 2, 96, "fpm"],
    ]
    one, two = surveys(rows)
    assert set(face(one)) == {"G2", "G4"}
    assert set(face(two)) == {"G3", "G5"}


def test_two_readings_for_one_place_hold_unless_they_are_passes() -> None:
    rows = [
        LONG,
        ["H-1", DAY, 18, "face", 1, 1, 98, "fpm"],
        ["H-1", DAY, 18, "face", 1, 1, 97, "fpm"],
        ["H-1", DAY, 18, "face", 1, 2, 96, "fpm"],
    ]
    assert codes(surveys(rows)[0]) == ["layout-ambiguous"]
    rows = [
        ["Hood", "Date", "Sash (in)", "Row", "Col", "Pass", "Velocity (fpm)"],
        *[["H-1", DAY, 18, r, c, p, 90 + p] for p in (1, 2) for r in (1, 2) for c in (1, 2)],
    ]
    [one] = surveys(rows)
    assert [r.pass_number for r in one.readings] == [1] * 4 + [2] * 4
    assert one.problems == []


def test_units_that_differ_within_a_survey_of_rows() -> None:
    rows = [LONG, ["H-1", DAY, 18, "face", 1, 1, 98, "fpm"], ["H-1", DAY, 18, "face", 1, 2, 0.5, "m/s"]]
    assert codes(surveys(rows)[0]) == ["unit-mismatch"]


def test_a_row_for_each_row_of_the_grid() -> None:
    head = ["Hood", "Date", "Sash (in)", "Row", "Left (fpm)", "Right (fpm)"]
    merged = [(2, 1, 3, 1), (2, 2, 3, 2), (2, 3, 3, 3)]
    rows = [head, ["H-1", DAY, 18, "Bottom", 98, 97], [None, None, None, "Top", 99, 96]]
    [one] = surveys(rows, merged=merged)
    assert face(one) == {"E2": (2, 1, 98), "F2": (2, 2, 97), "E3": (1, 1, 99), "F3": (1, 2, 96)}
    repeated = [head, ["H-1", DAY, 18, "Bottom", 98, 97], ["H-1", DAY, 18, "Top", 99, 96]]
    assert face(surveys(repeated)[0]) == face(one)


def test_a_column_for_each_hood() -> None:
    rows = [
        ["Hood", "H-1", "H-2"],
        ["Date", DAY, MORE],
        ["Sash height (in)", 18, 16],
        ["Velocity (fpm)"],
        ["P1", 98, 97],
        ["P2", 99, 96],
        ["Mean", 98.5, 96.5],
    ]
    one, two = surveys(rows)
    assert set(face(one)) == {"B5", "B6"}
    assert (two.fields["surveyed_on"].cell, two.fields["surveyed_on"].value) == ("C2", dt.date(2026, 5, 13))
    assert two.fields["reported_mean"].cell == "C7"
    assert two.fields["unit"].value == "ft/min"
    assert two.place.startswith("C")


def test_averages_without_readings() -> None:
    rows = [
        ["Hood", "Date", "Sash (in)", "Average (fpm)", "Result"],
        ["H-1", DAY, 18, 98, "Pass"],
        ["H-2", DAY, 18, 96, "Pass"],
    ]
    assert [codes(s) for s in surveys(rows)] == [["readings-missing"], ["readings-missing"]]


def test_a_list_of_tests_that_is_not_understood_is_held() -> None:
    rows = [["Hood", "Date", "Sash (in)", "Blip", "Blop"], ["H-1", DAY, 18, 98, 97], ["H-2", DAY, 18, 96, 95]]
    [account] = read(sheet(rows))
    assert account.outcome == "held"
    assert codes(account) == ["layout-not-recognised"]


def test_several_readings_in_one_cell_are_held() -> None:
    rows = [
        ["Hood", "Date", "Sash (in)", "Face velocities (fpm)"],
        ["H-1", DAY, 18, "95 / 97 / 99"],
        ["H-2", DAY, 18, "91 / 93 / 92"],
    ]
    assert [codes(s) for s in surveys(rows)] == [["layout-not-recognised"], ["layout-not-recognised"]]
