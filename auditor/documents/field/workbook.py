"""A whole field workbook: the cover and a sheet to each hood."""

from __future__ import annotations

import datetime as dt
import io
import re
from collections.abc import Sequence
from typing import Any

from auditor.documents.field import checks
from auditor.documents.field.cover import Place, cover_reference, write_cover
from auditor.documents.field.formats import formats
from auditor.documents.field.hood_sheet import HoodSheet
from auditor.documents.field.model import PAPERS, UNITS, Book, HoodToSurvey
from auditor.documents.field.page import one_page
from auditor.documents.field.texts import one_line, texts

_NOT_IN_A_NAME = re.compile(r'[\[\]:*?/\\"()]')
_LOCK = {"select_locked_cells": False, "format_columns": True, "format_rows": True}


def field_workbook(book: Book) -> bytes:
    """The workbook as .xlsx. The same book gives the same bytes. Raises ValueError for a unit or paper that is not
    known or a book without hoods, and CannotDraw (a ValueError) for a hood whose opening is not known."""
    from xlsxwriter import Workbook

    if book.unit not in UNITS:
        raise ValueError(f"there are no field sheets in '{book.unit}'; use {' or '.join(UNITS)}")
    if book.paper not in PAPERS:
        raise ValueError(f"'{book.paper}' is no paper size that is known; use {' or '.join(PAPERS)}")
    if not book.hoods:
        raise ValueError("there is no hood to make a sheet for")
    stream = io.BytesIO()
    # The text of a register stays text: no formula, link or number is made of it.
    made = Workbook(stream, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    made.set_properties({"title": one_line(book.title), "created": _day(book.issued_on)})
    made.set_calc_mode("auto")
    _write(made, book)
    made.close()
    return stream.getvalue()


def _write(made: Any, book: Book) -> None:
    looks = formats(made)
    cover = made.add_worksheet(texts()["cover_sheet"])
    made.define_name(checks.FACTOR, f'=IF({cover_reference("unit")}="m/s",0.00508,1)')
    places = []
    for hood, name in zip(book.hoods, sheet_names(book.hoods), strict=True):
        sheet = made.add_worksheet(name)
        written = HoodSheet(sheet, book, hood, looks)
        written.write()
        sheet.hide_gridlines(2)
        sheet.protect("", _LOCK)
        places.append(Place(hood, name, written.status_cell))
    write_cover(cover, book, places, looks)
    one_page(cover, book, one_line(book.title, 60), tall=0)
    cover.hide_gridlines(2)
    cover.protect("", _LOCK)
    cover.activate()


def sheet_names(hoods: Sequence[HoodToSurvey]) -> list[str]:
    """A name that a sheet may have for each hood, no two alike without regard to case."""
    taken = {texts()["cover_sheet"].lower(), "history"}
    names = []
    for number, hood in enumerate(hoods, start=1):
        plain = _NOT_IN_A_NAME.sub("-", one_line(hood.hood_id, 60)).lstrip("=+@'- ")[:31].rstrip("' ")
        plain = plain or f"Hood {number}"
        name, again = plain, 1
        while name.lower() in taken:
            again += 1
            name = f"{plain[: 31 - len(str(again)) - 1]}-{again}"
        taken.add(name.lower())
        names.append(name)
    return names


def _day(day: dt.date) -> dt.datetime:
    return dt.datetime(day.year, day.month, day.day, tzinfo=dt.UTC)
