"""An OpenDocument spreadsheet (ODF 1.3) to a Workbook, row by row."""

from __future__ import annotations

import datetime as dt
import re
from bisect import bisect_left

from lxml import etree

from auditor.workbook import xml_guard
from auditor.workbook.cells import Cell, Kind, Sheet, Unreadable, Value, Workbook, a1
from auditor.workbook.limits import Limits, damaged, encrypted, not_a_workbook, too_large
from auditor.workbook.numbers import xml_number
from auditor.workbook.ods_styles import CALC, OFFICE, TABLE, TEXT, OdsStyles
from auditor.workbook.serials import from_iso
from auditor.workbook.zip_guard import Archive

_SPREADSHEET = b"application/vnd.oasis.opendocument.spreadsheet"
_BETWEEN = {f"{TABLE}{name}" for name in ("table-row-group", "table-rows", "table-header-rows")}
_COLUMNS_BETWEEN = {f"{TABLE}{name}" for name in ("table-column-group", "table-columns", "table-header-columns")}
_TAGS = (f"{OFFICE}automatic-styles", f"{TABLE}table", f"{TABLE}table-column", f"{TABLE}table-row")
_NUMBERS = ("float", "percentage", "currency")
# What stands in a formula's cell after an error; older programs call such a cell a number, and give it 0.
_ERROR = re.compile(r"#(?:DIV/0!|N/A|NAME\?|NULL!|NUM!|REF!|VALUE!)|Err:[0-9]{3}")
_DURATION = re.compile(
    r"P(?:(?P<d>[0-9]{1,6})D)?T?(?:(?P<h>[0-9]{1,7})H)?(?:(?P<m>[0-9]{1,7})M)?(?:(?P<s>[0-9]{1,7})(?P<f>[.,][0-9]+)?S)?"
)


def is_open_document(archive: Archive) -> bool:
    if "mimetype" in archive:
        return archive.read("mimetype").startswith(b"application/vnd.oasis.opendocument.")
    return "content.xml" in archive and "meta-inf/manifest.xml" in archive


def read_ods(archive: Archive, name: str, limits: Limits) -> Workbook:
    """The workbook in an OpenDocument package. Raises Unreadable. Tracked changes are not part of the content."""
    if "mimetype" in archive and not archive.read("mimetype").startswith(_SPREADSHEET):
        raise not_a_workbook("an OpenDocument file of another kind")
    if "encrypted-package" in archive or _has_encrypted_parts(archive):
        raise encrypted()
    if "content.xml" not in archive:
        raise damaged("its part 'content.xml' is missing")
    styles = OdsStyles()
    if "styles.xml" in archive:
        root = xml_guard.parse(archive.read("styles.xml"), "styles.xml")
        for container in (f"{OFFICE}styles", f"{OFFICE}automatic-styles"):
            for element in root.iterfind(container):
                styles.take(element)
    reader = _Reader(styles, limits)
    for event, element in xml_guard.stream(
        archive.read("content.xml"), "content.xml", b"row>", _TAGS, ("start", "end")
    ):
        reader.take(event, element)
    if not reader.sheets:
        raise damaged("it holds no tables")
    if any(n.startswith("basic/") for n in archive.names()):
        reader.notes.append("The workbook contains macros; they were not run")
    return Workbook(name, "ods", reader.sheets, reader.notes)


def _has_encrypted_parts(archive: Archive) -> bool:
    part = "META-INF/manifest.xml"
    if part not in archive:
        return False
    root = xml_guard.parse(archive.read(part), part)
    return next(root.iter("{*}encryption-data"), None) is not None


