"""What a title or a cover says of all hoods fills what every survey lacks, and nothing else."""

from __future__ import annotations

import datetime as dt

import pytest

from auditor.sheets.statements import date_stated, sash_stated, unit_of_lengths_stated
from auditor.sheets.text import fold
from tests.sheets.build import DAY, GRID, read, sheet, survey

BARE: list[list] = [["Hood ID", "H-1"], ["Velocity unit", "fpm"], []]
TABLE: list[list] = [["Hood", "Top left", "Top right", "Bottom left", "Bottom right"], ["H-1", 98, 97, 101, 103]]


@pytest.mark.parametrize(
    ("title", "height"),
    [
        ("Face velocity survey (all values fpm) - 18 in sash", (18, "in")),
        ("All velocities in feet per minute, sash at 18 inches", (18, "in")),
        ("Face velocities (fpm). Sash height 457 mm.", (457, "mm")),
        ("North wing - hoods tested 21 April 2026 with the sash at 18 in", (18, "in")),
        ("Sash set at 1 ft 6 in", (18, "in")),
    ],
)
def test_a_clause_states_the_sash(title: str, height: tuple) -> None:
    assert sash_stated(fold(title)) == height


@pytest.mark.parametrize(
    "title",
    [
        "Sash at 18 in, 12 in for the perchloric hood",
        "Alarm tested with sash at 24 in",
        "Do not use with the sash above 18 in",
        "Design: 100 fpm with sash at 18 in",
        "Sash at 18",
        "Sash heights 18 in and 12 in",
        "Last year the sash was at 18 in",
        "Maximum sash 18 in",
    ],
)
def test_what_is_not_said_of_all_hoods_at_this_survey_is_no_sash(title: str) -> None:
    assert sash_stated(fold(title)) is None


@pytest.mark.parametrize(
    ("title", "words"),
    [
        ("All hoods tested on 12 May 2026", "12 may 2026"),
        ("Site visit 18 August 2026, sash at 18 in, all velocities fpm", "18 august 2026"),
        ("Tested May 12, 2026", "may 12, 2026"),
        ("Report of 3 June 2026", ""),
        ("Next survey of hoods 12 May 2027", ""),
        ("Tested 12 May 2026, 13 May 2026", ""),
        ("Instrument tested on 12 May 2026", ""),
    ],
)
def test_a_clause_states_the_day(title: str, words: str) -> None:
    assert date_stated(fold(title)) == words


def test_bare_sash_heights_get_the_unit_that_a_title_gives_to_lengths() -> None:
    assert unit_of_lengths_stated(fold("Annual test, sash heights in inches, velocities in ft/min")) == "in"
    head = ["Annual test, sash heights in inches, velocities in ft/min"]
    rows = [[*TABLE[0], "Date", "Sash"], [*TABLE[1], DAY, 18], ["H-2", 95, 96, 97, 94, DAY, 18]]
    [account] = read(sheet([head, [], *rows]))
    assert {(s.fields["sash_height"].unit, s.fields["unit"].value) for s in account.surveys} == {("in", "ft/min")}


def test_a_title_over_a_table_dates_all_its_rows() -> None:
    title = ["Hoods tested 12 May 2026 with the sash at 18 in, all velocities fpm"]
    [account] = read(sheet([title, [], *TABLE, ["H-2", 95, 96, 97, 94]]))
    assert [s.fields["surveyed_on"].value for s in account.surveys] == [dt.date(2026, 5, 12)] * 2
    assert {s.fields["sash_height"].cell for s in account.surveys} == {"A1"}


def test_a_survey_with_a_value_of_its_own_leaves_the_others_without_one() -> None:
    title = ["Sash at 18 in, all velocities fpm"]
    rows = [[*TABLE[0], "Sash (in)"], [*TABLE[1], 12], ["H-2", 95, 96, 97, 94]]
    [account] = read(sheet([title, [], *rows]))
    assert [s.fields["sash_height"].value if "sash_height" in s.fields else None for s in account.surveys] == [12, None]


def test_an_empty_label_says_that_nobody_wrote_it_down() -> None:
    one = survey([["All velocities in fpm, sash at 18 in"], ["Hood ID", "H-1"], ["Sash height:"], [], *GRID])
    assert "sash_height" not in one.fields


def test_a_remark_under_the_readings_states_nothing() -> None:
    one = survey([*BARE, *GRID, [], ["Hoods tested on 12 May 2026"]])
    assert "surveyed_on" not in one.fields


@pytest.mark.parametrize(
    ("cover", "day"),
    [
        ([["All hoods tested on 12 May 2026"]], dt.date(2026, 5, 12)),
        ([["Survey date", DAY]], DAY.date()),
        ([["Report date", DAY]], None),
        ([["Date", DAY]], None),
        ([["Survey date", DAY, "to", DAY.replace(day=20)]], None),
        ([["Survey started", DAY], ["Survey date", DAY.replace(day=20)], ["Tested 12 May 2026"]], None),
    ],
)
def test_a_cover_dates_the_workbook_where_it_speaks_of_the_test(cover: list, day: dt.date | None) -> None:
    accounts = read(sheet([["Hood survey"], *cover], name="Cover"), sheet([*BARE, *GRID]))
    [one] = accounts[1].surveys
    assert (one.fields["surveyed_on"].value if "surveyed_on" in one.fields else None) == day


def test_a_cover_dates_nothing_where_a_sheet_has_its_own_day() -> None:
    cover = sheet([["Hood survey"], ["Survey date", DAY]], name="Cover")
    own = sheet([["Hood ID", "H-2"], ["Date", DAY.replace(day=20)], *BARE[1:], *GRID], name="Hood 2")
    accounts = read(cover, sheet([*BARE, *GRID]), own)
    assert "surveyed_on" not in accounts[1].surveys[0].fields


def test_a_cover_whose_day_and_month_can_be_swapped_holds_what_it_dates() -> None:
    accounts = read(sheet([["Hood survey"], ["Survey date", "04/05/2026"]], name="Cover"), sheet([*BARE, *GRID]))
    assert [p.code for p in accounts[1].surveys[0].problems] == ["date-ambiguous"]
