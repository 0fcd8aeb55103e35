"""The shared pack of layouts against its truth, where it is present beside the repository."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from auditor.sheets import Context, understand
from auditor.sheets.model import SurveyAsWritten
from auditor.workbook import read_workbook

PACK = Path(__file__).parents[3] / "shared" / "packs" / "layouts"
pytestmark = pytest.mark.skipif(not PACK.exists(), reason="the shared pack is not here")

# Exact by definition: 1 ft = 0.3048 m.
FPM = {"ft/min": 1.0, "m/s": 1 / 0.00508}


def all_surveys(name: str) -> list[SurveyAsWritten]:
    with (PACK / "register.csv").open() as file:
        known = frozenset(row["hood_id"] for row in csv.DictReader(file))
    book = read_workbook((PACK / name).read_bytes(), name)
    return [s for account in understand(book, Context(known)) for s in account.surveys]


def truths() -> list[tuple[str, dict]]:
    if not PACK.exists():
        return []
    truth = json.loads((PACK / "truth.json").read_text())
    return [(name, one) for name, wants in truth.items() for one in wants if one["status"] == "accepted"]


@pytest.mark.parametrize(("name", "want"), truths(), ids=lambda v: v if isinstance(v, str) else v["hood_id"])
def test_every_sound_survey_is_read_as_the_truth_has_it(name: str, want: dict) -> None:
    one = next(s for s in all_surveys(name) if s.fields["hood"].value == want["hood_id"])
    assert str(one.fields["surveyed_on"].value) == want["surveyed_on"]
    assert one.fields["unit"].value == want["unit"]
    got = {
        (r.row, r.column, r.cell): r.value * FPM[r.unit]
        for r in one.readings
        if r.kind == "face" and r.value and r.unit
    }
    assert got == pytest.approx({(r, c, cell): v for r, c, cell, v in want["face"]}, abs=1e-5)
    if want["cross"]:
        assert {r.cell: r.value for r in one.readings if r.kind == "cross-draft"} == dict(map(tuple, want["cross"]))
    assert one.problems == []
