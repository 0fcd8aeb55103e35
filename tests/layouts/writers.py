"""Canvas to bytes in each file format, the same bytes for the same book."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from dataclasses import dataclass

from tests.layouts.canvas import Book, Canvas, ErrorValue, Formula, Written

STAMP = (2026, 1, 1, 0, 0, 0)


@dataclass(frozen=True)
class CsvStyle:
    delimiter: str = ","
    encoding: str = "utf-8"
    decimal: str = "."
    line_end: str = "\r\n"


def _settle_zip(data: bytes) -> bytes:
    """The same archive with fixed times, so that a seed gives the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for item in old.infolist():
            body = old.read(item)
            if item.filename in ("docProps/core.xml", "meta.xml"):
                body = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?", b"2026-01-01T00:00:00", body)
            info = zipfile.ZipInfo(item.filename, STAMP)
            info.compress_type = zipfile.ZIP_STORED if item.filename == "mimetype" else zipfile.ZIP_DEFLATED
            new.writestr(info, body)
    return out.getvalue()


def to_openpyxl(book: Book, mac_dates: bool = False) -> bytes:
    """.xlsx as a script makes it: formulas without stored values, errors typed."""
    from openpyxl import Workbook
    from openpyxl.utils import get_column_letter
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    wb = Workbook()
    wb.remove(wb.active)
    if mac_dates:
        wb.epoch = CALENDAR_MAC_1904
    for canvas in book.sheets:
        ws = wb.create_sheet(canvas.name)
        for (row, column), placed in canvas.cells.items():
            cell = ws.cell(row, column)
            value = placed.value
            if isinstance(value, Formula):
                cell.value = value.text
            elif isinstance(value, ErrorValue):
                cell.value = value.text
                cell.data_type = "e"
            else:
                cell.value = value
                if isinstance(value, str):
                    cell.data_type = "s"
            if placed.number_format:
                cell.number_format = placed.number_format
        for top, left, bottom, right in canvas.merged:
            ws.merge_cells(start_row=top, start_column=left, end_row=bottom, end_column=right)
        for row in canvas.hidden_rows:
            ws.row_dimensions[row].hidden = True
        for column in canvas.hidden_columns:
            ws.column_dimensions[get_column_letter(column)].hidden = True
        if canvas.hidden:
            ws.sheet_state = "hidden"
    out = io.BytesIO()
    wb.save(out)
    return _settle_zip(out.getvalue())


def to_xlsxwriter(book: Book) -> bytes:
    """.xlsx as a spreadsheet program leaves it: formulas with stored values, shared strings, styles."""
    import xlsxwriter

    out = io.BytesIO()
    wb = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_numbers": False, "strings_to_formulas": False})
    wb.set_properties({"created": dt.datetime(2026, 1, 1)})
    formats: dict[str, object] = {}

    def style(code: str | None):
        if code is None:
            return None
        return formats.setdefault(code, wb.add_format({"num_format": code}))

    for canvas in book.sheets:
        ws = wb.add_worksheet(canvas.name)
        for top, left, bottom, right in canvas.merged:
            ws.merge_range(top - 1, left - 1, bottom - 1, right - 1, "")
        for (row, column), placed in canvas.cells.items():
            value, fmt = placed.value, style(placed.number_format)
            at = (row - 1, column - 1)
            if isinstance(value, Formula):
                stored = "" if value.stored is None else value.stored
                ws.write_formula(*at, value.text, fmt, stored)
            elif isinstance(value, ErrorValue):
                ws.write_formula(*at, "=NA()" if value.text == "#N/A" else "=1/0", fmt, value.text)
            elif isinstance(value, bool):
                ws.write_boolean(*at, value, fmt)
            elif isinstance(value, dt.datetime | dt.date):
                ws.write_datetime(*at, value, fmt or style("yyyy-mm-dd"))
            elif isinstance(value, str):
                ws.write_string(*at, value, fmt)
            else:
                ws.write_number(*at, value, fmt)
        for row in canvas.hidden_rows:
            ws.set_row(row - 1, None, None, {"hidden": True})
        for column in canvas.hidden_columns:
            ws.set_column(column - 1, column - 1, None, None, {"hidden": True})
        if canvas.hidden:
            ws.hide()
    visible = next((i for i, c in enumerate(book.sheets) if not c.hidden), 0)
    wb.worksheets()[visible].set_first_sheet()
    wb.worksheets()[visible].activate()
    wb.close()
    return _settle_zip(out.getvalue())