class _Reader:
    """Fills sheets from the elements of content.xml as they are met."""

    def __init__(self, styles: OdsStyles, limits: Limits):
        self.styles, self.limits = styles, limits
        self.sheets: list[Sheet] = []
        self.notes: list[str] = []
        self.cells = 0

    def take(self, event: str, element: etree._Element) -> None:
        tag = element.tag
        if tag == f"{TABLE}table":
            self.take_table(event, element)
        elif event == "start":
            return
        elif tag == f"{OFFICE}automatic-styles":
            self.styles.take(element)
        elif tag == f"{TABLE}table-column":
            if _owner(element, _COLUMNS_BETWEEN):
                self.take_column(element)
        elif _owner(element, _BETWEEN):
            self.take_row(element)
            element.clear()

    def take_table(self, event: str, element: etree._Element) -> None:
        parent = element.getparent()
        if parent is None or parent.tag != f"{OFFICE}spreadsheet":
            return
        if event == "end":
            self.close_sheet()
            element.clear()
            return
        if len(self.sheets) >= self.limits.sheets:
            raise too_large("Sheets", len(self.sheets) + 1, self.limits.sheets)
        hidden = self.styles.hides(element.get(f"{TABLE}style-name"))
        self.sheet = Sheet(element.get(f"{TABLE}name", ""), len(self.sheets), hidden=hidden)
        self.sheets.append(self.sheet)
        self.row = self.column = 0
        self.hidden_rows: list[tuple[int, int]] = []
        self.column_ends: list[int] = []  # last column that each style of column_styles is the default of
        self.column_styles: list[str | None] = []
        self.hidden_columns: set[int] = set()
        self.covered: list[str] = []

    def take_column(self, element: etree._Element) -> None:
        first = self.column + 1
        self.column += _repeat(element, "number-columns-repeated")
        self.column_ends.append(self.column)
        self.column_styles.append(element.get(f"{TABLE}default-cell-style-name"))
        if element.get(f"{TABLE}visibility") in ("collapse", "filter"):
            self.hidden_columns.update(range(first, min(self.column, self.limits.columns) + 1))

    def take_row(self, element: etree._Element) -> None:
        repeat = _repeat(element, "number-rows-repeated")
        first, last = self.row + 1, self.row + repeat
        self.row = last
        if element.get(f"{TABLE}visibility") in ("collapse", "filter"):
            self.hidden_rows.append((first, last))
        found = self.row_cells(element, first)
        if not found:
            return
        if last > self.limits.rows:
            raise too_large(f"Rows in sheet '{self.sheet.name}'", last, self.limits.rows)
        self.count(len(found) * repeat)
        for row in range(first, last + 1):
            for cell in found:
                self.sheet.cells[row, cell.column] = cell._replace(row=row)

    def row_cells(self, element: etree._Element, row: int) -> list[Cell]:
        found: list[Cell] = []
        column = 0
        row_style = element.get(f"{TABLE}default-cell-style-name")
        for child in element:
            covered = child.tag == f"{TABLE}covered-table-cell"
            if not covered and child.tag != f"{TABLE}table-cell":
                continue
            first, repeat = column + 1, _repeat(child, "number-columns-repeated")
            column += repeat
            if not covered:
                self.take_span(child, row, first)
            cell = self.read_cell(child, row, first, row_style)
            if cell is None:
                continue
            if covered:
                self.covered.append(cell.address)
                continue
            if column > self.limits.columns:
                raise too_large(f"Columns in sheet '{self.sheet.name}'", column, self.limits.columns)
            found.extend(cell._replace(column=c) for c in range(first, column + 1))
        return found

    def take_span(self, element: etree._Element, row: int, column: int) -> None:
        rows, columns = _repeat(element, "number-rows-spanned"), _repeat(element, "number-columns-spanned")
        if (rows, columns) == (1, 1):
            return
        if len(self.sheet.merged) >= self.limits.merged_areas:
            raise too_large("Merged areas", len(self.sheet.merged) + 1, self.limits.merged_areas)
        self.sheet.merged.append((row, column, row + rows - 1, column + columns - 1))

    def read_cell(self, element: etree._Element, row: int, column: int, row_style: str | None) -> Cell | None:
        kind = element.get(f"{OFFICE}value-type")
        formula = element.get(f"{TABLE}formula") is not None
        if kind is None and not formula and not len(element):
            return None
        shown = _shown(element)
        if element.get(f"{CALC}value-type") == "error" or (formula and _ERROR.fullmatch(shown)):
            found: tuple[Kind, Value] | None = (Kind.ERROR, shown or "#ERROR")
        elif kind is None and formula and not shown:
            found = (Kind.FORMULA, None)
        else:
            found = self.value(element, kind, shown, a1(row, column))
        if found is None:
            return None
        style = element.get(f"{TABLE}style-name") or row_style or self.column_style(column)
        number_format = self.styles.number_format(style)
        return Cell(row, column, found[0], found[1], number_format, formula)

    def column_style(self, column: int) -> str | None:
        place = bisect_left(self.column_ends, column)
        return self.column_styles[place] if place < len(self.column_styles) else None

    def value(self, element: etree._Element, kind: str | None, shown: str, where: str) -> tuple[Kind, Value] | None:
        if kind in (None, "string", "void"):
            text = shown or element.get(f"{OFFICE}string-value") or ""
            if len(text) > self.limits.text_length:
                raise too_large(f"Length of the text in cell {where}", len(text), self.limits.text_length, "characters")
            return (Kind.TEXT, text) if text else None
        if kind in _NUMBERS:
            return Kind.NUMBER, self.need(xml_number(element.get(f"{OFFICE}value", "")), where)
        if kind == "date":
            return Kind.DATE, self.need(from_iso(element.get(f"{OFFICE}date-value", "")), where)
        if kind == "time":
            return Kind.DATE, self.need(_duration(element.get(f"{OFFICE}time-value", "")), where)
        if kind == "boolean":
            return Kind.BOOLEAN, element.get(f"{OFFICE}boolean-value") == "true"
        raise self.bad(where, f"is of the unknown type '{(kind or '')[:20]}'")

    def need(self, value: Value, where: str) -> Value:
        if value is None:
            raise self.bad(where, "has no value of its own type")
        return value

    def bad(self, where: str, what: str) -> Unreadable:
        return damaged(f"cell {where} of sheet '{self.sheet.name}' {what}")

    def count(self, more: int) -> None:
        self.cells += more
        if self.cells > self.limits.cells:
            raise too_large("Filled cells", self.cells, self.limits.cells)

    def close_sheet(self) -> None:
        used = max((row for row, _ in self.sheet.cells), default=0)  # beyond it, rows are hidden by the million
        self.sheet.hidden_rows = frozenset(
            row for first, last in self.hidden_rows for row in range(first, min(last, used) + 1)
        )
        self.sheet.hidden_columns = frozenset(self.hidden_columns)
        if self.covered:
            shown = ", ".join(self.covered[:5]) + (" ..." if len(self.covered) > 5 else "")
            self.notes.append(f"Sheet '{self.sheet.name}': values covered by a merged cell were left out ({shown})")


