"""What a field workbook issues, intake reads back without a single discrepancy, equal in every reading."""

from __future__ import annotations

import numpy as np
import pytest

from auditor.documents.field import HoodToSurvey, field_workbook, grid_of
from auditor.files import Source
from auditor.intake import take_in
from tests.documents.field.conftest import OPENINGS, book, hood
from tests.documents.field.filling import once_cells, readings, survey_cells
from tests.documents.patching import filled, needs_office, office, unworked


def take(store, terms, data):
    return take_in([Source("round.xlsx", "round.xlsx", data)], store, terms)


def all_accepted(outcome, store, unit) -> None:
    assert outcome.discrepancies.empty, outcome.discrepancies[["sheet", "cell", "code", "message"]].to_string()
    assert set(outcome.surveys["hood_id"]) == set(OPENINGS)
    assert set(outcome.surveys["status"]) == {"accepted"}
    assert set(outcome.surveys["verdict"]) == {"pass"}
    assert set(outcome.surveys["unit"]) == {unit}
    to_fpm = 1.0 if unit == "ft/min" else 1 / 0.00508
    for number, tag in enumerate(OPENINGS, start=1):
        rows, columns = grid_of(hood(tag))
        survey = outcome.surveys.set_index("hood_id").loc[tag]
        assert (survey["grid_rows"], survey["grid_columns"]) == (rows, columns)
        face = store.table("readings", survey_id=survey["survey_id"], kind="face")
        read = face.pivot(index="row", columns="column", values="velocity_fpm").to_numpy(float)
        np.testing.assert_allclose(read, readings(rows, columns, unit, number) * to_fpm, rtol=1e-12)
        drafts = store.table("readings", survey_id=survey["survey_id"], kind="cross-draft")
        assert len(drafts) == 9
        assert drafts["direction"].value_counts().to_dict() == {"parallel": 3, "perpendicular": 3, "vertical": 3}
        assert (survey["contractor"], survey["surveyor"], survey["instrument_id"]) == ("Amber", "K. L.", "TA-12")
        assert survey["sash_height_in"] == pytest.approx(OPENINGS[tag][2], abs=0.02)
        assert survey["opening_width_in"] == pytest.approx(OPENINGS[tag][0], abs=0.02)
        assert "bottles" in survey["observations"]


@pytest.mark.parametrize("unit", ["ft/min", "m/s"])
def test_filled_in_on_the_sheets(store, terms, unit) -> None:
    blank = field_workbook(book(unit=unit))
    sheets = {
        tag: once_cells(blank, tag, unit) | survey_cells(blank, tag, unit, OPENINGS[tag][2], n)
        for n, tag in enumerate(OPENINGS, start=1)
    }
    all_accepted(take(store, terms, filled(blank, **sheets)), store, unit)


@needs_office
def test_filled_in_once_on_the_cover_and_worked_out_by_a_spreadsheet(store, terms, tmp_path) -> None:
    """Issued in ft/min, surveyed in m/s; a sheet that stays blank says nothing."""
    undone = hood("H-1", room="999")
    blank = field_workbook(book(*(hood(tag) for tag in OPENINGS), HoodToSurvey(**(vars(undone) | {"hood_id": "H-9"}))))
    sheets = {tag: survey_cells(blank, tag, "m/s", OPENINGS[tag][2], n) for n, tag in enumerate(OPENINGS, start=1)}
    sheets["Cover"] = once_cells(blank, "Cover", "m/s")
    outcome = take(store, terms, office(unworked(filled(blank, **sheets)), tmp_path, "xlsx"))
    all_accepted(outcome, store, "m/s")
    assert outcome.sheets.set_index("sheet").loc["H-9", "reason"] == "a blank form"


def test_sheets_left_blank_are_set_aside_beside_those_filled_in(store, terms) -> None:
    blank = field_workbook(book())
    cells = once_cells(blank, "H-2", "ft/min") | survey_cells(blank, "H-2", "ft/min", 20, 2)
    outcome = take(store, terms, filled(blank, **{"H-2": cells}))
    assert outcome.discrepancies.empty
    assert list(outcome.surveys["hood_id"]) == ["H-2"]
    told = outcome.sheets.set_index("sheet")["reason"].to_dict()
    assert told == {
        "Cover": "a cover sheet",
        "H-1": "a blank form",
        "H-2": "",
        "H-3": "a blank form",
        "H-4": "a blank form",
    }
