"""Random survey workbooks with their truth, by seed: what hundreds of contractors might send.

`make_case(seed)` gives a sound workbook, `make_case(seed, fault)` one with a planted fault of `faults.DUE`. The same
arguments give the same bytes. Every choice is drawn by one `random.Random`, apart from the reader that it tests.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

from tests.layouts import campus, faults, forms, long_table, more_shapes, noise, tables
from tests.layouts.broken_files import spoil_file
from tests.layouts.canvas import Book, Canvas
from tests.layouts.faults import DUE
from tests.layouts.firm import WORDS, Firm
from tests.layouts.grids import draw_style
from tests.layouts.truth import Case, Laid, Reading, Survey
from tests.layouts.writers import ENDING, CsvStyle, write

BUILDERS = {
    "one-per-sheet": forms.one_per_sheet,
    "several-per-sheet": forms.several_per_sheet,
    "several-settings": forms.several_settings,
    "row-per-hood": tables.row_per_hood,
    "row-per-reading": long_table.row_per_reading,
    "column-per-hood": more_shapes.column_per_hood,
    "rows-per-hood": more_shapes.rows_per_hood,
    "two-header-rows": more_shapes.two_header_rows,
    "common-head": more_shapes.common_head,
    "point-list": more_shapes.point_list,
    "unrecognisable": noise.unrecognisable,
}
WEIGHTS = {
    "one-per-sheet": 32,
    "several-per-sheet": 12,
    "several-settings": 8,
    "row-per-hood": 20,
    "row-per-reading": 10,
    "column-per-hood": 4,
    "rows-per-hood": 4,
    "two-header-rows": 4,
    "common-head": 4,
    "point-list": 6,
}
COUNTS = {
    "one-per-sheet": [1, 1, 2, 3],
    "several-per-sheet": [2, 2, 3, 4],
    "several-settings": [1, 1, 2],
    "row-per-hood": [2, 3, 5, 8],
    "row-per-reading": [1, 2, 3, 4],
    "column-per-hood": [2, 3, 4],
    "rows-per-hood": [2, 3, 4],
    "two-header-rows": [2, 3, 5],
    "common-head": [2, 3],
    "point-list": [1, 1, 2],
    "unrecognisable": [1],
}
TABLES = {"row-per-hood", "row-per-reading", "column-per-hood", "rows-per-hood", "two-header-rows"}
GRID_SHAPES = {"one-per-sheet", "several-per-sheet", "several-settings", "common-head"}
FAULTS = sorted(DUE)


@dataclass
class Draft:
    """A case before it is written, so that a test can alter the book and write it again."""

    book: Book
    file_format: str
    csv_style: CsvStyle
    case: Case  # with no data yet

    def write(self, book: Book | None = None) -> Case:
        """The case with its bytes, of this book or of an altered one."""
        return replace(self.case, data=write(book or self.book, self.file_format, self.csv_style))


def make_case(seed: int, fault: str | None = None) -> Case:
    """One workbook with its truth. Raises KeyError on an unknown fault."""
    case = make_draft(seed, fault).write()
    if fault in faults.OF_FILE:
        data, ending = spoil_file(fault or "", seed, case.data)
        truth = [{**_blank_truth(None), "codes": [DUE[fault or ""]]}]
        return replace(case, name=f"{case.name.rsplit('.', 1)[0]}.{ending}", data=data, truth=truth)
    return case


def make_draft(seed: int, fault: str | None = None) -> Draft:
    """As `make_case`, before writing and without the faults of a whole file."""
    rng = Random(f"hood layouts {seed} {fault or ''}")
    weights = {k: v for k, v in WEIGHTS.items() if fault is None or k in faults.SHAPES_OF[fault]}
    weights = weights or dict.fromkeys(faults.SHAPES_OF[fault or ""], 1)
    shape = rng.choices(list(weights), list(weights.values()))[0]
    firm = Firm.draw(rng)
    if fault:
        faults.prepare_firm(rng, firm, fault)
    _settle_habits(firm, shape)
    surveys = _surveys(rng, firm, shape, seed, fault)
    if fault:
        faults.spoil(rng, firm, fault, surveys)
    style = draw_style(rng, surveys[0].rows, surveys[0].columns)
    book = Book()
    laid = BUILDERS[shape](book, firm, surveys, style)
    extra = _after(rng, firm, book, laid, fault)
    if firm.file_format != "csv" or len(book.sheets) > 1:
        firm.file_format = "openpyxl" if firm.file_format == "csv" else firm.file_format
        if fault not in ("example", "ambiguous-date"):
            noise.add_sheets(rng, firm, book, [x.survey for x in laid])
    name = f"case-{seed}{'-' + fault if fault else ''}.{ENDING[firm.file_format]}"
    truth = [_told(x, fault) for x in laid] + extra
    if firm.file_format == "csv":
        for record in truth:
            record["sheet"] = name.rsplit(".", 1)[0]
    register = {x.survey.hood_id: campus.register_row(x.survey) for x in laid if x.survey.hood_id}
    drawn = style.features if shape in GRID_SHAPES else set()
    features = {f"shape:{shape}", *firm.features, *firm.habits(), *drawn}
    case = Case(name, b"", truth, list(register.values()), tuple(sorted(features)))
    return Draft(book, firm.file_format, _csv_style(rng, book), case)


def _settle_habits(firm: Firm, shape: str) -> None:
    """Habits that a format or a shape cannot carry give way."""
    if firm.file_format in ("csv", "ods") and firm.unit_mode == "number-format":
        firm.unit_mode = "field"
    if firm.placement == "same" and firm.date_style == "true":
        firm.date_style = "d-mon-y"
    if shape in TABLES - {"row-per-hood"} and firm.date_proof == "calibration":
        firm.date_proof = "self"
    if shape in TABLES:
        firm.placement = "left"
    elif firm.placement in ("same", "above") and firm.length_style == "next":
        firm.length_style = "label"


def _surveys(rng: Random, firm: Firm, shape: str, seed: int, fault: str | None) -> list[Survey]:
    count = rng.choice(COUNTS[shape])
    if fault in ("repeated", "copied", "hidden-sheet"):
        count = max(2, count)
    style = rng.choice(campus.TAG_STYLES)
    rows, columns = rng.choice([2, 2, 3, 3, 3, 4]), rng.choice([2, 3, 3, 4, 4, 5, 6])
    if shape in TABLES or shape == "point-list":
        rows, columns = min(rows, 3), min(columns, 5)
    if fault == "copied":  # few points agree by honest coincidence; a copy must be beyond doubt
        rows, columns = max(rows, 3), max(columns, 4)
    surveys = [campus.draw_survey(rng, firm, seed * 10 + i, style, rows, columns) for i in range(count)]
    if shape in ("one-per-sheet", "row-per-reading") and fault is None and rng.random() < 0.12:
        firm.note("passes")
        for survey in surveys:
            survey.passes += [_again(rng, firm, survey) for _ in range(rng.choice([1, 1, 2]))]
            if survey.text_in_unit:
                campus.write_units(rng, firm, survey)
    if (
        fault is None
        and firm.unit_mode not in ("cell", "number-format")
        and firm.file_format != "csv"
        and rng.random() < 0.08
    ):
        _as_text(rng, firm, surveys)
    return surveys


def _again(rng: Random, firm: Firm, survey: Survey) -> dict[tuple[int, int], Reading]:
    from tests.layouts.truth import FPM_PER

    first = survey.passes[0]
    return {
        at: campus.measured(firm, (r.value or 1) * FPM_PER[firm.unit] * rng.gauss(1, 0.02)) for at, r in first.items()
    }


def _as_text(rng: Random, firm: Firm, surveys: list[Survey]) -> None:
    """Numbers typed as text, with the decimal sign of the firm's country."""
    comma = firm.decimals > 0 and rng.random() < 0.5
    firm.note("text-numbers", *(["comma"] if comma else []))
    for survey in surveys:
        for one in survey.passes:
            for reading in one.values():
                text = f"{reading.value:.{firm.decimals}f}"
                reading.written = text.replace(".", ",") if comma else text
        if comma:
            survey.codes.append("reading-coerced")


