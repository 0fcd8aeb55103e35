"""The live checks, worked out by a spreadsheet program: they speak where intake would hold or a profile would fail."""

from __future__ import annotations

import datetime as dt
import io

import openpyxl
import pytest

from auditor.documents.field import field_workbook
from tests.documents.field.conftest import book, hood
from tests.documents.field.filling import labels, once_cells, survey_cells
from tests.documents.patching import filled, needs_office, office, unworked


@pytest.fixture(scope="module")
def worked(tmp_path_factory):
    """H-1 with everything wrong, H-2 right, H-3 half done, H-4 blank; as a spreadsheet shows them, text by sheet."""
    blank = field_workbook(book())
    at = labels(blank, "H-1")
    top, low = at["Row 1 (top)"], at["Row 2 (bottom)"]
    wrong = survey_cells(blank, "H-1", "ft/min", 12) | {
        f"B{top}": 30, f"C{top}": "n/a", f"D{top}": 0.45, f"E{top}": 150, f"F{top}": 0, f"G{top}": 612,
        f"I{low}": 96, f"C{at['Towards the hood']}": 31, f"B{at['Smoke, small source']}": "escapes",
        f"B{at['Kind of instrument']}": "pitot tube", f"B{at['Calibration due']}": dt.date(2026, 5, 1),
        f"B{at['Surveyed on']}": None,
    }  # fmt: skip
    half = survey_cells(blank, "H-3", "ft/min", 30, 3)
    half[f"B{labels(blank, 'H-3')['Row 1 (top)']}"] = None
    sheets = {
        "Cover": once_cells(blank, "Cover", "ft/min"), "H-1": wrong, "H-3": half,
        "H-2": survey_cells(blank, "H-2", "ft/min", 20, 2),
    }  # fmt: skip
    data = office(unworked(filled(blank, **sheets)), tmp_path_factory.mktemp("worked"), "xlsx")
    pages = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    return {page.title: page for page in pages}, at


def beside(page, row: int) -> str:
    """The check that stands to the right in a row."""
    said = [str(c.value) for c in page[row][4:] if isinstance(c.value, str) and c.value.strip()]
    return said[-1] if said else ""


@needs_office
def test_each_wrong_cell_is_named_beside_its_row(worked) -> None:
    pages, at = worked
    page = pages["H-1"]
    said = beside(page, at["Row 1 (top)"])
    assert said.startswith("Measure again: column ")
    assert said.removeprefix("Measure again: column ").split(", ")[:6] == [
        "1 low", "2 no number", "3 other unit?", "4 uneven", "5 zero or less", "6 too fast",
    ]  # fmt: skip
    assert beside(page, at["Towards the hood"]) == "Measure again: centre high"
    assert beside(page, at["Surveyed on"]) == "fill in the date"
    assert beside(page, at["Sash height (in)"]).startswith("not the working height")
    assert beside(page, at["Kind of instrument"]).startswith("not suited to the face")
    assert beside(page, at["Calibration due"]).startswith("calibration has expired")
    assert beside(page, at["Smoke, small source"]).startswith("look again")


@needs_office
def test_average_and_lowest_are_told_as_they_stand(worked) -> None:
    pages, _ = worked
    page = pages["H-2"]
    at = {str(c.value): c.row for c in page["A"] if c.value}
    rows = [at["Row 1 (top)"], at["Row 2 (bottom)"]]
    readings = [page.cell(row, column).value for row in rows for column in range(2, 6)]
    assert f"So far 8 of 8 points: average {sum(readings) / 8:.0f}, lowest {min(readings):.0f}" in next(
        name for name in at if name.startswith("So far")
    )


@needs_office
def test_a_sheet_says_how_far_it_is_and_the_cover_too(worked) -> None:
    pages, _ = worked
    said = {}
    for row in pages["Cover"].iter_rows(values_only=True):
        if row[0] in ("H-1", "H-2", "H-3", "H-4"):
            said[row[0]] = str(row[2] or "").strip()
    assert said == {"H-1": "not complete", "H-2": "complete", "H-3": "not complete", "H-4": ""}


def test_cells_to_fill_in_are_open_and_everything_else_is_locked() -> None:
    data = field_workbook(book(hood("H-1")))
    page = openpyxl.load_workbook(io.BytesIO(data))["H-1"]
    at = labels(data, "H-1")
    assert page.protection.sheet
    unlocked = {c.coordinate for row in page.iter_rows() for c in row if not c.protection.locked}
    grid = {f"{column}{at[row]}" for column in "BCDEFGHI" for row in ("Row 1 (top)", "Row 2 (bottom)")}
    drafts = {f"{column}{at[row]}" for column in "BCD" for row in ("Along the face", "Towards the hood", "Vertical")}
    fields = {
        f"B{at[name]}"
        for name in ("Surveyed on", "Reason for survey", "Sash height (in)", "Smoke, small source", "Observations")
    }
    assert grid | drafts | fields <= unlocked
    assert f"B{at['Hood ID']}" not in unlocked
    assert f"B{at['Unit of velocities']}" not in unlocked
    assert not {c for c in unlocked if c.startswith("A")}


def test_drop_downs_and_messages_are_there() -> None:
    page = openpyxl.load_workbook(io.BytesIO(field_workbook(book(hood("H-1")))))["H-1"]
    lists = {v.formula1 for v in page.data_validations.dataValidation if v.type == "list"}
    assert '"annual,initial,after change,retest"' in lists
    assert '"TA-12,TA-15"' in lists
    for rule in page.data_validations.dataValidation:
        assert len(rule.prompt or "") <= 255
        assert len(rule.error or "") <= 255


@needs_office
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_one_page_a_hood(paper, tmp_path) -> None:
    import pypdfium2

    wide = hood("H-1", opening_width_in=192.0, opening_height_in=60.0, working_sash_in=48.0)
    pdf = pypdfium2.PdfDocument(office(field_workbook(book(wide, hood("H-4"), paper=paper)), tmp_path, "pdf"))
    assert len(pdf) == 3
    size = tuple(round(side) for side in pdf[1].get_size())
    assert size == ({"A4": (595, 842), "Letter": (612, 792)}[paper])
    assert "H-4" in pdf[2].get_textpage().get_text_bounded()
