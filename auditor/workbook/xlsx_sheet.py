"""One sheet part of an Office Open XML workbook to a Sheet, in one pass over its rows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from lxml import etree

from auditor.workbook import xlsx_quick, xml_guard
from auditor.workbook.cells import Cell, Kind, Sheet, Unreadable, a1
from auditor.workbook.limits import Limits, damaged, too_large
from auditor.workbook.merges import drop_covered
from auditor.workbook.numbers import xml_number
from auditor.workbook.references import area_of, count_of, is_zero, known_places, place_of
from auditor.workbook.serials import from_iso, from_serial
from auditor.workbook.strings import rich_text, unescape
from auditor.workbook.styles import GENERAL, Shows, Style
from auditor.workbook.xlsx_quick import Token, resolve

_TREE_BYTES = 8_000_000  # parts beyond this are read row by row, so that memory does not follow the file
_KNOWN_MAX = 100_000
_TRUE = ("1", "true")

_numbers: dict[str | None, int | float] = {}  # '98.5' -> 98.5: the same few thousand readings in every sheet


@dataclass(slots=True)
class Context:
    """What the sheets of one workbook share. `cells` counts those met so far."""

    strings: dict[str, str]
    styles: dict[str, Style]
    date1904: bool
    limits: Limits
    notes: list[str]
    cells: int = 0


def read_sheet(data: bytes, part: str, name: str, index: int, hidden: bool, context: Context) -> Sheet:
    """The sheet in part `part`, whose bytes are `data`. Raises Unreadable."""
    if len(data) > _TREE_BYTES:
        reader = _Reader(Sheet(name, index, hidden=hidden), context)
        reader.read_stream(data, part)
        return reader.finish()
    try:
        shell, rows = xlsx_quick.split(data)
        reader = _Reader(Sheet(name, index, hidden=hidden), context)
        reader.read_plain(xml_guard.parse(shell, part), rows)
    except xlsx_quick.NotPlain:
        reader = _Reader(Sheet(name, index, hidden=hidden), context)
        reader.read_tree(xml_guard.parse(data, part))
    return reader.finish()


class _Reader:
    """Fills one sheet from row, merge and column elements."""

    def __init__(self, sheet: Sheet, context: Context):
        self.sheet, self.context = sheet, context
        self.ns = ""
        self.hidden_rows: set[int] = set()
        self.hidden_columns: set[int] = set()
        self.row = 0
        self.met = 0
        self.unknown_style = False

    def read_plain(self, root: etree._Element, rows: str) -> None:
        self.read_around(root)
        if root.find(f"{self.ns}sheetData") is None:
            raise xlsx_quick.NotPlain
        prefixes = frozenset(prefix for prefix in root.nsmap if prefix)
        for number, attributes, tokens in xlsx_quick.rows(rows, prefixes):
            self.take_row(number, attributes.get("hidden"), attributes.get("ht"))
            self.take_cells(tokens)

    def read_tree(self, root: etree._Element) -> None:
        self.read_around(root)
        row_tag = f"{self.ns}row"
        for element in root.iterfind(f"{self.ns}sheetData/{self.ns}*"):
            if element.tag != row_tag:
                raise damaged(f"sheet '{self.sheet.name}' has something outside its rows")
            self.take_row(element.get("r"), element.get("hidden"), element.get("ht"))
            self.take_cells(self.tokens(element))

    def read_around(self, root: etree._Element) -> None:
        self.take_root(root)
        ns = self.ns
        for element in root.iterfind(f"{ns}cols/{ns}col"):
            self.take_column(element)
        for element in root.iterfind(f"{ns}mergeCells/{ns}mergeCell"):
            self.take_merge(element)

    def read_stream(self, data: bytes, part: str) -> None:
        tags = tuple(f"{{*}}{name}" for name in ("worksheet", "row", "mergeCell", "col"))
        for _, element in xml_guard.stream(data, part, b"row>", tags):
            parent = element.getparent()
            where = etree.QName(parent).localname if parent is not None else "root"
            if where == "root":
                self.take_root(element)
            elif where == "sheetData":
                self.ns = _namespace(element)
                self.take_row(element.get("r"), element.get("hidden"), element.get("ht"))
                self.take_cells(self.tokens(element))
                element.clear()
                while element.getprevious() is not None:
                    del parent[0]
            elif where == "mergeCells":
                self.take_merge(element)
            elif where == "cols":
                self.take_column(element)

    def take_root(self, root: etree._Element) -> None:
        self.ns = _namespace(root)
        if root.tag != f"{self.ns}worksheet":
            raise damaged(f"the part of sheet '{self.sheet.name}' holds something else")

    def take_column(self, element: etree._Element) -> None:
        if element.get("hidden") in _TRUE or is_zero(element.get("width")):
            first, last = count_of(element.get("min"), "column"), count_of(element.get("max"), "column")
            self.hidden_columns.update(range(first, min(last, self.context.limits.columns) + 1))

    def take_merge(self, element: etree._Element) -> None:
        limits = self.context.limits
        if len(self.sheet.merged) >= limits.merged_areas:
            raise too_large(f"Merged areas in sheet '{self.sheet.name}'", limits.merged_areas + 1, limits.merged_areas)
        top, left, bottom, right = area_of(element.get("ref", ""), self.sheet.name)
        if (top, left) != (bottom, right):
            self.sheet.merged.append((top, left, bottom, right))

    def take_row(self, written: str | None, hidden: str | None, height: str | None) -> None:
        limits = self.context.limits
        self.row = count_of(written, "row") if written is not None else self.row + 1
        if self.row > limits.rows:
            raise too_large(f"Rows in sheet '{self.sheet.name}'", self.row, limits.rows)
        if hidden in _TRUE or is_zero(height):
            self.hidden_rows.add(self.row)

    def tokens(self, row: etree._Element) -> Iterator[Token]:
        """The cells of a row element, in the form that the plain reader gives them."""
        ns = self.ns
        cell_tag, value_tag, formula_tag, inline_tag = f"{ns}c", f"{ns}v", f"{ns}f", f"{ns}is"
        for c in row.iterchildren(cell_tag):
            text, formula, inline = None, "", ""
            for child in c:
                tag = child.tag
                if tag == value_tag:
                    text = child.text or ""
                elif tag == formula_tag:
                    formula = "f"
                elif tag == inline_tag:
                    inline = rich_text(child, ns)
            get = c.get
            yield "", get("r", ""), get("s", ""), get("t", ""), formula, text, inline

    def take_cells(self, tokens: Iterable[Token]) -> None:
        # The one loop whose time counts: everything it needs is a local name, and the usual cells come first.
        context, cells, row = self.context, self.sheet.cells, self.row
        strings, styles, numbers, places = context.strings, context.styles, _numbers, known_places
        make, number_kind, text_kind, as_number = tuple.__new__, Kind.NUMBER, Kind.TEXT, Shows.NUMBER
        column = met = 0
        for token in tokens:
            _, reference, style_index, kind, formula, text, inline = token
            if reference:
                place = places.get(reference) or place_of(reference, self.sheet.name)
                if place[0] != row:
                    raise damaged(f"cell {reference} of sheet '{self.sheet.name}' stands in row {row}")
            else:
                place = (row, column + 1)
            column = place[1]
            if not text and not formula and not inline and kind != "e":
                continue  # a format without a value
            style = styles.get(style_index) or self.missing_style()
            if not kind or kind == "n":
                number = numbers.get(text)
                if number is not None and style[1] is as_number:
                    met += 1
                    cells[place] = make(Cell, (row, column, number_kind, number, style[0], formula != ""))
                    continue
            elif kind == "s" and text in strings:
                string = strings[text]
                if string:
                    met += 1
                    cells[place] = make(Cell, (row, column, text_kind, string, style[0], formula != ""))
                continue
            cell = self.unusual(place, token, style)
            if cell is not None:
                met += 1
                cells[place] = cell
        self.met += met
        if context.cells + self.met > context.limits.cells:
            raise too_large("Filled cells", context.cells + self.met, context.limits.cells)
        if column > context.limits.columns:
            raise too_large(f"Columns in sheet '{self.sheet.name}'", column, context.limits.columns)

    def unusual(self, place: tuple[int, int], token: Token, style: Style) -> Cell | None:
        """Any cell that the loop does not settle itself; None if it is blank."""
        whole, _, _, kind, formula_text, text, inline = token
        row, column = place
        formula = formula_text != ""
        if kind == "inlineStr":
            # The XML parser has resolved entities, and the escapes of `inline`; `whole` tells which reader it was.
            string = unescape(resolve(inline or text or "")) if whole else inline or unescape(text or "")
            return self.text_cell(place, string, formula, style)
        if kind == "e" and not text and not formula:
            raise self.bad(place, "is an error without its name")
        if not text:
            shown_empty = kind == "str" and (text == "" if not whole else "<v" in whole)
            unknown = formula and not shown_empty
            return Cell(row, column, Kind.FORMULA, None, style.number_format, True) if unknown else None
        if whole:
            text = resolve(text)
        if kind == "str":
            return self.text_cell(place, unescape(text), formula, style)
        if kind in ("", "n"):
            return self.number_cell(place, text, formula, style)
        if kind == "b":
            return Cell(row, column, Kind.BOOLEAN, self.boolean(place, text), style.number_format, formula)
        if kind == "e":
            return Cell(row, column, Kind.ERROR, text, style.number_format, formula)
        if kind == "d":
            moment = from_iso(text)
            if moment is None:
                raise self.bad(place, f"holds '{text[:40]}' where a date should stand")
            return Cell(row, column, Kind.DATE, moment, style.number_format, formula)
        if kind == "s":
            value = self.context.strings.get(text.strip())
            if value is None:
                raise self.bad(place, f"points to shared text {text[:20]}, which does not exist")
            return self.text_cell(place, value, formula, style)
        raise self.bad(place, f"is of the unknown type '{kind[:20]}'")

    def text_cell(self, place: tuple[int, int], text: str, formula: bool, style: Style) -> Cell | None:
        if len(text) > self.context.limits.text_length:
            where = f"Length of the text in cell {a1(*place)} of sheet '{self.sheet.name}'"
            raise too_large(where, len(text), self.context.limits.text_length, "characters")
        return Cell(*place, Kind.TEXT, text, style.number_format, formula) if text else None

    def number_cell(self, place: tuple[int, int], text: str, formula: bool, style: Style) -> Cell:
        value = _numbers.get(text)
        if value is None:
            value = xml_number(text)
            if value is None:
                raise self.bad(place, f"holds '{text[:40]}' where a number should stand")
            if len(_numbers) < _KNOWN_MAX:
                _numbers[text] = value
        if style.shows is not Shows.NUMBER:
            moment = from_serial(value, style.shows is Shows.ELAPSED, self.context.date1904)
            if moment is not None:
                return Cell(*place, Kind.DATE, moment, style.number_format, formula)
        return Cell(*place, Kind.NUMBER, value, style.number_format, formula)

    def boolean(self, place: tuple[int, int], text: str) -> bool:
        if text.strip() not in ("0", "1", "true", "false"):
            raise self.bad(place, f"holds '{text[:40]}' where true or false should stand")
        return text.strip() in _TRUE

    def bad(self, place: tuple[int, int], what: str) -> Unreadable:
        return damaged(f"cell {a1(*place)} of sheet '{self.sheet.name}' {what}")

    def missing_style(self) -> Style:
        self.unknown_style = True
        return self.context.styles.get("") or Style(GENERAL, Shows.NUMBER)

    def finish(self) -> Sheet:
        sheet, context = self.sheet, self.context
        if len(sheet.cells) != self.met:
            raise damaged(f"a cell of sheet '{sheet.name}' is written twice")
        context.cells += self.met
        keys = list(sheet.cells)
        ordered = sorted(keys)
        if ordered != keys:
            sheet.cells = {key: sheet.cells[key] for key in ordered}
        sheet.hidden_rows = frozenset(self.hidden_rows)
        sheet.hidden_columns = frozenset(self.hidden_columns)
        drop_covered(sheet, context.notes)
        if self.unknown_style:
            context.notes.append(
                f"Sheet '{sheet.name}' uses cell formats that the file does not define; dates in it may show as numbers"
            )
        return sheet


def _namespace(element: etree._Element) -> str:
    tag = element.tag
    return tag[: tag.index("}") + 1] if "}" in tag else ""
