"""A csv file can only write text: a number written plainly there is a number, not one taken out of text."""

from __future__ import annotations

from auditor.sheets import understand
from auditor.workbook import read_workbook

ROWS = "Hood,Date,Sash height (in),Velocity unit,P1,P2,P3,P4\nH-1,2026-04-01,18,fpm,{},97,102,95\n"


def first_outcome(value: str) -> str:
    book = read_workbook(ROWS.format(value).encode(), "in.csv")
    return next(r for a in understand(book) for s in a.surveys for r in s.readings).outcome


def test_plain_numbers_are_numbers() -> None:
    assert first_outcome("98") == "number"
    assert first_outcome("98.5") == "number"


def test_whatever_else_is_written_is_still_taken_out_of_text() -> None:
    assert first_outcome("98 fpm") == "coerced"