def to_xls(book: Book) -> bytes:
    """.xls; formulas are written as their stored values, errors as the text of the error."""
    import xlwt

    wb = xlwt.Workbook(encoding="utf-8")
    styles: dict[str, object] = {}

    def style(code: str):
        return styles.setdefault(code, xlwt.easyxf(num_format_str=code))

    for canvas in book.sheets:
        ws = wb.add_sheet(canvas.name, cell_overwrite_ok=True)
        for top, left, bottom, right in canvas.merged:
            ws.merge(top - 1, bottom - 1, left - 1, right - 1)
        for (row, column), placed in canvas.cells.items():
            value = plain(placed.value)
            if isinstance(value, dt.datetime | dt.date):
                ws.write(row - 1, column - 1, value, style(placed.number_format or "yyyy-mm-dd"))
            else:
                ws.write(row - 1, column - 1, value, style(placed.number_format or "General"))
        for row in canvas.hidden_rows:
            ws.row(row - 1).hidden = True
        for column in canvas.hidden_columns:
            ws.col(column - 1).hidden = True
        if canvas.hidden:
            ws.visibility = 1
    out = io.BytesIO()
    wb.save(out)
    return out.getvalue()


def plain(value: Written) -> Written | None:
    """What stands in the cell where a format knows no formulas."""
    if isinstance(value, Formula):
        return value.stored
    if isinstance(value, ErrorValue):
        return value.text
    return value


def to_ods(book: Book) -> bytes:
    from odf import table as odf_table
    from odf import text as odf_text
    from odf.opendocument import OpenDocumentSpreadsheet

    doc = OpenDocumentSpreadsheet()
    for canvas in book.sheets:
        table = odf_table.Table(name=canvas.name)
        anchors = {(t, x): (b - t + 1, y - x + 1) for t, x, b, y in canvas.merged}
        covered = {(r, c) for t, x, b, y in canvas.merged for r in range(t, b + 1) for c in range(x, y + 1)}
        covered -= set(anchors)
        for row in range(1, canvas.bottom + 1):
            line = odf_table.TableRow(**({"visibility": "collapse"} if row in canvas.hidden_rows else {}))
            for column in range(1, canvas.right + 1):
                at = (row, column)
                if at in covered:
                    line.addElement(odf_table.CoveredTableCell())
                    continue
                value = plain(canvas.cells[at].value) if at in canvas.cells else None
                cell = _ods_cell(odf_table, value, anchors.get(at))
                if value is not None:
                    cell.addElement(odf_text.P(text=str(value)))
                line.addElement(cell)
            table.addElement(line)
        doc.spreadsheet.addElement(table)
    out = io.BytesIO()
    doc.write(out)
    return _settle_zip(out.getvalue())


def _ods_cell(odf_table, value: Written | None, span: tuple[int, int] | None):
    extra = {"numberrowsspanned": span[0], "numbercolumnsspanned": span[1]} if span else {}
    if value is None:
        return odf_table.TableCell(**extra)
    if isinstance(value, bool):
        return odf_table.TableCell(valuetype="boolean", booleanvalue=str(value).lower(), **extra)
    if isinstance(value, int | float):
        return odf_table.TableCell(valuetype="float", value=repr(value), **extra)
    if isinstance(value, dt.datetime | dt.date):
        return odf_table.TableCell(valuetype="date", datevalue=value.isoformat(), **extra)
    return odf_table.TableCell(valuetype="string", **extra)


def to_csv(canvas: Canvas, style: CsvStyle) -> bytes:
    """One sheet as delimited text; numbers with the style's decimal sign, dates as ISO."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=style.delimiter, lineterminator=style.line_end)
    for row in range(1, canvas.bottom + 1):
        line = []
        for column in range(1, canvas.right + 1):
            placed = canvas.cells.get((row, column))
            line.append("" if placed is None else csv_text(plain(placed.value), style.decimal))
        writer.writerow(line)
    return out.getvalue().encode(style.encoding)


def csv_text(value: Written | None, decimal: str) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return repr(value).removesuffix(".0").replace(".", decimal)
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else value.isoformat(sep=" ")
    return str(value)


def write(book: Book, file_format: str, csv_style: CsvStyle | None = None, mac_dates: bool = False) -> bytes:
    """`file_format`: 'openpyxl', 'xlsxwriter', 'xls', 'ods' or 'csv' (one sheet)."""
    if file_format == "csv":
        return to_csv(book.sheets[0], csv_style or CsvStyle())
    if file_format == "openpyxl":
        return to_openpyxl(book, mac_dates)
    return {"xlsxwriter": to_xlsxwriter, "xls": to_xls, "ods": to_ods}[file_format](book)


ENDING = {"openpyxl": "xlsx", "xlsxwriter": "xlsx", "xls": "xls", "ods": "ods", "csv": "csv"}
