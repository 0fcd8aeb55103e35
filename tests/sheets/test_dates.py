"""Dates: certain, ambiguous, or settled by proof. ISO 8601 for the written-out forms."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.sheets.dates import DateOrder, declared_order, parse_date_cell, parse_date_text, prove_order
from auditor.workbook.cells import Cell, Kind

MAY_12 = dt.date(2026, 5, 12)


@pytest.mark.parametrize(
    "text",
    [
        "2026-05-12",
        "2026/5/12",
        "20260512",
        "12 May 2026",
        "12-May-26",
        "May 12, 2026",
        "12th of May 2026".replace(" of", ""),
        "Tues, 12 May 2026",
        "2026-05-12T09:30",
        "2026-05-12 09:30:00",
        "12.May.2026",
        "MAY 12 2026",
        "2026 May 12",
    ],
)
def test_certain_texts(text: str) -> None:
    assert parse_date_text(text).value == MAY_12


@pytest.mark.parametrize("text", ["06/07/2026", "6-7-2026", "06.07.2026", "6/7/26"])
def test_day_and_month_that_could_be_swapped(text: str) -> None:
    parsed = parse_date_text(text)
    assert parsed.value is None
    assert parsed.ambiguous
    assert parse_date_text(text, "dmy").value == dt.date(2026, 7, 6)
    assert parse_date_text(text, "mdy").value == dt.date(2026, 6, 7)


@pytest.mark.parametrize(
    ("text", "value"),
    [("24/05/2026", dt.date(2026, 5, 24)), ("05/24/2026", dt.date(2026, 5, 24)), ("05/05/2026", dt.date(2026, 5, 5))],
)
def test_numbers_that_leave_one_order_only(text: str, value: dt.date) -> None:
    assert parse_date_text(text).value == value


@pytest.mark.parametrize(
    "text", ["26-05-12", "31/02/2026", "13/13/2026", "May 2026", "2026", "12-14 May 2026", "soon", "46154", ""]
)
def test_no_dates(text: str) -> None:
    parsed = parse_date_text(text)
    assert parsed.value is None
    assert not parsed.ambiguous


def test_proof_is_of_one_style_and_contradictions_prove_nothing() -> None:
    proven = prove_order(["24/05/2026", "hello", "05.24.2026"])
    assert proven.of("/") == "dmy"
    assert proven.of(".") == "mdy"
    assert proven.of("-") == ""
    assert prove_order(["24/05/2026", "05/24/2026"]).of("/") == ""


def test_a_declared_format_settles_unless_a_date_belies_it() -> None:
    assert declared_order("Date (dd/mm/yyyy)") == "dmy"
    assert declared_order("m/d/yy") == "mdy"
    assert declared_order("Date") == ""
    cell = Cell(1, 1, Kind.TEXT, "06/07/2026")
    assert parse_date_cell(cell, DateOrder({}), "Date (dd/mm/yyyy)").value == dt.date(2026, 7, 6)
    belied = parse_date_cell(cell, DateOrder({"/": "mdy"}), "Date (dd/mm/yyyy)")
    assert belied.value is None
    assert belied.ambiguous


def test_cells() -> None:
    none = DateOrder({})
    assert parse_date_cell(Cell(1, 1, Kind.DATE, dt.datetime(2026, 5, 12, 8)), none).value == MAY_12
    assert parse_date_cell(Cell(1, 1, Kind.NUMBER, 20260512), none).value == MAY_12
    assert parse_date_cell(Cell(1, 1, Kind.NUMBER, 46154), none).value is None  # 1900 or 1904? the cell does not say
    assert parse_date_cell(Cell(1, 1, Kind.ERROR, "#REF!"), none).value is None
    assert parse_date_cell(Cell(1, 1, Kind.TEXT, "06/07/2026", "dd/mm/yyyy"), none).value == dt.date(2026, 7, 6)


@given(st.dates(dt.date(2000, 1, 1), dt.date(2099, 12, 31)))
def test_every_date_in_every_certain_form(date: dt.date) -> None:
    for text in (date.isoformat(), f"{date:%d %B %Y}", f"{date:%b %d, %Y}", f"{date:%d-%b-%y}"):
        assert parse_date_text(text).value == date
    day_first, month_first = f"{date:%d/%m/%Y}", f"{date:%m/%d/%Y}"
    assert parse_date_text(day_first, "dmy").value == parse_date_text(month_first, "mdy").value == date
    certain = date.day > 12 or date.day == date.month
    assert (parse_date_text(day_first).value == date) == certain