def _owner(element: etree._Element, between: set[str]) -> bool:
    """Whether the element belongs to a sheet, not to a table inside a cell, a change record or a link's cache."""
    parent = element.getparent()
    while parent is not None and parent.tag in between:
        parent = parent.getparent()
    above = parent.getparent() if parent is not None and parent.tag == f"{TABLE}table" else None
    return above is not None and above.tag == f"{OFFICE}spreadsheet"


def _repeat(element: etree._Element, name: str) -> int:
    text = element.get(f"{TABLE}{name}")
    if text is None:
        return 1
    if not (text.isascii() and text.isdigit() and len(text) <= 9 and int(text) > 0):
        raise damaged(f"'{text[:20]}' is no count of repeated cells")
    return int(text)


def _shown(element: etree._Element) -> str:
    """The text that a cell shows: its paragraphs, one to a line; remarks and drawings left out."""
    return "\n".join(_paragraph(child) for child in element if child.tag == f"{TEXT}p")


def _paragraph(element: etree._Element) -> str:
    parts = [element.text or ""]
    for child in element:
        if child.tag == f"{TEXT}s":
            count = child.get(f"{TEXT}c", "1")
            parts.append(" " * (min(int(count), 10_000) if count.isascii() and count.isdigit() else 1))
        elif child.tag == f"{TEXT}tab":
            parts.append("\t")
        elif child.tag == f"{TEXT}line-break":
            parts.append("\n")
        elif child.tag.startswith(TEXT) and child.tag != f"{TEXT}ruby-text":
            parts.append(_paragraph(child))
        parts.append(child.tail or "")
    return "".join(parts)


def _duration(text: str) -> dt.time | dt.timedelta | None:
    """An ISO 8601 duration: a time of day below 24 hours, else a timedelta."""
    match = _DURATION.fullmatch(text.strip())
    if match is None or not any(match.groups()):
        return None
    days, hours, minutes, seconds = (int(match[key] or 0) for key in "dhms")
    fraction = round(float("0" + match["f"].replace(",", ".")) * 1000) if match["f"] else 0
    length = dt.timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds, milliseconds=fraction)
    return (dt.datetime.min + length).time() if length < dt.timedelta(days=1) else length