def _after(rng: Random, firm: Firm, book: Book, laid: list[Laid], fault: str | None) -> list[dict]:
    """Faults of a sheet or a book, planted when all is laid; returns truth entries of their own."""
    by_name: dict[str, Canvas] = {c.name: c for c in book.sheets}
    if fault == "two-notes":
        other = "m/s" if firm.unit == "ft/min" else "ft/min"
        for canvas in book.sheets:
            canvas.put(canvas.bottom + 2, 1, firm.pick("notes", "unit").format(u=rng.choice(WORDS["units"][other])))
    if fault == "hidden-sheet":
        one = rng.choice(laid)
        by_name[one.sheet].hidden = True
        one.survey.codes.append("sheet-hidden")
    if fault == "hidden-row":
        one = rng.choice(laid)
        row = int(rng.choice(one.face)[2].lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
        by_name[one.sheet].hidden_rows.add(row)
        for x in laid:
            if x.sheet == one.sheet and any(
                cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ") == str(row) for _, _, cell, _ in x.face
            ):
                x.survey.codes.append("row-hidden")
    if fault == "example":
        return [{**_blank_truth(noise.example_sheet(rng, book)), "status": "absent", "codes": ["example-left-in"]}]
    return []


def _blank_truth(sheet: str | None) -> dict:
    nothing = dict.fromkeys(["hood_id", "surveyed_on", "unit", "sash_height_in", "shape", "mean_fpm"])
    return {"sheet": sheet, **nothing, "status": "held", "codes": [], "face": [], "cross": [], "cells": []}


def _told(laid: Laid, fault: str | None) -> dict:
    """A survey's record, with what a fault takes away taken away."""
    record, survey = laid.record(), laid.survey
    if "hood" in survey.omit or not survey.hood_id:
        record["hood_id"] = None
    if "date" in survey.omit or "date-ambiguous" in survey.codes:
        record["surveyed_on"] = None
    if "sash" in survey.omit:
        record["sash_height_in"] = None
    if fault == "unrecognisable":
        record["unit"] = None
    return record


def _csv_style(rng: Random, book: Book) -> CsvStyle:
    delimiter = rng.choice([",", ",", ";", ";", "\t", "|"])
    text = "".join(str(p.value) for c in book.sheets for p in c.cells.values())
    encodings = ["utf-8", "utf-8", "utf-8-sig", "utf-16"]
    try:
        text.encode("cp1252")
        encodings.append("cp1252")
    except UnicodeEncodeError:
        pass
    decimal = "," if delimiter == ";" and rng.random() < 0.5 else "."
    return CsvStyle(delimiter, rng.choice(encodings), decimal, rng.choice(["\r\n", "\n"]))
