"""Delimited text to a Workbook of one sheet, every cell a text as it stands."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from pathlib import PurePath

from auditor.workbook.cells import Cell, Kind, Sheet, Unreadable, Workbook
from auditor.workbook.limits import Limits, damaged, not_a_workbook, too_large

# In order of preference where a file could be cut by either: a comma is a decimal sign as well, the others are not.
DELIMITERS = "\t;|,"
_SAMPLE_LINES = 400
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1f\ufffe\uffff]")
_QUOTED = re.compile(r'(?:(?<=[\t;|,\r\n])|^)"(?:[^"]|"")*"')
_OTHER_ENDINGS = (".xlsx", ".xlsm", ".xltx", ".xltm", ".xls", ".xlsb", ".ods")
_MARKUP = re.compile(r"\s*<(?:!doctype\s+html|html|head|body|table|div|\?xml|script|meta)\b", re.IGNORECASE)


def read_csv(data: bytes, name: str, limits: Limits) -> Workbook:
    """The rows of a text file. Raises Unreadable for what is no text, for web pages, and for an unclosed quotation."""
    notes: list[str] = []
    text = _decode(data, notes)
    if _MARKUP.match(text):
        kind = "an XML document" if text.lstrip().lower().startswith("<?xml") else "a web page"
        raise not_a_workbook(kind)
    if not text.strip():
        raise not_a_workbook("empty")
    ending = PurePath(name.lower()).suffix
    if ending in _OTHER_ENDINGS:
        raise Unreadable(
            "file-unreadable",
            f"The file is plain text, though its name ends in {ending}. If it is a table, rename it to .csv and resend "
            "it; else save the survey as .xlsx",
        )
    delimiter, text = _delimiter(text, notes)
    sheet = Sheet(PurePath(name.replace("\\", "/")).stem or name, 0)
    met = 0
    for row, record in enumerate(_records(text, delimiter), 1):
        if row > limits.rows or len(record) > limits.columns:
            what = "Rows" if row > limits.rows else f"Columns in row {row}"
            found, most = (row, limits.rows) if row > limits.rows else (len(record), limits.columns)
            raise too_large(what, found, most)
        for column, value in enumerate(record, 1):
            if len(value) > limits.text_length:
                raise too_large(f"Length of the text in row {row}", len(value), limits.text_length, "characters")
            if value:
                met += 1
                sheet.cells[row, column] = Cell(row, column, Kind.TEXT, value)
        if met > limits.cells:
            raise too_large("Filled cells", met, limits.cells)
    return Workbook(name, "csv", [sheet], notes)


def _decode(data: bytes, notes: list[str]) -> str:
    for encoding in _encodings(data):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        text = text.removeprefix("\ufeff").removesuffix("\x1a")
        if _CONTROL.search(text):
            break  # text in this encoding, were it text at all
        if encoding == "cp1252":
            notes.append("The text is not in Unicode; it was read as Windows-1252 (Western European)")
        return text
    raise not_a_workbook("of a kind that is not recognised")


def _encodings(data: bytes) -> tuple[str, ...]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return ("utf-16",)
    if data.startswith(b"\xef\xbb\xbf"):
        return ("utf-8-sig",)
    if len(data) % 2 == 0 and b"\0" in data[:2000]:
        high = data[:2000:2].count(0) > data[1:2000:2].count(0)  # the empty half of a Latin letter comes first
        return ("utf-16-be",) if high else ("utf-16-le",)
    return ("utf-8", "cp1252")


def _delimiter(text: str, notes: list[str]) -> tuple[str, str]:
    """The delimiter and the text to cut: the sign that parts most of the first lines. A first line 'sep=;' settles
    it, and is no row."""
    declared = re.match(r'"?sep=(.)"?\r?\n', text, re.IGNORECASE)
    if declared:
        return declared[1], text[declared.end() :]
    lines = [line for line in _QUOTED.sub("", text[:200_000]).splitlines() if line.strip(" ")][:_SAMPLE_LINES]
    counts = {sign: sum(sign in line for line in lines) for sign in DELIMITERS}
    best = max(DELIMITERS, key=lambda sign: counts[sign])
    if not counts[best]:
        return ",", text
    rivals = [sign for sign in DELIMITERS if sign != best and sign != "," and counts[sign] == counts[best]]
    if rivals:
        notes.append(f"The cells were parted at {best!r}; {' and '.join(map(repr, rivals))} is as frequent")
    return best, text


def _records(text: str, delimiter: str) -> Iterator[list[str]]:
    try:
        yield from csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    except csv.Error as error:
        if "unexpected end of data" in str(error):
            raise damaged("a quotation mark opens a text that never ends") from error
        if "field larger than" in str(error):
            raise too_large("Length of a text", csv.field_size_limit() + 1, csv.field_size_limit()) from error
        raise Unreadable(
            "file-unreadable",
            f"The text file cannot be cut into cells ({error}). Double every quotation mark inside a quoted text, "
            "or save the survey as .xlsx, and resend it",
        ) from error
