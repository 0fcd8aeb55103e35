"""Sheets that are no surveys, each accounted for with its reason; and values that a person supplies."""

from __future__ import annotations

import datetime as dt

import pytest

from auditor.sheets import parse_field
from tests.sheets.build import DAY, GRID, codes, form, read, sheet

LIST = [
    ["Hood ID", "Building", "Room", "Width (in)"],
    ["H-1", "Alder Building", 101, 60],
    ["H-2", "Bryony Building", 102, 72],
]


@pytest.mark.parametrize(
    ("name", "rows", "reason"),
    [
        ("Cover", [["Hood survey, contract year 2026"], ["Contractor Amber"], ["Hoods tested: 24"]], "a cover sheet"),
        ("Notes", [["How to fill in the form"], ["Hold the probe in the plane of the sash"]], "notes"),
        ("Instruments", [["Instrument", "Serial no."], ["TA-2", 40217]], "a lookup list"),
        ("Sheet2", LIST, "a list of hoods without readings"),
        ("Sheet3", [], "an empty sheet"),
        (
            "Form",
            [
                ["Hood ID"],
                ["Date"],
                ["Sash height (in)"],
                ["Face velocity (fpm)"],
                [None, "L", "R"],
                ["Top"],
                ["Bottom"],
            ],
            "a blank form",
        ),
        ("Prices", [["Item", "Price"], ["Filter", 12], ["Belt", 7]], "no survey on it"),
    ],
)
def test_set_aside_with_a_reason(name: str, rows: list, reason: str) -> None:
    [account] = read(sheet(rows, name=name))
    assert (account.outcome, account.reason, account.surveys) == ("set aside", reason, [])


def test_a_chart_sheet() -> None:
    [account] = read(sheet([], grid=False))
    assert account.outcome == "set aside"


def test_a_summary_of_hoods_measured_elsewhere_is_set_aside_and_any_other_hood_stays_held() -> None:
    rows = [["Hood", "Date", "Average (fpm)"], ["H-1", DAY, 99], ["H-2", DAY, 96]]
    _, summary = read(sheet(form(*GRID), name="H-1"), sheet(rows, name="Summary"))
    assert [(s.fields["hood"].value, codes(s)) for s in summary.surveys] == [("H-2", ["readings-missing"])]
    _, summary = read(sheet(form(*GRID), name="H-1"), sheet([*rows[:2], ["H 1", DAY, 99]], name="Summary"))
    assert (summary.outcome, summary.reason) == ("set aside", "a summary of other sheets")


@pytest.mark.parametrize("mark", [{"name": "Example"}, {"name": "x", "title": "EXAMPLE - delete before use"}])
def test_an_example_left_in_the_template(mark: dict) -> None:
    rows = [[mark["title"]], *form(*GRID)] if "title" in mark else form(*GRID)
    [account] = read(sheet(rows, name=mark["name"]))
    assert (account.outcome, account.surveys, codes(account)) == ("set aside", [], ["example-left-in"])


def test_a_firm_with_example_in_its_address_is_no_example() -> None:
    [account] = read(sheet([["www.amber-air.example"], [], *form(*GRID)]))
    assert len(account.surveys) == 1


def test_a_survey_told_in_a_sentence_is_held() -> None:
    rows = [
        ["Hood ID", "H-1"],
        ["Date", DAY],
        ["The face velocity of the hood was 95 fpm at the left and 99 fpm at the right."],
    ]
    [account] = read(sheet(rows))
    assert (account.outcome, codes(account)) == ("held", ["layout-not-recognised"])


def test_numbers_with_words_of_a_survey_that_fit_nothing_are_held() -> None:
    scattered = [["Face velocity", "of many hoods"], [None, None, "Zork"], [7, None, 8], [None, 9]]
    [account] = read(sheet(scattered, name="x"))
    assert [codes(s) for s in account.surveys] == [["layout-not-recognised"]]
    assert account.surveys[0].readings == []


def test_a_text_that_looks_like_a_formula_is_text() -> None:
    [account] = read(sheet(form(*GRID, ["Comments", "=HYPERLINK(1)"])))
    assert account.surveys[0].fields["observations"].value == "=HYPERLINK(1)"


@pytest.mark.parametrize(
    ("name", "text", "unit", "value", "its_unit"),
    [
        ("hood", " D-A1000 ", None, "D-A1000", None),
        ("surveyed_on", "2026-05-12", None, dt.date(2026, 5, 12), None),
        ("sash_height", "18 in", None, 18.0, "in"),
        ("sash_height", "457", "mm", 457.0, "mm"),
        ("unit", "FPM", None, "ft/min", "ft/min"),
        ("reported_mean", "0,51 m/s", None, 0.51, "m/s"),
        ("occasion", "Yearly", None, "annual", None),
    ],
)
def test_what_a_person_may_settle(name: str, text: str, unit: str | None, value: object, its_unit: str | None) -> None:
    found = parse_field(name, text, unit)
    assert found is not None
    assert (found.value, found.unit, found.cell) == (value, its_unit, "")


@pytest.mark.parametrize(
    ("name", "text", "unit"),
    [
        ("surveyed_on", "06/07/2026", None),
        ("surveyed_on", "soon", None),
        ("unit", "knots", None),
        ("sash_height", "open", None),
        ("sash_height", "18", "bananas"),
        ("reported_mean", "about 90", "fpm"),
        ("hood", "  ", None),
        ("hood", "n/a", None),
    ],
)
def test_what_is_not_certain_is_refused(name: str, text: str, unit: str | None) -> None:
    assert parse_field(name, text, unit) is None


def test_an_unknown_field() -> None:
    with pytest.raises(KeyError):
        parse_field("colour", "red")
