"""The points as a workbook of their own, for files that cannot be marked."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Sequence

from auditor.documents.returns.comments import texts
from auditor.documents.returns.list_part import HEAD, heading, height, lines_of
from auditor.documents.returns.looks import FILLS
from auditor.documents.returns.model import About, Point
from auditor.workbook.own_sheet import NAME


def list_workbook(points: Sequence[Point], about: About) -> bytes:
    """A workbook (.xlsx) with the list alone. The same points give the same bytes."""
    from xlsxwriter import Workbook

    stream = io.BytesIO()
    book = Workbook(stream, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"created": dt.datetime(about.on.year, about.on.month, about.on.day, tzinfo=dt.UTC)})
    sheet = book.add_worksheet(NAME)
    said, base = texts(), {"font_name": "Arial", "font_size": 10, "valign": "top", "text_wrap": True}
    plain, title = book.add_format(base), book.add_format(base | {"bold": True, "font_size": 14, "text_wrap": False})
    head = book.add_format(base | {"bold": True, "font_color": "#FFFFFF", "bg_color": "#24506B"})
    weight = {
        "hold": book.add_format(base | {"bold": True, "bg_color": f"#{FILLS['hold'][2:]}"}),
        "caution": book.add_format(base | {"bold": True, "bg_color": f"#{FILLS['caution'][2:]}"}),
    }
    lines, width = lines_of(points, []), len(said["columns"])
    for number, text in enumerate(heading(about, lines, marked=False)):
        look = plain if number else title
        sheet.merge_range(number, 0, number, width - 1, "", look)
        sheet.write_string(number, 0, text, look)
        sheet.set_row(number, 28 if number else 22)
    for column, (name, wide) in enumerate(zip(said["columns"], said["widths"], strict=True)):
        sheet.set_column(column, column, wide)
        sheet.write_string(HEAD - 1, column, name, head)
    for row, line in enumerate(lines, start=HEAD):
        sheet.set_row(row, height(line))
        for column, text in enumerate(line.cells):
            sheet.write_string(row, column, text, weight[line.severity] if column == 1 else plain)
    sheet.freeze_panes(HEAD, 0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.hide_gridlines(2)
    book.close()
    return stream.getvalue()
