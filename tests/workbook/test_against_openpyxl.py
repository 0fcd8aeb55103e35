"""Every cell of every sample and pack workbook, beside openpyxl: the reference for Office Open XML."""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.styles import Font
from openpyxl.utils.escape import unescape

from auditor.workbook import Kind, Unreadable, Workbook, read_workbook

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = (ROOT.parent / "shared" / "packs", ROOT / "sample_workbooks")
FILES = sorted(path for folder in FOLDERS for path in folder.rglob("*.xls[xm]"))
KINDS = {"n": Kind.NUMBER, "s": Kind.TEXT, "d": Kind.DATE, "b": Kind.BOOLEAN, "e": Kind.ERROR}


def reference(data: bytes) -> dict[str, dict]:
    """What openpyxl finds in two passes, one for values and one for formulas."""
    values = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    formulas = openpyxl.load_workbook(io.BytesIO(data))
    found = {}
    for title in values.sheetnames:
        sheet = values[title]
        if not hasattr(sheet, "iter_rows"):  # a chart sheet
            found[title] = {"cells": {}, "merged": set(), "rows": set(), "columns": set(), "hidden": False}
            continue
        cells = {}
        for row in sheet.iter_rows():
            for cell in row:
                formula = formulas[title][cell.coordinate].data_type == "f"
                kind = KINDS.get(cell.data_type)
                value = unescape(cell.value) if isinstance(cell.value, str) else cell.value
                if value is None and formula:
                    kind = Kind.FORMULA
                elif value is None or value == "":
                    continue
                cells[cell.row, cell.column] = (kind, value, cell.number_format, formula)
        columns = {
            number
            for dimension in sheet.column_dimensions.values()
            if dimension.hidden
            for number in range(dimension.min, dimension.max + 1)
        }
        found[title] = {
            "cells": cells,
            "merged": {(a.min_row, a.min_col, a.max_row, a.max_col) for a in sheet.merged_cells.ranges},
            "rows": {number for number, dimension in sheet.row_dimensions.items() if dimension.hidden},
            "columns": columns,
            "hidden": sheet.sheet_state != "visible",
        }
    return found


def ours(book: Workbook) -> dict[str, dict]:
    return {
        sheet.name: {
            "cells": {place: tuple(cell[2:]) for place, cell in sheet.cells.items()},
            "merged": set(sheet.merged),
            "rows": set(sheet.hidden_rows),
            "columns": set(sheet.hidden_columns),
            "hidden": sheet.hidden,
        }
        for sheet in book.sheets
    }


def agree(data: bytes) -> int:
    """Asserts that both find the same; gives the number of cells compared."""
    expected, found = reference(data), ours(read_workbook(data, "x.xlsx"))
    assert list(found) == list(expected)
    for title, sheet in expected.items():
        for part, value in sheet.items():
            assert found[title][part] == value, (title, part)
        for place, cell in sheet["cells"].items():
            assert type(found[title]["cells"][place][1]) is type(cell[1]), (title, place)
    return sum(len(sheet["cells"]) for sheet in expected.values())


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_cell_of_the_files(path: Path) -> None:
    data = path.read_bytes()
    try:
        read_workbook(data, path.name)
    except Unreadable:
        with pytest.raises(Exception, match=r"."):  # whatever it says, openpyxl cannot read it either
            openpyxl.load_workbook(io.BytesIO(data))
        return
    assert agree(data) > 0


def test_the_packs_were_there() -> None:
    if not FOLDERS[0].exists():
        pytest.skip("the packs are not beside this checkout")
    assert len(FILES) >= 15


LETTERS = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"), exclude_characters="\ufffe\uffff")
TEXT = st.text(LETTERS, min_size=1, max_size=12).filter(lambda t: not t.startswith("=") and "_x" not in t)
VALUES = st.one_of(
    st.integers(-(10**12), 10**12),
    st.floats(-1e300, 1e300),
    st.booleans(),
    TEXT,
    st.sampled_from(["#N/A", "#VALUE!", "#DIV/0!", "=SUM(A1:A9)", '=IF(A1="","",A1)', "_x0041_", "a\nb", " x "]),
    st.datetimes(dt.datetime(1901, 1, 1), dt.datetime(2199, 1, 1)).map(lambda d: d.replace(microsecond=0)),
    st.times().map(lambda t: t.replace(microsecond=0)),
)
FORMATS = st.sampled_from([None, "0.0", "#,##0", "0%", '0.0" fpm"', "@", "yyyy-mm-dd", "[h]:mm", "h:mm", "mmm-yy"])
PLACES = st.tuples(st.integers(1, 40), st.integers(1, 40))


@settings(max_examples=40, deadline=None)
@given(st.dictionaries(PLACES, st.tuples(VALUES, FORMATS, st.booleans()), min_size=1, max_size=25))
def test_what_openpyxl_writes(values: dict) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    for (row, column), (value, number_format, bold) in values.items():
        cell = sheet.cell(row, column, value)
        if number_format is not None and not (isinstance(value, (int, float)) and _shows_no_date(value)):
            cell.number_format = number_format
        cell.font = Font(bold=bold)
    sheet.row_dimensions[3].hidden = True
    sheet.column_dimensions["C"].hidden = True
    out = io.BytesIO()
    book.save(out)
    agree(out.getvalue())


def _shows_no_date(value: float) -> bool:
    """Numbers that we keep as numbers under a date format, and openpyxl turns into an error or a day before 1900."""
    return not 61 <= value < 2_900_000
