"""The records of an .xls stream ([MS-XLS] 2.4, BIFF8; those of BIFF5 that matter here are laid out alike)."""

from __future__ import annotations

import math
import struct
from collections.abc import Iterator

from auditor.workbook.cells import Kind
from auditor.workbook.facts import BookFacts, Fact, SheetFacts, error_text, plain, rk_number
from auditor.workbook.limits import Limits, damaged, encrypted, too_large, too_old
from auditor.workbook.styles import BUILTIN, GENERAL

_EOF, _BOF, _FILEPASS, _DATEMODE, _BOUNDSHEET, _FORMAT, _XF = 0x0A, 0x809, 0x2F, 0x22, 0x85, 0x41E, 0xE0
_DIMENSIONS, _ROW, _COLINFO, _MERGED = 0x200, 0x208, 0x7D, 0xE5
_NUMBER, _RK, _MULRK, _FORMULA, _BOOLERR = 0x203, 0x27E, 0xBD, 0x06, 0x205
_TEXTS = (0xFD, 0x204, 0xD6)  # shared, plain, rich
_BIFF8 = 0x600
_ROWS, _COLUMNS = 65_536, 256

Record = tuple[int, bytes]


def read_xls_facts(stream: bytes, limits: Limits) -> BookFacts:
    """Raises Unreadable: encrypted, too large, not BIFF5 or BIFF8, or cut short."""
    book = BookFacts()
    starts: list[int] = []
    codes, indices = dict(BUILTIN), []
    version = 0
    for kind, body in _records(stream, 0):
        if kind == _BOF:
            version = struct.unpack_from("<H", body)[0]
            if version not in (0x500, _BIFF8):
                raise too_old()
        elif kind == _FILEPASS:
            raise encrypted()
        elif kind == _DATEMODE:
            book.date1904 = body[:2] == b"\1\0"
        elif kind == _FORMAT:
            number, code = _format(body, version)
            codes[number] = code
        elif kind == _XF:
            indices.append(struct.unpack_from("<H", body, 2)[0])
        elif kind == _BOUNDSHEET:
            start, hidden, sort = struct.unpack_from("<IBB", body)
            book.sheets.append(SheetFacts(_sheet_name(body, version), bool(hidden & 3), sort == 0))
            starts.append(start)
    if len(starts) > limits.sheets:
        raise too_large("Sheets", len(starts), limits.sheets)
    book.formats = [codes.get(number, GENERAL) for number in indices]
    for sheet, start in zip(book.sheets, starts, strict=True):
        if sheet.grid:
            _read_sheet(stream, start, sheet, book, limits)
    return book


def _records(stream: bytes, start: int) -> Iterator[Record]:
    """Records of one substream, those of substreams within it (charts) left out."""
    depth, position, end = 0, start, len(stream)
    while position + 4 <= end:
        kind, size = struct.unpack_from("<HH", stream, position)
        body = stream[position + 4 : position + 4 + size]
        if len(body) < size:
            break
        if kind == _BOF:
            depth += 1
        elif depth == 0:
            break  # no substream begins here
        if depth == 1 and kind != _EOF:
            yield kind, body
        if kind == _EOF:
            depth -= 1
            if depth == 0:
                return
        position += 4 + size
    raise damaged("its records are cut short")


def _format(body: bytes, version: int) -> tuple[int, str]:
    number = struct.unpack_from("<H", body)[0]
    if version != _BIFF8:
        return number, body[3 : 3 + body[2]].decode("cp1252", "replace")
    length, flags = struct.unpack_from("<HB", body, 2)
    if flags & 1:
        return number, body[5 : 5 + 2 * length].decode("utf-16-le", "replace")
    return number, body[5 : 5 + length].decode("latin-1")


def _sheet_name(body: bytes, version: int) -> str:
    """For messages; the library's reading of it is the one that counts."""
    if version == _BIFF8:
        return body[8:].decode("utf-16-le" if body[7] & 1 else "latin-1", "replace")
    return body[7:].decode("cp1252", "replace")


def _read_sheet(stream: bytes, start: int, sheet: SheetFacts, book: BookFacts, limits: Limits) -> None:
    for kind, body in _records(stream, start):
        if kind == _ROW:
            if struct.unpack_from("<H", body, 12)[0] & 0x20:
                sheet.hidden_rows.add(struct.unpack_from("<H", body)[0] + 1)
        elif kind == _COLINFO:
            first, last, _, _, flags = struct.unpack_from("<5H", body)
            if flags & 1:
                sheet.hidden_columns.update(range(first + 1, min(last, _COLUMNS - 1) + 2))
        elif kind == _MERGED:
            for top, bottom, left, right in struct.iter_unpack("<4H", body[2 : 2 + len(body[2:]) // 8 * 8]):
                sheet.merged.append((top + 1, left + 1, bottom + 1, right + 1))
            if len(sheet.merged) > limits.merged_areas:
                raise too_large("Merged areas", len(sheet.merged), limits.merged_areas)
        elif kind == _DIMENSIONS:
            _judge_dimensions(body)
        else:
            for row, column, fact in _cells(kind, body):
                sheet.cells[row + 1, column + 1] = fact
                book.count(limits)


def _judge_dimensions(body: bytes) -> None:
    # The library sets memory aside by what this record claims.
    rows, columns = 0, 0
    if len(body) >= 14:
        _, rows, _, columns = struct.unpack_from("<IIHH", body)
    elif len(body) >= 8:
        _, rows, _, columns = struct.unpack_from("<4H", body)
    if rows > _ROWS or columns > _COLUMNS:
        raise damaged("a sheet claims more rows or columns than the format has")


def _cells(kind: int, body: bytes) -> Iterator[tuple[int, int, Fact]]:
    if kind == _MULRK:
        row, column = struct.unpack_from("<HH", body)
        for style, rk in struct.iter_unpack("<HI", body[4 : 4 + (len(body) - 6) // 6 * 6]):
            yield row, column, Fact(Kind.NUMBER, rk_number(rk), style)
            column += 1
        return
    if kind not in _TEXTS and kind not in (_NUMBER, _RK, _FORMULA, _BOOLERR):
        return
    row, column, style = struct.unpack_from("<HHH", body)
    if kind in _TEXTS:
        fact = Fact(Kind.TEXT, None, style)
    elif kind == _NUMBER:
        fact = _number(body, style, False)
    elif kind == _RK:
        fact = Fact(Kind.NUMBER, rk_number(struct.unpack_from("<I", body, 6)[0]), style)
    elif kind == _BOOLERR:
        error = body[7] != 0
        value = error_text(body[6]) if error else body[6] != 0
        fact = Fact(Kind.ERROR if error else Kind.BOOLEAN, value, style)
    else:
        fact = _formula(body, style)
    yield row, column, fact


def _number(body: bytes, style: int, formula: bool) -> Fact:
    value = struct.unpack_from("<d", body, 6)[0]
    if not math.isfinite(value):
        return Fact(Kind.ERROR, "#NUM!", style, formula)
    return Fact(Kind.NUMBER, plain(value), style, formula)


def _formula(body: bytes, style: int) -> Fact:
    if body[12:14] != b"\xff\xff":
        return _number(body, style, True)
    sort, code = body[6], body[8]
    if sort == 0:
        return Fact(Kind.TEXT, None, style, True)
    if sort == 1:
        return Fact(Kind.BOOLEAN, code != 0, style, True)
    if sort == 2:
        return Fact(Kind.ERROR, error_text(code), style, True)
    # An empty result; programs that do not compute write the same, so that it is no proof of a value.
    return Fact(Kind.FORMULA, None, style, True)
