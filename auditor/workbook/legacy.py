"""The binary formats .xls and .xlsb: texts by python-calamine, everything else by the file's own records.

The library gives an error cell as an empty text, knows no formulas, formats or hidden rows, and sets memory aside for
the whole area between the first and the last cell. So the records are walked first; they tell what each cell is, and
bound the area before the library sees the file."""

from __future__ import annotations

import io
import struct
from collections.abc import Callable
from typing import Any

from auditor.workbook.cells import Cell, Kind, Sheet, Value, Workbook
from auditor.workbook.facts import BookFacts, Fact, SheetFacts
from auditor.workbook.limits import Limits, damaged, encrypted, not_a_workbook, too_large
from auditor.workbook.merges import drop_covered
from auditor.workbook.ole import CompoundFile
from auditor.workbook.serials import from_serial
from auditor.workbook.styles import GENERAL, Shows, shows
from auditor.workbook.xls_facts import read_xls_facts
from auditor.workbook.xlsb_facts import read_xlsb_facts
from auditor.workbook.zip_guard import Archive


def read_xls(data: bytes, name: str, limits: Limits) -> Workbook:
    """The workbook in an OLE compound file. Raises Unreadable; a compound file may hold many other things."""
    compound = CompoundFile(data)
    if "encryptedpackage" in compound or "encryptioninfo" in compound:
        raise encrypted()
    stream = next((key for key in ("workbook", "book") if key in compound), None)
    if stream is None:
        raise not_a_workbook("an office document of another kind")
    facts = _facts(lambda: read_xls_facts(compound.read(stream), limits))
    macros = "_vba_project" in compound
    return _assemble(data, name, "xls", facts, macros, limits)


def read_xlsb(data: bytes, archive: Archive, part: str, name: str, limits: Limits) -> Workbook:
    """The workbook in a package whose main part is binary. Raises Unreadable."""
    if part not in archive:
        raise damaged(f"its main part '{part}' is missing")
    facts = _facts(lambda: read_xlsb_facts(archive, part, limits))
    macros = any(n.endswith("vbaproject.bin") for n in archive.names())
    return _assemble(data, name, "xlsb", facts, macros, limits)


def _facts(read: Callable[[], BookFacts]) -> BookFacts:
    try:
        return read()
    except (struct.error, IndexError) as error:
        raise damaged("a record in it is shorter than its kind must be") from error


def _assemble(data: bytes, name: str, form: str, facts: BookFacts, macros: bool, limits: Limits) -> Workbook:
    if not facts.sheets:
        raise damaged("it lists no sheets")
    for sheet in facts.sheets:
        _judge_area(sheet, limits)
    names, texts = _library_texts(data, facts)
    notes = ["The workbook contains macros; they were not run"] if macros else []
    sheets = []
    for index, sheet_facts in enumerate(facts.sheets):
        title = names[index]
        if not sheet_facts.grid:
            notes.append(f"Sheet '{title}' is a chart, a dialog or macros and has no cells to read")
        sheets.append(_sheet(title, index, sheet_facts, texts[index], facts, limits, notes))
    return Workbook(name, form, sheets, notes)


def _judge_area(sheet: SheetFacts, limits: Limits) -> None:
    if not sheet.cells:
        return
    rows, columns = [row for row, _ in sheet.cells], [column for _, column in sheet.cells]
    area = (max(rows) - min(rows) + 1) * (max(columns) - min(columns) + 1)
    if area > limits.binary_area:
        where = f"Area from the first to the last filled cell of sheet '{sheet.name}'"
        raise too_large(where, area, limits.binary_area, "cells")


def _library_texts(data: bytes, facts: BookFacts) -> tuple[list[str], list[dict[tuple[int, int], Any]]]:
    """Sheet names, and what the library has in each cell of each sheet that is not empty to it."""
    from python_calamine import CalamineWorkbook

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        names = list(book.sheet_names)
        if len(names) != len(facts.sheets):
            raise damaged("two readings of it find different sheets")
        found: list[dict[tuple[int, int], Any]] = []
        for index, sheet in enumerate(facts.sheets):
            found.append(_filled(book.get_sheet_by_index(index)) if sheet.grid else {})
        return names, found
    except Exception:
        raise
    except BaseException as error:
        if isinstance(error, (KeyboardInterrupt, SystemExit)):
            raise
        raise damaged("its records contradict each other") from error  # a panic of the library


def _filled(sheet: Any) -> dict[tuple[int, int], Any]:
    if sheet.start is None:
        return {}
    top, left = sheet.start
    return {
        (top + 1 + r, left + 1 + c): value
        for r, row in enumerate(sheet.to_python(skip_empty_area=True))
        for c, value in enumerate(row)
        if value != ""
    }


def _sheet(
    title: str,
    index: int,
    found: SheetFacts,
    texts: dict[tuple[int, int], Any],
    facts: BookFacts,
    limits: Limits,
    notes: list[str],
) -> Sheet:
    sheet = Sheet(title, index, hidden=found.hidden, grid=found.grid)
    unknown = [place for place in texts if place not in found.cells]
    if unknown:
        raise damaged(f"two readings of sheet '{title}' find different cells")
    for place in sorted(found.cells):
        cell = _cell(place, found.cells[place], texts.get(place), facts, limits, title)
        if cell is not None:
            sheet.cells[place] = cell
    sheet.merged = [area for area in found.merged if area[:2] != area[2:]]
    sheet.hidden_rows, sheet.hidden_columns = frozenset(found.hidden_rows), frozenset(found.hidden_columns)
    drop_covered(sheet, notes)
    return sheet


def _cell(place: tuple[int, int], fact: Fact, text: Any, facts: BookFacts, limits: Limits, title: str) -> Cell | None:
    number_format = facts.formats[fact.style] if fact.style < len(facts.formats) else GENERAL
    kind, value = fact.kind, fact.value
    result: Value = value
    if kind is Kind.TEXT:
        if text is None:
            return None
        if not isinstance(text, str):
            raise damaged(f"two readings of sheet '{title}' find different cells")
        if len(text) > limits.text_length:
            raise too_large("Length of a text", len(text), limits.text_length, "characters")
        result = text
    elif kind is Kind.NUMBER and isinstance(value, (int, float)) and shows(number_format) is not Shows.NUMBER:
        moment = from_serial(value, shows(number_format) is Shows.ELAPSED, facts.date1904)
        if moment is not None:
            kind, result = Kind.DATE, moment
    return Cell(*place, kind, result, number_format, fact.formula)
