"""Shapes that a second look at the reader found passed over or held: each is read, or held, by its words."""

from __future__ import annotations

import datetime as dt

import pytest

from auditor.sheets.dates import join_date
from tests.sheets.build import DAY, GRID, HEAD, cell, codes, cross, face, form, read, sheet, survey

HOODS: list[list] = [["Hood", "Date", "Sash (in)", "Left", "Centre", "Right"], ["H-1", DAY, 18, 98, 97, 101]]


@pytest.mark.parametrize(
    ("line", "cells"),
    [
        (["Cross-draft", "L", 12, "C", 9, "R", 31], {"C11": 12, "E11": 9, "G11": 31}),
        (["Cross-draft left", 12, "Cross-draft right", 31], {"B11": 12, "D11": 31}),
        (["Cross-draft mean", 12, "Cross-draft max", 31], {"D11": 31}),
    ],
)
def test_every_cross_draft_of_a_line_is_read(line: list, cells: dict) -> None:
    one = survey(form(*GRID, [], [], line))
    assert cross(one) == cells
    assert one.problems == []


def test_cross_drafts_named_one_by_one_right_under_the_grid_are_no_part_of_it() -> None:
    one = survey(form(*GRID, ["Cross-draft left", 12], ["Cross-draft right", 31]))
    assert cross(one) == {"B9": 12, "B10": 31}
    assert len(face(one)) == 6


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (["Cross-draft", "at sash", 12, "by the door", 31], "layout-ambiguous"),
        (["Cross-draft: L 12, C 31, R 9 fpm"], "reading-not-numeric"),
        (["Cross-draft (fpm)", "12 / 31 / 9"], "reading-not-numeric"),
    ],
)
def test_a_cross_draft_that_cannot_be_taken_apart_holds(line: list, code: str) -> None:
    assert codes(survey(form(*GRID, [], line))) == [code]


def test_a_cross_draft_that_was_not_measured_holds_nothing() -> None:
    assert survey(form(*GRID, [], ["Cross-draft", "not measured"])).problems == []


def test_a_table_of_cross_drafts_joins_the_surveys_of_its_hoods() -> None:
    rows = [["Face velocities, fpm"], *HOODS, ["H-2", DAY, 18, 91, 92, 93], []]
    drafts = [["Cross-drafts, fpm"], ["Hood", "Left", "Centre", "Right"], ["H-2", 12, 9, 31], ["H-1", 4, 5, 6]]
    [account] = read(sheet(rows + drafts))
    assert [cross(s) for s in account.surveys] == [{"B9": 4, "C9": 5, "D9": 6}, {"B8": 12, "C8": 9, "D8": 31}]
    assert account.problems == []


@pytest.mark.parametrize("title", ["Cross-drafts (fpm)", "Previous survey (fpm)", "Face velocity as % of mean"])
def test_a_title_that_makes_a_table_something_else_keeps_it_from_being_read(title: str) -> None:
    unit = ["Velocity unit", "fpm"]
    [account] = read(sheet([unit, [], [title], *HOODS, ["H-2", DAY, 18, 12, 9, 14]]))
    assert "layout-ambiguous" in {p.code for x in (account, *account.surveys) for p in x.problems}


def test_replicate_runs_share_the_place_of_their_point() -> None:
    points = [["Top left", 98, 97], ["Top right", 99, 101], ["Bottom left", 103, 96], ["Bottom right", 95, 94]]
    one = survey(form(["Location", "Run 1", "Run 2"], *points))
    assert {face(one)[c][:2] for c in ("B7", "C7")} == {(1, 1)}
    assert {face(one)[c][:2] for c in ("B10", "C10")} == {(2, 2)}


def test_lengths_under_a_heading_that_says_from_where_place_the_lines() -> None:
    one = survey(form(["Face velocity"], ["Height above sill (in)", "L", "R"], [3, 98, 97], [15, 101, 103]))
    assert face(one) == {"B8": (2, 1, 98), "C8": (2, 2, 97), "B9": (1, 1, 101), "C9": (1, 2, 103)}


def test_lengths_without_such_a_heading_hold_the_grid() -> None:
    one = survey(form(["Face velocity"], ["inches", 6, 18, 30], [None, 98, 97, 95], [None, 101, 103, 99]))
    assert codes(one) == ["layout-ambiguous"]


def test_statistics_in_one_line_under_the_grid_are_no_readings() -> None:
    one = survey(form(*GRID, ["Max", 103, "Min", 96, "Avg", 99.0]))
    assert len(face(one)) == 6
    assert one.fields["reported_mean"].value == 99


@pytest.mark.parametrize(
    ("line", "day"),
    [
        (["Tested", DAY], DAY.date()),
        (["Date", 14, "May", 2026], dt.date(2026, 5, 14)),
        (["Tested", "yes"], None),
    ],
)
def test_a_date_by_a_participle_or_in_three_cells(line: list, day: dt.date | None) -> None:
    one = survey(form(*GRID, head=[HEAD[0], line, *HEAD[2:]]))
    assert (one.fields["surveyed_on"].value if "surveyed_on" in one.fields else None) == day


@pytest.mark.parametrize(
    ("parts", "text"),
    [
        ((14, "May", 2026), "14 May 2026"),
        (("May", 14, 2026), "May 14 2026"),
        ((4, 5, 2026), "4/5/2026"),
        ((18, 96, 99), ""),
        ((14, "May", "p.m."), ""),
    ],
)
def test_three_cells_make_a_date_only_where_they_are_day_month_and_year(parts: tuple, text: str) -> None:
    assert join_date([cell(1, c, v) for c, v in enumerate(parts, 1)]) == text


def test_the_hoods_mean_is_not_a_rows_mean() -> None:
    head = ["Hood", "Date", "Sash (in)", "Row", "L (fpm)", "R (fpm)", "Row mean", "Hood mean"]
    rows = [["H-1", DAY, 18, "Top", 98, 96, 97, 99], [None, None, None, "Bottom", 100, 102, 101]]
    [account] = read(sheet([head, *rows, ["H-2", *rows[0][1:]], rows[1]]))
    assert [s.fields["reported_mean"].value for s in account.surveys] == [99, 99]
    assert all(s.problems == [] for s in account.surveys)


@pytest.mark.parametrize(
    "head",
    [
        [["Sash height (in)", 18, 12], ["Date", DAY], ["Face velocity"]],
        [["Sash height (in)", 18], ["Date", DAY], ["Face velocity", DAY, DAY.replace(year=2025)]],
    ],
)
def test_columns_of_two_settings_or_two_days_are_no_one_grid(head: list) -> None:
    one = survey([HEAD[0], HEAD[3], *head, ["Left", 98, 97], ["Centre", 99, 96], ["Right", 101, 103]])
    assert "layout-ambiguous" in codes(one)


def test_the_forms_own_date_right_over_the_grid_is_no_heading() -> None:
    one = survey([HEAD[0], HEAD[2], HEAD[3], ["Date", DAY], ["Top", 98, 97], ["Bottom", 101, 103]])
    assert one.problems == []
    assert len(face(one)) == 4
