"""Contractors' workbooks with everything in them that must survive, written by xlsxwriter."""

from __future__ import annotations

import datetime as dt
import io
import struct
import zlib

import xlsxwriter

LABELS = {
    "Hood ID": "H-1", "Date": dt.date(2026, 4, 1), "Sash height (in)": 18, "Velocity unit": "fpm",
    "Surveyed by": "K. L.", "Instrument": "TA-2", "Calibrated": dt.date(2026, 1, 12),
    "Calibration due": dt.date(2027, 1, 12), "Smoke (tube)": "captured",
}  # fmt: skip
GRID = [[101, 98, 104], [97, 102, 95]]
MISSING = "C21"  # the point that is left out: row 1, column 2


def png() -> bytes:
    """A picture of one red point."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0\xff\0\0")
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def rich_workbook(*, macros: bool = False, comments: bool = True, button: bool = True, grid=None) -> bytes:
    """Two survey sheets, a hidden one and a chart sheet, with pictures, charts, validations, conditional formats,
    names, comments, a text box, a button, sparklines, a header with a picture, print settings, protection."""
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True})
    if macros:
        book.add_vba_project(io.BytesIO(b"\xd0\xcf\x11\xe0 no real macro, only its place"), is_stream=True)
    day = book.add_format({"num_format": "yyyy-mm-dd", "bg_color": "#DDEEFF"})
    boxed = book.add_format({"border": 1, "num_format": "0"})
    for number in (1, 2):
        sheet = book.add_worksheet(f"Hood {number}")
        for row, (name, value) in enumerate((LABELS | {"Hood ID": f"H-{number}"}).items()):
            sheet.write_string(row, 0, name)
            if isinstance(value, dt.date):
                sheet.write_datetime(row, 1, dt.datetime.combine(value, dt.time()), day)
            else:
                sheet.write(row, 1, value)
        sheet.write_string("A20", "Face velocity")
        for i, values in enumerate(grid or GRID):
            for j, value in enumerate(values):
                missing = number == 1 and (i, j) == (0, 1) and grid is None
                if missing:
                    sheet.write_blank(20 + i, 1 + j, None, boxed)
                else:
                    sheet.write_number(20 + i, 1 + j, value + (number - 1) * (3 * j + i - 2), boxed)
        sheet.write_string("A28", "Cross-draft")
        for j, value in enumerate((9, 7, 11)):
            sheet.write_number(27, 1 + j, value + number)
    first = book.get_worksheet_by_name("Hood 1")
    first.insert_image("F2", "point.png", {"image_data": io.BytesIO(png())})
    first.data_validation("B3", {"validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 60})
    first.conditional_format("B21:D22", {"type": "data_bar", "data_bar_2010": True})
    first.add_sparkline("E21", {"range": "'Hood 1'!B21:D21"})
    first.insert_textbox("F8", "Surveyed with the door shut.")
    if comments:
        first.write_comment("B3", "Sash at its stop.", {"author": "K. L."})
        first.write_comment("C21", "Probe slipped here.", {"author": "K. L."})
    if button:
        first.insert_button("F15", {"caption": "Recalculate", "macro": "recalculate"})
    first.set_header("&L&G", {"image_left": "point.png", "image_data_left": io.BytesIO(png())})
    first.set_landscape()
    first.print_area("A1:H30")
    first.repeat_rows(0)
    first.freeze_panes(1, 0)
    first.protect("", {"format_cells": True})
    chart = book.add_chart({"type": "column"})
    chart.add_series({"values": "='Hood 1'!$B$22:$D$22"})
    first.insert_chart("F18", chart)
    hidden = book.add_worksheet("Lists")
    hidden.write_string("A1", "captured")
    hidden.hide()
    alone = book.add_chartsheet("Picture of it")
    second = book.add_chart({"type": "line"})
    second.add_series({"values": "='Hood 2'!$B$21:$D$21"})
    alone.set_chart(second)
    book.define_name("readings", "='Hood 1'!$B$21:$D$22")
    book.define_name("'Hood 2'!own", "='Hood 2'!$B$21:$D$22")
    book.get_worksheet_by_name("Hood 2").activate()
    book.close()
    return stream.getvalue()
