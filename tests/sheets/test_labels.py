"""What a text can mean: labels by their words, and titles that turn away from this survey's readings."""

from __future__ import annotations

import pytest

from auditor.sheets.label_parts import take_unit
from auditor.sheets.labels import analyse
from auditor.sheets.positions import parse_position
from auditor.sheets.text import fold, words_of
from auditor.sheets.vocabulary import suggest, vocabulary

FIELDS = {
    "hood": ["Hood", "Hood ID", "Fume hood no.", "FH #", "Hood tag:", "Fume cupboard ref.", "Asset No.", "hood"],
    "hood_type": ["Hood type", "Type of hood"],
    "building": ["Building", "Bldg."],
    "floor": ["Floor", "Level"],
    "room": ["Room", "Lab no.", "Rm"],
    "surveyed_on": [
        "Date",
        "Date of survey",
        "Test date",
        "Date tested",
        "Inspection date",
        "Tested on",
        "Date (dd/mm/yyyy)",
    ],
    "occasion": ["Reason", "Reason for test", "Survey type", "Occasion"],
    "contractor": ["Contractor", "Testing company"],
    "surveyor": ["Surveyed by", "Technician", "Tested by"],
    "instrument_id": ["Instrument", "Instrument serial no.", "Anemometer", "Serial number", "Meter ID"],
    "calibrated_on": ["Calibrated", "Calibration date", "Last calibrated", "Date calibrated"],
    "calibration_due": ["Calibration due", "Cal. due date", "Calibration expires", "Next calibration due"],
    "unit": ["Units", "Velocity unit", "Readings in", "Unit of measure"],
    "sash_height": [
        "Sash height",
        "Sash opening at test (in)",
        "Sash",
        "Working sash height",
        "sash_in",
        "Height of the sash",
    ],
    "opening_width": ["Opening width", "Width of opening (in)"],
    "opening_height": ["Opening height"],
    "smoke_local": ["Smoke (tube)", "Local smoke", "Small source smoke"],
    "smoke_gross": ["Smoke (large volume)", "Gross smoke"],
    "monitor": ["Monitor reading (fpm)", "Monitor"],
    "reported_mean": ["Average", "Mean face velocity", "Avg. velocity (fpm)", "Overall average"],
    "reported_verdict": ["Result", "Pass / Fail", "Overall result"],
    "other": [
        "Report date",
        "Next test due",
        "Date of last survey",
        "Design sash height",
        "Design face velocity",
        "Page",
        "Last test date",
        "Installation date",
        "Number of hoods",
        "Airflow (cfm)",
        "Max sash height",
    ],
}


@pytest.mark.parametrize(("field", "text"), [(f, t) for f, texts in FIELDS.items() for t in texts])
def test_fields_by_their_labels(field: str, text: str) -> None:
    assert analyse(text).field == field


@pytest.mark.parametrize(
    "text", ["Alder Building", "captured", "K. L.", "TA-2", "D-A1000", "Notes on method and scope", "98"]
)
def test_values_are_no_labels(text: str) -> None:
    assert analyse(text).field is None


@pytest.mark.parametrize(
    ("text", "section", "flip"),
    [
        ("Face velocity (fpm)", "face", None),
        ("FACE VELOCITY READINGS", "face", None),
        ("Velocity traverse", "face", None),
        ("Face velocity - sash at 18 in", "face", None),
        ("Face velocity, pass 2", "face", None),
        ("Cross-draft at 6 in", "cross", None),
        ("Room air cross-draught", "cross", None),
        ("Max cross draft (fpm)", "cross", None),
        ("Face velocity last year", None, "previous"),
        ("Face velocity (% of mean)", None, "percent"),
        ("Percent of mean", None, "percent"),
        ("Deviation from mean (%)", None, "percent"),
        ("Acceptance limits", None, "limit"),
        ("Previous survey", None, "previous"),
    ],
)
def test_titles(text: str, section: str | None, flip: str | None) -> None:
    meaning = analyse(text)
    assert meaning.flip == flip
    if flip is None:
        assert meaning.section == section


def test_a_value_in_the_labels_own_cell() -> None:
    for text in ("Hood: B-214", "Hood = B-214", "Hood B-214", "Hood ..... B-214", "Hood - B-214"):
        assert (analyse(text).field, analyse(text).inline) == ("hood", "B-214")
    assert analyse("Hood: B-214  Date: 12 May 2026  Sash: 18 in").pairs == (
        ("Hood", "B-214"),
        ("Date", "12 May 2026"),
        ("Sash", "18 in"),
    )
    assert analyse("Date: ________").inline == ""


@pytest.mark.parametrize(
    ("text", "bare", "unit"),
    [
        ("sash height (in)", "sash height", "in"),
        ("face velocity, m/s", "face velocity", "m/s"),
        ("sash_mm", "sash", "mm"),
        ("velocities in ft/min", "velocities", "ft/min"),
        ("velocity [fpm]", "velocity", "ft/min"),
        ("hood", "hood", None),
    ],
)
def test_units_beside_labels(text: str, bare: str, unit: str | None) -> None:
    found, its_unit, _ = take_unit(text)
    assert (found, its_unit.name if its_unit else None) == (bare, unit)


def test_typing_errors_are_suggested_and_never_taken() -> None:
    assert analyse("Sahs height").field is None
    assert suggest("sahs height") == "sash_height"
    assert suggest("Calibraton due") == "calibration_due"
    assert suggest("alder building") is None


def test_no_two_rules_claim_the_same_words() -> None:
    """Every rule, taken as a label of its needed words alone, names its own field and no other equally well."""
    rules = vocabulary().fields
    for listed in rules.by_word.values():
        for rule in listed:
            words = [sorted(element)[0] for element in rule.needed]
            if len(set(words)) == len(words):
                assert rules.match(words) is not None, (rule.name, words)


def test_every_word_is_reachable_in_folded_form() -> None:
    assert words_of(fold("Fume\u00a0Hood\u2019s  No.")) == ("fume", "hood", "s", "no")


@pytest.mark.parametrize(
    ("text", "known"),
    [
        ("Top", {"row_rank": 10}),
        ("Bottom row", {"row_rank": 70}),
        ("CL", {"column_rank": 20}),
        ("Far right", {"column_rank": 60}),
        ("Top left", {"row_rank": 10, "column_rank": 10}),
        ("TL", {"row_rank": 10, "column_rank": 10}),
        ("R1C2", {"row_number": 1, "column_number": 2}),
        ("Row 3", {"row_number": 3}),
        ("Col. 4", {"column_number": 4}),
        ("B2", {"letter": 2, "number": 2}),
        ("P7", {"point": 7}),
        ("Point 12", {"point": 12}),
        ("3", {"number": 3}),
        ("1 (right)", {"number": 1, "column_rank": 50}),
        ("Row 1 (bottom)", {"row_number": 1, "row_rank": 70}),
    ],
)
def test_positions(text: str, known: dict) -> None:
    found = parse_position(text)
    assert found is not None
    assert {k: getattr(found, k) for k in known} == known


@pytest.mark.parametrize("text", ["", "captured", "Hood", "Average", "12 May", "0", "9999", "left over", "mm"])
def test_no_positions(text: str) -> None:
    assert parse_position(text) is None
