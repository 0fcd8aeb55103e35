"""The part of one sheet: its cells' styles, and where its comments hang. Values and formulas are never touched."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Container

from lxml import etree

from auditor.documents.returns.looks import Styles
from auditor.documents.returns.model import area, cells_in, column_number
from auditor.workbook.cells import a1

_REFERENCE = re.compile(r"([A-Z]{1,3})(\d{1,7})")
# What stands after <legacyDrawing> in a sheet (ECMA-376 part 1, 18.3.1.99, CT_Worksheet).
_AFTER_LEGACY = (
    "legacyDrawingHF", "drawingHF", "picture", "oleObjects", "controls", "webPublishItems", "tableParts", "extLst",
)  # fmt: skip


class SheetPart:
    def __init__(self, root: etree._Element, relation_ns: str):
        self.root, self.relation_ns = root, relation_ns
        self.ns = root.tag[: root.tag.index("}") + 1]
        data = root.find(f"{self.ns}sheetData")
        if data is None:
            raise ValueError("the sheet has no cells")
        self.data = data
        self._rows, self._numbers = self._index_rows()
        self._merged = self._merged_areas()

    def shown(self, place: tuple[int, int, int, int]) -> list[tuple[int, int]]:
        """The cells that show in an area, in reading order: of a merged area its top left one, wherever that is."""
        top, left, bottom, right = place
        near = [m for m in self._merged if m[0] <= bottom and m[2] >= top and m[1] <= right and m[3] >= left]
        found: dict[tuple[int, int], None] = {}
        for row, column in cells_in(place):
            over = next((m for m in near if m[0] <= row <= m[2] and m[1] <= column <= m[3]), None)
            found[(over[0], over[1]) if over else (row, column)] = None
        return list(found)

    def mark(self, row: int, column: int, severity: str, styles: Styles) -> None:
        """Gives a cell the fill of a severity; one that is not there yet is added blank."""
        cell = self._cell(row, column)
        cell.set("s", str(styles.marked(int(cell.get("s") or 0), severity)))

    def settle(self, marks: frozenset[str], still: Container[tuple[int, int]], styles: Styles) -> None:
        """Gives cells that carry a mark of an earlier return, and are not among those that are `still` open, the mark
        of what is settled."""
        for number, row in zip(self._numbers, self._rows, strict=True):
            last = 0
            for cell in row.iterchildren(f"{self.ns}c"):
                match = _REFERENCE.fullmatch(cell.get("r") or "")
                last = column_number(match[1]) if match else last + 1
                if cell.get("s") in marks and (number, last) not in still:
                    self.mark(number, last, "settled", styles)

    def hang(self, relation_id: str) -> None:
        """Names the drawing that shows the comments."""
        element = etree.Element(f"{self.ns}legacyDrawing")
        element.set(f"{{{self.relation_ns}}}id", relation_id)
        later = [self.root.find(f"{self.ns}{name}") for name in _AFTER_LEGACY]
        first = min((self.root.index(e) for e in later if e is not None), default=len(self.root))
        self.root.insert(first, element)

    @property
    def legacy(self) -> str:
        """The relationship id of the drawing that shows comments and controls; '' where there is none."""
        found = self.root.find(f"{self.ns}legacyDrawing")
        return "" if found is None else found.get(f"{{{self.relation_ns}}}id", "")

    def unselect(self) -> bool:
        """Takes the sheet out of the selection, so that a person who types on the list types nowhere else. Says whether
        it was in it."""
        views = self.root.findall(f"{self.ns}sheetViews/{self.ns}sheetView")
        chosen = [v for v in views if v.get("tabSelected") in ("1", "true")]
        for view in chosen:
            del view.attrib["tabSelected"]
        return bool(chosen)

    # --- rows and cells ----------------------------------------------------------------------------------------------
    def _index_rows(self) -> tuple[list[etree._Element], list[int]]:
        """The rows with their numbers; a row that does not give its number follows the one before (18.3.1.73)."""
        rows, numbers, last = [], [], 0
        for row in self.data.iterchildren(f"{self.ns}row"):
            last = int(row.get("r") or last + 1)
            rows.append(row)
            numbers.append(last)
        return rows, numbers

    def _row(self, number: int) -> etree._Element:
        place = bisect_left(self._numbers, number)
        if place < len(self._numbers) and self._numbers[place] == number:
            return self._rows[place]
        row = etree.Element(f"{self.ns}row", r=str(number))
        if place < len(self._rows):
            self._rows[place].addprevious(row)
        else:
            self.data.append(row)
        self._rows.insert(place, row)
        self._numbers.insert(place, number)
        return row

    def _cell(self, row_number: int, column: int) -> etree._Element:
        row, last = self._row(row_number), 0
        for cell in row.iterchildren(f"{self.ns}c"):
            match = _REFERENCE.fullmatch(cell.get("r") or "")
            last = column_number(match[1]) if match else last + 1
            if last == column:
                return cell
            if last > column:
                return self._new(row, row_number, column, before=cell)
        return self._new(row, row_number, column)

    def _new(self, row: etree._Element, number: int, column: int, before: etree._Element | None = None):
        """A blank cell with the style that its row or column gives it."""
        cell = etree.Element(f"{self.ns}c", r=a1(number, column))
        style = row.get("s") if row.get("customFormat") in ("1", "true") else self._column_style(column)
        if style:
            cell.set("s", style)
        if before is not None:
            before.addprevious(cell)
        else:
            cells = row.findall(f"{self.ns}c")
            row.insert(row.index(cells[-1]) + 1 if cells else 0, cell)
        return cell

    def _column_style(self, column: int) -> str | None:
        for col in self.root.iterfind(f"{self.ns}cols/{self.ns}col"):
            if int(col.get("min") or 0) <= column <= int(col.get("max") or 0):
                return col.get("style")
        return None

    def _merged_areas(self) -> list[tuple[int, int, int, int]]:
        found = (area(m.get("ref") or "") for m in self.root.iterfind(f"{self.ns}mergeCells/{self.ns}mergeCell"))
        return [place for place in found if place]
