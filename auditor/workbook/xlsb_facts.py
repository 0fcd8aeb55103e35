"""The records of an .xlsb package ([MS-XLSB] 2.1.4, 2.4)."""

from __future__ import annotations

import math
import struct
from collections.abc import Iterator

from auditor.workbook.cells import Kind
from auditor.workbook.facts import BookFacts, Fact, SheetFacts, error_text, plain, rk_number
from auditor.workbook.limits import Limits, damaged, too_large
from auditor.workbook.styles import BUILTIN, GENERAL
from auditor.workbook.xlsx import Relations, relations
from auditor.workbook.zip_guard import Archive

_ROW, _RK, _ERROR, _BOOL, _REAL, _TEXT, _SHARED = 0, 2, 3, 4, 5, 6, 7
_F_TEXT, _F_NUMBER, _F_BOOL, _F_ERROR, _RICH = 8, 9, 10, 11, 62
_FORMAT, _XF, _COLUMNS, _WB_PROP, _SHEET, _MERGE, _BEGIN_XFS, _END_XFS = 44, 47, 60, 153, 156, 176, 617, 618
_CELLS = {_RK, _ERROR, _BOOL, _REAL, _TEXT, _SHARED, _F_TEXT, _F_NUMBER, _F_BOOL, _F_ERROR, _RICH}


def read_xlsb_facts(archive: Archive, part: str, limits: Limits) -> BookFacts:
    """Facts of the workbook whose main part is `part`. Raises Unreadable."""
    book = BookFacts()
    related = relations(archive, part)
    listed: list[str] = []
    for kind, body in _records(archive.read(part), part):
        if kind == _WB_PROP:
            book.date1904 = bool(body[0] & 1)
        elif kind == _SHEET:
            relation, end = _text(body, 8)
            name, _ = _text(body, end)
            book.sheets.append(SheetFacts(name=name, hidden=struct.unpack_from("<I", body)[0] != 0))
            listed.append(relation)
    if len(listed) > limits.sheets:
        raise too_large("Sheets", len(listed), limits.sheets)
    book.formats = _formats(archive, related)
    for kind_name, target in related.values():
        if kind_name == "sharedStrings" and target in archive:
            for _ in _records(archive.read(target), target):
                pass  # the library sets memory aside for whatever length a record claims
    for sheet, relation in zip(book.sheets, listed, strict=True):
        kind_name, target = related.get(relation, ("", ""))
        if not target or target not in archive:
            raise damaged(f"sheet '{sheet.name}' is listed but its part is missing")
        sheet.grid = kind_name == "worksheet"
        if sheet.grid:
            _read_sheet(archive.read(target), target, sheet, book, limits)
    return book


def _records(data: bytes, part: str) -> Iterator[tuple[int, bytes]]:
    position, end = 0, len(data)
    try:
        while position < end:
            kind = data[position]
            position += 1
            if kind & 0x80:
                kind = (kind & 0x7F) | (data[position] & 0x7F) << 7
                position += 1
            size = shift = 0
            for _ in range(4):
                byte = data[position]
                position += 1
                size |= (byte & 0x7F) << shift
                shift += 7
                if not byte & 0x80:
                    break
            body = data[position : position + size]
            if len(body) < size:
                raise IndexError
            position += size
            yield kind, body
    except (IndexError, struct.error) as error:
        raise damaged(f"part '{part}' is cut short") from error


def _text(body: bytes, start: int) -> tuple[str, int]:
    length = struct.unpack_from("<I", body, start)[0]
    if length == 0xFFFFFFFF:
        return "", start + 4
    end = start + 4 + 2 * length
    return body[start + 4 : end].decode("utf-16-le", "replace"), end


def _formats(archive: Archive, related: Relations) -> list[str]:
    target = next((part for kind, part in related.values() if kind == "styles"), None)
    if target is None or target not in archive:
        return []
    codes, formats, inside = dict(BUILTIN), [], False
    for kind, body in _records(archive.read(target), target):
        if kind == _FORMAT:
            codes[struct.unpack_from("<H", body)[0]] = _text(body, 2)[0]
        elif kind in (_BEGIN_XFS, _END_XFS):
            inside = kind == _BEGIN_XFS
        elif kind == _XF and inside:
            formats.append(codes.get(struct.unpack_from("<H", body, 2)[0], GENERAL))
    return formats


def _read_sheet(data: bytes, part: str, sheet: SheetFacts, book: BookFacts, limits: Limits) -> None:
    row = 0
    for kind, body in _records(data, part):
        if kind == _ROW:
            row = struct.unpack_from("<I", body)[0] + 1
            if row > limits.rows:
                raise too_large(f"Rows in sheet '{sheet.name}'", row, limits.rows)
            if body[11] & 0x10:
                sheet.hidden_rows.add(row)
        elif kind == _COLUMNS:
            first, last, _, _, flags = struct.unpack_from("<4IH", body)
            if flags & 1:
                sheet.hidden_columns.update(range(first + 1, min(last + 1, limits.columns) + 1))
        elif kind == _MERGE:
            top, bottom, left, right = struct.unpack_from("<4I", body)
            sheet.merged.append((top + 1, left + 1, bottom + 1, right + 1))
            if len(sheet.merged) > limits.merged_areas:
                raise too_large("Merged areas", len(sheet.merged), limits.merged_areas)
        elif kind in _CELLS:
            column, style = struct.unpack_from("<II", body)
            if column >= limits.columns:
                raise too_large(f"Columns in sheet '{sheet.name}'", column + 1, limits.columns)
            sheet.cells[row, column + 1] = _cell(kind, body, style & 0xFFFFFF)
            book.count(limits)


def _cell(kind: int, body: bytes, style: int) -> Fact:
    formula = kind in (_F_TEXT, _F_NUMBER, _F_BOOL, _F_ERROR)
    if kind == _RK:
        return Fact(Kind.NUMBER, rk_number(struct.unpack_from("<I", body, 8)[0]), style)
    if kind in (_REAL, _F_NUMBER):
        value = struct.unpack_from("<d", body, 8)[0]
        if not math.isfinite(value):
            return Fact(Kind.ERROR, "#NUM!", style, formula)
        return Fact(Kind.NUMBER, plain(value), style, formula)
    if kind in (_BOOL, _F_BOOL):
        return Fact(Kind.BOOLEAN, body[8] != 0, style, formula)
    if kind in (_ERROR, _F_ERROR):
        return Fact(Kind.ERROR, error_text(body[8]), style, formula)
    return Fact(Kind.TEXT, None, style, formula)
