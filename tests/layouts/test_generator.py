"""The generator's own truth is checked before anybody is judged by it, with readers that are not the project's."""

from __future__ import annotations

import datetime as dt
import io
import re

import openpyxl
import pytest
from python_calamine import CalamineWorkbook

from tests.layouts.generator import DUE, FAULTS, make_case
from tests.layouts.hard_cases import hard_cases
from tests.layouts.truth import FPM_PER, Case

SEEDS = range(0, 100)


def _cells(case: Case) -> dict[tuple[str, str], object]:
    """(sheet, address) -> value, by openpyxl for .xlsx and python-calamine for .xls and .ods; csv is left out."""
    out: dict[tuple[str, str], object] = {}
    if case.name.endswith(".xlsx"):
        for ws in openpyxl.load_workbook(io.BytesIO(case.data), data_only=True):
            for row in ws.iter_rows():
                out.update({(ws.title, c.coordinate): c.value for c in row if c.value is not None})
    elif not case.name.endswith(".csv"):
        book = CalamineWorkbook.from_filelike(io.BytesIO(case.data))
        for name in book.sheet_names:
            sheet = book.get_sheet_by_name(name)
            for r, row in enumerate(sheet.to_python(skip_empty_area=False), start=1):
                for c, value in enumerate(row, start=1):
                    out[name, openpyxl.utils.get_column_letter(c) + str(r)] = value
    return out


def _number(value: object) -> float:
    if isinstance(value, str):
        found = re.search(r"-?\d+(?:[.,]\d+)?", value)
        assert found, value
        return float(found[0].replace(",", "."))
    assert isinstance(value, int | float)
    return float(value)


@pytest.mark.parametrize("fault", [None, "censored", "hidden-row"])
def test_the_truth_is_what_stands_in_the_file(fault: str | None) -> None:
    """Every reading of the truth, in ft/min by the exact factors, is the number in its cell."""
    checked = 0
    for seed in SEEDS if fault is None else range(20):
        case = make_case(seed, fault)
        cells = _cells(case)
        for truth in case.truth:
            for _, _, cell, velocity in truth["face"] + [[0, 0, *x] for x in truth["cross"]]:
                if cells and velocity is not None:
                    written = _number(cells[truth["sheet"], cell])
                    assert written * FPM_PER[truth["unit"]] == pytest.approx(velocity, abs=1e-6), (case.name, cell)
                    checked += 1
    assert checked > 300


def test_a_sound_case_is_sound() -> None:
    """Accepted surveys have all that a survey needs, and no two readings at one place but in replicate passes."""
    for seed in SEEDS:
        case = make_case(seed)
        for truth in case.truth:
            assert truth["status"] == "accepted"
            assert truth["hood_id"] in {row["hood_id"] for row in case.register}
            assert dt.date(2026, 1, 1) < dt.date.fromisoformat(truth["surveyed_on"]) < dt.date(2026, 11, 1)
            assert 5 < truth["sash_height_in"] <= 28
            assert 60 < truth["mean_fpm"] < 150
            assert len({cell for _, _, cell, _ in truth["face"]}) == len(truth["face"])
            if truth["shape"]:
                places = {(r, c) for r, c, _, _ in truth["face"]}
                assert places == {(r + 1, c + 1) for r in range(truth["shape"][0]) for c in range(truth["shape"][1])}


def test_the_same_seed_gives_the_same_bytes() -> None:
    for seed in range(25):
        assert make_case(seed).data == make_case(seed).data
        assert make_case(seed).truth == make_case(seed).truth


def test_every_fault_names_its_code() -> None:
    for fault in FAULTS:
        case = make_case(3, fault)
        assert any(truth["codes"] for truth in case.truth), fault
        assert case.data != make_case(3).data


def test_hood_numbers_never_repeat_between_cases() -> None:
    """Cases can be judged together in one folder: no two claim the same hood."""
    owner: dict[str, int] = {}
    for seed in range(120):
        for row in make_case(seed).register:
            digits = re.sub(r"\D", "", row["hood_id"])
            assert owner.setdefault(digits, seed) == seed


# The codes of the contract's section 4 that reading one workbook can raise; the others compare surveys or the record.
READING_CODES = {
    "file-unreadable", "file-encrypted", "file-too-large", "layout-not-recognised", "readings-missing",
    "layout-ambiguous", "hood-missing", "hood-unknown", "place-differs", "date-missing", "date-implausible",
    "date-ambiguous", "unit-missing", "unit-unknown", "unit-mismatch", "grid-incomplete", "reading-not-numeric",
    "reading-implausible", "reading-coerced", "reading-censored", "sash-missing", "sash-implausible",
    "cross-draft-missing", "smoke-unclear", "instrument-unsuited", "calibration-expired", "reported-mean-differs",
    "reported-mean-unreadable", "reported-verdict-differs", "survey-repeated", "grid-copied", "sheet-hidden",
    "row-hidden", "example-left-in",
}  # fmt: skip


def test_every_reading_code_has_a_file_that_is_due_it() -> None:
    due = {code for codes in DUE.values() for code in codes.split("|")} | {"reading-coerced", "cross-draft-missing"}
    assert due >= READING_CODES


def test_the_hard_cases_tell_a_whole_truth() -> None:
    """At least sixty, named apart; every accepted survey has its hood, date, sash, unit and readings in the file."""
    cases = hard_cases()
    assert len(cases) >= 60
    assert len({case.name for case in cases}) == len(cases)
    for case in cases:
        cells = _cells(case)
        for truth in case.truth:
            if truth["status"] != "accepted":
                continue
            assert truth["hood_id"] in {row["hood_id"] for row in case.register}, case.name
            assert all(truth[name] is not None for name in ("surveyed_on", "unit", "sash_height_in", "mean_fpm"))
            assert 60 < truth["mean_fpm"] < 150, case.name
            for _, _, cell, velocity in truth["face"]:
                assert velocity is not None
                if cells:
                    assert _number(cells[truth["sheet"], cell]) * FPM_PER[truth["unit"]] == pytest.approx(velocity)
