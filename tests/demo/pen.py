"""Writes cells of a workbook with a contractor's look, and says where each stands."""

from __future__ import annotations

import datetime as dt
import io
from dataclasses import dataclass

import xlsxwriter
from xlsxwriter.utility import xl_rowcol_to_cell

from tests.demo.surveys import TextNumber

LONG_AGO = dt.datetime(2026, 1, 1)  # creation time in every file, so that a second run gives the same bytes


@dataclass(frozen=True)
class Look:
    """Colours of a firm's sheets."""

    name: str
    title: str
    label: str


AMBER, COBALT, SIENNA = (
    Look("Amber", "#B26A00", "#FFF1D6"),
    Look("Cobalt", "#1F4E9E", "#E3ECFA"),
    Look("Sienna", "#8A4B2D", "#F6E7DF"),
)
ARCHIVE = Look("Archive", "#555555", "#EEEEEE")


class Book:
    """One workbook in memory."""

    def __init__(self, look: Look):
        self._stream = io.BytesIO()
        self.book = xlsxwriter.Workbook(self._stream, {"in_memory": True, "default_date_format": "yyyy-mm-dd"})
        self.book.set_properties({"title": "Fume hood survey", "author": look.name, "created": LONG_AGO})
        add = self.book.add_format
        self.formats = {
            "title": add({"bold": True, "font_size": 14, "font_color": "white", "bg_color": look.title}),
            "section": add({"bold": True, "font_color": look.title, "bottom": 1, "bottom_color": look.title}),
            "label": add({"bg_color": look.label}),
            "head": add({"bold": True, "bg_color": look.label, "border": 1, "text_wrap": True, "align": "center"}),
            "value": add({"border": 1, "border_color": "#999999", "align": "left"}),
            "reading": add({"border": 1, "align": "center"}),
            "hundredths": add({"border": 1, "align": "center", "num_format": "0.00"}),
            "tenths": add({"border": 1, "align": "center", "num_format": "0.0"}),
            "date": add({"border": 1, "border_color": "#999999", "align": "left", "num_format": "yyyy-mm-dd"}),
            "plain": add({}),
            "day": add({"num_format": "yyyy-mm-dd"}),
        }

    def sheet(self, name: str) -> Pen:
        return Pen(self, self.book.add_worksheet(name))

    def data(self) -> bytes:
        self.book.close()
        return self._stream.getvalue()


class Pen:
    """Writes into one sheet; rows and columns count from 1, as in A1 addresses."""

    def __init__(self, book: Book, sheet: xlsxwriter.worksheet.Worksheet):
        self.book, self.sheet = book, sheet

    def put(self, row: int, column: int, value: object, style: str = "plain") -> str:
        """Writes a cell and gives its address. None leaves an empty cell with its border."""
        fmt, at = self.book.formats[style], (row - 1, column - 1)
        if value is None:
            if style != "plain":
                self.sheet.write_blank(*at, None, fmt)
        elif isinstance(value, dt.date):
            day = self.book.formats["day" if style == "plain" else "date"]
            self.sheet.write_datetime(*at, dt.datetime(value.year, value.month, value.day), day)
        elif isinstance(value, TextNumber):
            self.sheet.write_string(*at, value.text, fmt)
        elif isinstance(value, str) and value.startswith("#"):
            self.sheet.write_formula(*at, "=A1/0" if value == "#DIV/0!" else "=#REF!+0", fmt, value)
        elif isinstance(value, str):
            self.sheet.write_string(*at, value, fmt)
        else:
            self.sheet.write_number(*at, value, fmt)
        return address(row, column)


def address(row: int, column: int) -> str:
    return xl_rowcol_to_cell(row - 1, column - 1)
