"""Forms: one hood's fields around its grid, in the shapes that contractors give them."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.sheets.build import DAY, GRID, HEAD, codes, cross, error, face, form, no_value, read, sheet, survey


def test_a_plain_form() -> None:
    one = survey(form(*GRID))
    assert one.place == "A1:D8"
    assert {k: (f.cell, f.value, f.unit) for k, f in one.fields.items()} == {
        "hood": ("B1", "H-1", None),
        "surveyed_on": ("B2", dt.date(2026, 5, 12), None),
        "sash_height": ("B3", 18.0, "in"),
        "unit": ("B4", "ft/min", "ft/min"),
    }
    assert face(one) == {
        "B7": (1, 1, 98),
        "C7": (1, 2, 97),
        "D7": (1, 3, 99),
        "B8": (2, 1, 101),
        "C8": (2, 2, 103),
        "D8": (2, 3, 96),
    }
    assert (one.grid_rows, one.grid_columns) == (2, 3)
    assert {r.unit for r in one.readings} == {"ft/min"}
    assert one.problems == []


def test_labels_above_their_values() -> None:
    head = [["Hood", "Room", "Test date", "Sash (mm)", "Units"], ["H-1", "218", DAY, 457.2, "m/s"], []]
    one = survey(
        form(["Face velocity readings"], [None, "L", "R"], ["Top", 0.44, 0.49], ["Bot", 0.46, 0.47], head=head)
    )
    assert one.fields["sash_height"].value == 457.2
    assert one.fields["sash_height"].unit == "mm"
    assert one.fields["unit"].value == "m/s"
    assert face(one)["C7"] == (2, 2, 0.47)


def test_labels_in_the_same_cell_and_values_far_off() -> None:
    head = [
        ["Hood: H-1"],
        ["Survey date", None, None, None, DAY],
        ["Sash height", 18, "in"],
        ["Units:", None, "fpm"],
        [],
    ]
    one = survey(form(*GRID, head=head))
    assert one.fields["hood"].value == "H-1"
    assert one.fields["surveyed_on"].cell == "E2"
    assert (one.fields["sash_height"].value, one.fields["sash_height"].unit) == (18.0, "in")
    assert one.fields["unit"].value == "ft/min"


def test_bottom_first_right_to_left_and_on_its_side() -> None:
    one = survey(form(["Face velocity"], [None, "Right", "Left"], ["Bottom", 1.5, 2.5], ["Top", 3.5, 4.5]))
    assert face(one) == {"B8": (2, 2, 1.5), "C8": (2, 1, 2.5), "B9": (1, 2, 3.5), "C9": (1, 1, 4.5)}
    one = survey(
        form(["Face velocity"], [None, "Top", "Bottom"], ["Left", 90, 91], ["Centre", 92, 93], ["Right", 94, 95])
    )
    assert face(one)["C8"] == (2, 1, 91)
    assert (one.grid_rows, one.grid_columns) == (2, 3)


@pytest.mark.parametrize("note", ["Row 1 = bottom", "Rows numbered from the bottom up"])
def test_a_note_that_rows_run_from_the_bottom(note: str) -> None:
    one = survey(form(["Face velocity", None, None, None, note], [None, 1, 2], [1, 90, 91], [2, 92, 93]))
    assert face(one)["B8"][:2] == (2, 1)


def test_labels_that_do_not_say_where_hold_the_survey() -> None:
    one = survey(form(["Face velocity"], [None, "L", "R"], ["Xylo", 90, 91], ["Yank", 92, 93]))
    assert codes(one) == ["layout-ambiguous"]
    assert {r.row for r in one.readings} == {None}


def test_means_minima_and_totals_are_no_readings() -> None:
    one = survey(
        form(
            ["Face velocity"],
            [None, 1, 2, "Average", "Min"],
            ["A", 90, 92, 91, 90],
            ["B", 94, 96, 95, 94],
            ["Mean", 92, 94, 93],
            ["Total", 184, 188],
        )
    )
    assert set(face(one)) == {"B8", "C8", "B9", "C9"}
    assert one.fields["reported_mean"].value == 93
    assert one.problems == []


def test_a_mean_in_the_column_of_row_numbers_is_no_row() -> None:
    numbered = form(["Face velocity"], [None, "Left", "Right"], [1, 98, 97], [2, 101, 104], ["Average", 100])
    shifted = [[None, *row] if 4 < i < 9 else row for i, row in enumerate(numbered)]
    shifted[9:] = [["Average", 100]]
    one = survey(shifted)
    assert one.fields["reported_mean"].value == 100
    assert (one.grid_rows, one.grid_columns) == (2, 2)
    assert one.problems == []


def test_an_answer_that_points_to_last_year_takes_no_other_answer() -> None:
    one = survey(form(*GRID, [], ["Smoke tube", "as last year"], ["Large volume smoke", "blown back at the left"]))
    assert one.fields["smoke_local"].value == "as last year"
    assert one.fields["smoke_gross"].value == "blown back at the left"


@pytest.mark.parametrize("title", ["Historical: 2024", "Previous - 2024"])
def test_a_title_that_says_when_is_not_this_survey(title: str) -> None:
    one = survey(
        form(*GRID, [], [title], [None, "Left", "Centre", "Right"], ["Top", 88, 87, 89], ["Bottom", 91, 93, 86])
    )
    assert set(face(one)) == {"B7", "C7", "D7", "B8", "C8", "D8"}
    assert one.problems == []


def test_a_row_mean_that_is_not_the_mean_of_its_row() -> None:
    one = survey(form(["Face velocity"], [None, 1, 2, "Average"], ["A", 90, 92, 91], ["B", 94, 96, 99]))
    assert codes(one) == ["reported-mean-differs"]
    assert one.problems[0].cell == "D9"


def test_rounding_of_a_mean_is_not_a_difference() -> None:
    one = survey(form(["Face velocity"], [None, 1, 2, 3, "Average"], ["A", 90, 92, 93, 91.7], ["B", 94, 96, 96, 95]))
    assert one.problems == []


def test_an_unlabelled_line_of_means_holds() -> None:
    rows = [[None, 90.1, 92.3, 91.2], [None, 94.2, 96.8, 95.5], [None, 90.4, 99.4, 94.9], [None, 88.2, 90.2, 89.2]]
    assert codes(survey(form(["Face velocity"], *rows))) == ["layout-ambiguous"]


def test_other_grids_beside_the_readings() -> None:
    one = survey(
        form(
            ["Face velocity", None, None, None, "Last year"],
            [None, 98, 97, None, None, 91, 92],
            [None, 99, 96, None, None, 93, 94],
            [],
            ["Percent of mean"],
            [None, 100.5, 99.5],
            [None, 101.5, 98.5],
            [],
            ["Limits"],
            [None, 80, 80],
            [None, 80, 80],
        )
    )
    assert set(face(one)) == {"B7", "C7", "B8", "C8"}
    assert one.problems == []


def test_a_title_with_another_year_is_another_survey() -> None:
    one = survey(
        form(
            ["Face velocity 2026"],
            [None, 98, 97],
            [None, 99, 96],
            [],
            ["Face velocity 2025"],
            [None, 91, 92],
            [None, 93, 94],
        )
    )
    assert set(face(one)) == {"B7", "C7", "B8", "C8"}


def test_two_grids_that_could_both_be_the_readings_hold() -> None:
    one = survey(
        form(["Face velocity"], [None, 98, 97], [None, 99, 96], [], ["Face velocity"], [None, 91, 92], [None, 93, 94])
    )
    assert codes(one) == ["layout-ambiguous"]
    assert face(one) == {}


def test_a_title_that_is_not_understood_holds() -> None:
    assert "layout-not-recognised" in codes(survey(form(["Qwertz values"], [None, 98, 97], [None, 99, 96])))


def test_passes_over_one_grid_are_all_kept() -> None:
    one = survey(
        form(
            ["Face velocity"],
            ["Pass 1"],
            [None, 98, 97],
            [None, 99, 96],
            [],
            ["Pass 2"],
            [None, 91, 92],
            [None, 93, 94],
        )
    )
    assert sorted((r.pass_number, r.cell) for r in one.readings) == [
        (1, "B8"),
        (1, "B9"),
        (1, "C8"),
        (1, "C9"),
        (2, "B12"),
        (2, "B13"),
        (2, "C12"),
        (2, "C13"),
    ]
    assert (one.grid_rows, one.grid_columns) == (2, 2)


def test_blank_and_blocked_cells_stay_in_the_grid() -> None:
    one = survey(
        form(
            ["Face velocity"],
            [None, "L", "C", "R"],
            ["Top", 98, None, 99],
            ["Bottom", "blocked", 97, error()],
            ["Sill", 9, no_value(), 8],
        )
    )
    outcomes = {r.cell: r.outcome for r in one.readings}
    assert outcomes == {
        "B8": "number",
        "C8": "blank",
        "D8": "number",
        "B9": "not-numeric",
        "C9": "number",
        "D9": "not-numeric",
        "B10": "number",
        "C10": "not-numeric",
        "D10": "number",
    }


def test_a_row_without_any_reading_is_still_a_row() -> None:
    one = survey(form(["Face velocity"], [None, "L", "R"], ["Top", 98, 99], ["Mid"], ["Bottom", 97, 96]))
    assert one.grid_rows == 3
    assert [r.outcome for r in one.readings].count("blank") == 2


def test_a_missing_corner_of_a_grid_without_labels() -> None:
    one = survey(form(["Face velocity"], [None, 88, 90, 78], [None, 97, 92]))
    assert (one.grid_rows, one.grid_columns) == (2, 3)
    assert {r.cell for r in one.readings if r.outcome == "blank"} == {"D8"}


def test_cross_drafts_in_a_row_a_grid_and_by_their_maximum() -> None:
    one = survey(form(*GRID, [], ["Cross-draft", 13, 10, 5]))
    assert cross(one) == {"B10": 13, "C10": 10, "D10": 5}
    one = survey(
        form(*GRID, [], ["Cross-draft at 6 in (m/s)"], [None, "Left", "Right", "Max"], ["Parallel", 0.1, 0.2, 0.2])
    )
    assert cross(one) == {"B12": 0.1, "C12": 0.2}
    assert {r.unit for r in one.readings if r.kind == "cross-draft"} == {"m/s"}
    assert {r.direction for r in one.readings if r.kind == "cross-draft"} == {"parallel"}
    one = survey(form(*GRID, [], ["Cross-draft max", 14]))
    assert cross(one) == {"B10": 14}


def test_an_average_without_readings() -> None:
    one = survey(form(["Average face velocity (fpm)", 97.5]))
    assert codes(one) == ["readings-missing"]
    assert one.fields["reported_mean"].value == 97.5


def test_an_average_that_cannot_be_read() -> None:
    one = survey(form(*GRID, ["Average", error()]))
    assert codes(one) == ["reported-mean-unreadable"]


def test_forms_stacked_and_side_by_side() -> None:
    def block(hood: str, base: int) -> list[list]:
        return [
            ["Hood", hood],
            ["Date", DAY],
            ["Sash height", "18 in"],
            ["Face velocity (fpm)"],
            [None, base, base + 1],
            [None, base + 2, base + 3],
        ]

    [account] = read(sheet([*block("H-1", 80), [], *block("H-2", 90)]))
    assert [(s.fields["hood"].value, s.place) for s in account.surveys] == [("H-1", "A1:C7"), ("H-2", "A8:C13")]
    assert face(account.surveys[1])["C13"] == (2, 2, 93)
    beside = [[*a, *[None] * (4 - len(a)), *b] for a, b in zip(block("H-1", 80), block("H-2", 90), strict=True)]
    [account] = read(sheet(beside))
    assert [(s.fields["hood"].value, s.place) for s in account.surveys] == [("H-1", "A1:D6"), ("H-2", "E1:G6")]
    assert set(face(account.surveys[1])) == {"F5", "G5", "F6", "G6"}


def test_a_common_head_holds_for_every_form_under_it() -> None:
    rows = [["Survey date", DAY], ["Units", "fpm"], []]
    for hood in ("H-1", "H-2"):
        rows += [["Hood", hood], ["Sash height (in)", 18], ["Face velocity"], [None, 98, 97], [None, 99, 96], []]
    [account] = read(sheet(rows))
    assert [s.fields["surveyed_on"].value for s in account.surveys] == [dt.date(2026, 5, 12)] * 2
    assert [s.fields["unit"].value for s in account.surveys] == ["ft/min"] * 2


def test_several_sash_settings_are_several_surveys() -> None:
    rows = [["Hood", "H-1"], ["Date", DAY], ["Units", "fpm"], []]
    for sash in (18, 6):
        rows += [["Sash height (in)", sash], ["Face velocity"], [None, 98, 97], [None, 99, 96], []]
    [account] = read(sheet(rows))
    assert [s.fields["sash_height"].value for s in account.surveys] == [18, 6]
    assert [s.fields["hood"].value for s in account.surveys] == ["H-1", "H-1"]
    titled = [
        *HEAD[:2],
        HEAD[3],
        ["Face velocity - sash at 18 in"],
        [None, 98, 97],
        [None, 99, 96],
        [],
        ["Face velocity - sash at 6 in"],
        [None, 91, 92],
        [None, 93, 94],
    ]
    [account] = read(sheet(titled))
    assert [s.fields["sash_height"].value for s in account.surveys] == [18, 6]


def test_two_sash_heights_over_one_grid_hold() -> None:
    one = survey(form(*GRID, head=[*HEAD[:3], ["Sash height (in)", 12], *HEAD[3:]]))
    assert "layout-ambiguous" in codes(one)


def test_a_form_without_its_hoods_label_is_not_lost() -> None:
    rows = [*HEAD[1:], *GRID, [], *HEAD, *GRID]
    [account] = read(sheet(rows))
    assert ["hood" in s.fields for s in account.surveys] == [False, True]


def test_the_hood_in_the_sheets_name_or_title_only_if_known() -> None:
    rows = form(*GRID, head=HEAD[1:])
    [account] = read(sheet(rows, name="D-A1000"), hoods=["D-A1000", "D-B2000"])
    assert account.surveys[0].fields["hood"].value == "D-A1000"
    [account] = read(sheet(rows, name="D-A1000"))
    assert "hood" not in account.surveys[0].fields
    [account] = read(sheet([["Fume hood survey: D-B2000"], *rows], name="x"), hoods=["D-A1000", "D-B2000"])
    assert account.surveys[0].fields["hood"].value == "D-B2000"


def test_a_mistyped_label_is_pointed_out_and_not_taken() -> None:
    one = survey(form(*GRID, head=[HEAD[0], HEAD[1], ["Sahs height (in)", 18], *HEAD[3:]]))
    assert one.fields["sash_height"].value is None
    assert "did you mean" in one.problems[0].detail


def test_dates_that_could_be_swapped_are_settled_by_another_date_of_the_workbook() -> None:
    rows = form(*GRID, head=[HEAD[0], ["Date", "06/07/2026"], *HEAD[2:]])
    assert codes(survey(rows)) == ["date-ambiguous"]
    first, _ = read(sheet(rows), sheet([["Printed", "24/05/2026"]], name="Notes"))
    assert first.surveys[0].fields["surveyed_on"].value == dt.date(2026, 7, 6)


def test_hidden_rows_and_sheets_are_read_and_said() -> None:
    assert codes(survey(form(*GRID), hidden_rows=frozenset({8}))) == ["row-hidden"]
    assert codes(survey(form(*GRID), hidden=True)) == ["sheet-hidden"]


@given(st.integers(1, 5), st.integers(2, 7), st.data())
@settings(max_examples=60, deadline=None)
def test_every_grid_of_any_shape_reads_as_written(rows: int, columns: int, data: st.DataObject) -> None:
    values = data.draw(
        st.lists(st.lists(st.integers(60, 140), min_size=columns, max_size=columns), min_size=rows, max_size=rows)
    )
    header = [None, *[f"Col {c}" for c in range(1, columns + 1)]]
    one = survey(form(["Face velocity"], header, *[[f"Row {r}", *line] for r, line in enumerate(values, 1)]))
    got = {(row, column): value for row, column, value in face(one).values()}
    assert got == {(r, c): v for r, line in enumerate(values, 1) for c, v in enumerate(line, 1)}
    assert one.problems == []
