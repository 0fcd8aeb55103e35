"""One fault, one code: each case is a survey with a single fault, all in one batch, so that none disturbs another."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pandas as pd
import pytest

from auditor.codes import CODES
from auditor.survey.columns import DISCREPANCIES
from expectations import check
from tests.expectations.frames import (
    DRAFTS,
    FACE,
    TODAY,
    Batch,
    draft_readings,
    face_readings,
    problems,
    reading,
    workbooks,
)

Expected = list[tuple[str, str, str]]  # code, cell, words in the message


def faced(grid: list[list[Any]] | None = None, unit: str | None = "ft/min", drafts: Any = None) -> dict[str, Any]:
    return {"readings": face_readings(grid or FACE, unit) + draft_readings(DRAFTS if drafts is None else drafts)}


def with_reading(place: int, **changed: Any) -> dict[str, Any]:
    readings = face_readings(FACE) + draft_readings(DRAFTS)
    readings[place] |= changed
    return {"readings": readings, "drop": ("reported_mean",)}


BLANK = {"value": None, "outcome": "blank", "written": ""}

CASES: dict[str, tuple[dict[str, Any], Expected]] = {
    "clean": ({}, []),
    # --- which hood, where
    "no hood": ({"drop": ("hood",), "hood_id": None}, [("hood-missing", "", "names no hood")]),
    "a hood that cannot be read": ({"facts": {"hood": (None, "?", "B2")}, "hood_id": None},
                                   [("hood-missing", "B2", "'?' could not be read")]),
    "an unknown hood": ({"facts": {"hood": ("D-A1OOO", "D-A1OOO", "B2")}, "hood_id": None, "suggestion": "D-A1000"},
                        [("hood-unknown", "B2", "Nearest tag in the register: D-A1000.")]),
    "an unknown hood without a near one": ({"hood_id": None}, [("hood-unknown", "B2", "'D-A1000'")]),
    "other building": ({"facts": {"building": ("Bryony Building", "Bryony Building", "B3")}},
                       [("place-differs", "B3", "'Bryony Building', the register 'Alder Building'")]),
    "other floor": ({"facts": {"floor": ("2", "2", "B4")}}, [("place-differs", "B4", "floor '2'")]),
    "other room": ({"facts": {"room": ("101", "101", "B5")}}, [("place-differs", "B5", "room '101'")]),
    "place spelled otherwise": ({"facts": {"building": "ALDER bldg.", "floor": "1st floor", "room": "Rm 110"}}, []),
    "building said with the room": ({"facts": {"room": "Alder 110"}}, []),
    "wide opening": ({"facts": {"opening_width": (37.5, "37.5", "B13")}}, [("opening-differs", "B13", "37.5 in")]),
    "opening off by an inch": ({"facts": {"opening_width": 37.0, "opening_height": 29.0}}, []),
    "low opening": ({"facts": {"opening_height": (26.0, "26", "B14")}}, [("opening-differs", "B14", "26 in")]),
    "opening given at the sash": ({"facts": {"opening_height": (18.0, "18", "B14")}}, []),
    # --- date
    "no date": ({"drop": ("surveyed_on",)}, [("date-missing", "", "no date")]),
    "a date that cannot be read": ({"facts": {"surveyed_on": (None, "soon", "B6")}},
                                   [("date-missing", "B6", "'soon' could not be read as a date.")]),
    "tomorrow": ({"facts": {"surveyed_on": (TODAY + dt.timedelta(1), "2 Nov 2026", "B6")}},
                 [("date-implausible", "B6", "'2 Nov 2026' cannot be right. 2026-11-02 is in the future")]),
    "today": ({"facts": {"surveyed_on": TODAY}}, []),
    "before the hood": ({"facts": {"surveyed_on": (dt.date(2009, 5, 31), "31 May 2009", "B6")}},
                        [("date-implausible", "B6", "installed, 2009-06-01")]),
    "on installation": ({"facts": {"surveyed_on": dt.date(2009, 6, 1)}, "drop": ("calibrated_on",)}, []),
    "next century": ({"facts": {"surveyed_on": (dt.date(2126, 8, 25), "2126", "B6")}},
                     [("date-implausible", "B6", "2126-08-25 is in the future")]),
    "another age": ({"facts": {"surveyed_on": (dt.date(1906, 8, 25), "1906", "B6")},
                     "register": {"installed_on": None}}, [("date-implausible", "B6", "1906-08-25 is before")]),
    # --- unit
    "no unit": ({"readings": face_readings(FACE, None) + draft_readings(DRAFTS), "drop": ("unit",)},
                [("unit-missing", "C20:E21", "6 face readings")]),
    "no unit for cross-drafts": ({"readings": face_readings(FACE) + draft_readings(DRAFTS, None)},
                                 [("unit-missing", "C30:E30", "3 cross-draft readings")]),
    "one reading without": (with_reading(2, unit=None), [("unit-missing", "E20", "1 face readings")]),
    "m/s called ft/min": (faced([[0.5, 0.51, 0.49], [0.48, 0.52, 0.5]]) | {"drop": ("reported_mean",)},
                          [("unit-mismatch", "C20:E21", "would be 0.5 ft/min, which")]),
    "ft/min called m/s": (faced(unit="m/s") | {"facts": {"unit": ("m/s", "m/s", "B11")}},
                          [("unit-mismatch", "C20:E21", "'m/s'")]),
    "m/s": (faced([[0.5, 0.51, 0.49], [0.48, 0.52, 0.5]], "m/s")
            | {"facts": {"unit": "m/s", "reported_mean": (0.5, "0.50", "B17")}}, []),
    "m/s called mm/s": (faced([[0.5, 0.51, 0.49], [0.48, 0.52, 0.5]], "mm/s") | {"drop": ("reported_mean",)},
                        [("unit-mismatch", "C20:E21", "mm/s")]),
    "a hood that stands still": (faced([[0, 0, 0], [0, 0, 0]]) | {"facts": {"reported_mean": 0.0}}, []),
    "a dying hood": (faced([[12, 11, 10], [13, 14, 10]]) | {"drop": ("reported_mean",)}, []),
    "two units in a grid": (with_reading(1, unit="m/s", value=0.5, written="0.5"),
                            [("unit-mismatch", "C20:E21", "2 different units")]),
    "m/s drafts called ft/min": (faced(drafts=[0.1, 0.05, 0]), [("unit-mismatch", "C30:E30", "0.05 to 0.1 ft/min")]),
    "a unit nobody knows": (with_reading(0, unit="furlong"),
                            [("unit-unknown", "C20:E21", "1 readings could not"),
                             ("unit-mismatch", "C20:E21", "2 different")]),
    # --- readings
    "no readings": ({"readings": draft_readings(DRAFTS)}, [("readings-missing", "B17", "an average, but not")]),
    "nothing at all": ({"readings": [], "drop": ("reported_mean",)},
                       [("readings-missing", "", "no face velocity"), ("cross-draft-missing", "", "no cross-draft")]),
    "a blank grid": ({"readings": [r | BLANK for r in face_readings(FACE)] + draft_readings(DRAFTS),
                      "drop": ("reported_mean",)}, [("readings-missing", "", "no face velocity")]),
    "a blank point": (with_reading(4, **BLANK), [("grid-incomplete", "D21", "(D21) has no reading")]),
    "a blank cross-draft": (with_reading(7, **BLANK), [("cross-draft-missing", "D30", "this one was left empty")]),
    "a word in the grid": (with_reading(4, value=None, outcome="not-numeric", written="see note"),
                           [("reading-not-numeric", "D21", "in D21, is no number: 'see note'")]),
    "a number out of text": (with_reading(4, outcome="coerced", written="96 fpm"),
                             [("reading-coerced", "D21", "'96 fpm'")]),
    "a bound": (with_reading(4, value=None, bound=20.0, outcome="censored", written="<20"),
                [("reading-censored", "D21", "'<20'")]),
    "tenfold": (with_reading(4, value=960.0, written="960"),
                [("reading-implausible", "D21", "960 ft/min is more than")]),
    "at the ceiling": (with_reading(4, value=500.0, written="500"), []),
    "negative": (with_reading(4, value=-96.0, written="-96"), [("reading-implausible", "D21", "never negative")]),
    "zero among others": (with_reading(4, value=0.0, written="0"), [("reading-implausible", "D21", "It is zero")]),
    "a negative cross-draft": (with_reading(7, value=-5.0, written="-5"),
                               [("reading-implausible", "D30", "never negative")]),
    "too coarse": ({"readings": face_readings([[98, 99], [97, 98]]) + draft_readings(DRAFTS),
                    "facts": {"reported_mean": 98.0}},
                   [("grid-too-coarse", "C20:D21", "4 points over an opening of 4.5 ft² make 1.12 ft²")]),
    "just fine enough": ({"readings": face_readings([[98, 99], [97, 98]]) + draft_readings(DRAFTS),
                          "facts": {"reported_mean": 98.0, "opening_width": 32.0},
                          "register": {"opening_width_in": 32.0}}, []),
    # --- sash, opening
    "no sash": ({"drop": ("sash_height",)}, [("sash-missing", "", "without it")]),
    "a sash without unit": ({"units": {"sash_height": None}}, [("sash-missing", "B12", "'18' could not be read")]),
    "no sash on a horizontal one": (faced([FACE[0] + FACE[1]] * 2)
                                    | {"drop": ("sash_height",), "register": {"sash_type": "horizontal"}}, []),
    "a closed sash": ({"facts": {"sash_height": (0.0, "0", "B12")}},
                      [("sash-implausible", "B12", "'0' cannot be right")]),
    "millimetres called inches": ({"facts": {"sash_height": (457.0, "457", "B12")}},
                                  [("sash-implausible", "B12", "457 in is more than any sash")]),
    "above the opening": ({"facts": {"sash_height": (32.0, "32", "B12")}},
                          [("sash-implausible", "B12", "full height of 30 in")]),
    "a low sash": ({"facts": {"sash_height": (16.0, "16", "B12")}},
                   [("sash-differs", "B12", "16 in, lower than the 18 in")]),
    "a high sash": ({"facts": {"sash_height": (20.0, "20", "B12")}}, [("sash-differs", "B12", "20 in, higher")]),
    "a sash off by an inch": ({"facts": {"sash_height": 17.0}}, []),
    "no width": ({"drop": ("opening_width",), "register": {"opening_width_in": None}},
                 [("opening-missing", "", "airflow")]),
    "width from the register": ({"drop": ("opening_width", "opening_height")}, []),
    # --- the rest of the visit
    "no cross-draft": ({"readings": face_readings(FACE)}, [("cross-draft-missing", "", "no cross-draft")]),
    "no smoke": ({"drop": ("smoke_local", "smoke_gross")}, [("smoke-missing", "", "no smoke")]),
    "smoke not done": ({"facts": {"smoke_local": ("not done", "not done", "B15")}, "drop": ("smoke_gross",)},
                       [("smoke-missing", "B15", "The sheet says 'not done'.")]),
    "one kind of smoke": ({"drop": ("smoke_gross",)}, []),
    "odd words on smoke": ({"facts": {"smoke_local": ("blue", "blue", "B15")}}, [("smoke-unclear", "B15", "'blue'")]),
    # --- instrument
    "no instrument": ({"drop": ("instrument_id",)}, [("instrument-missing", "", "names no instrument")]),
    "Pitot": ({"facts": {"instrument_kind": ("pitot", "Pitot tube", "B8")}}, [("instrument-unsuited", "B8", "Pitot")]),
    "vane": ({"facts": {"instrument_kind": ("vane", "Vane", "B8")}}, [("instrument-unsuited", "B8", "A vane")]),
    "past due": ({"facts": {"calibration_due": (dt.date(2026, 8, 24), "2026-08-24", "B10")}},
                 [("calibration-expired", "B10", "due on 2026-08-24; the hood was measured on 2026-08-25")]),
    "due on the day": ({"facts": {"calibration_due": dt.date(2026, 8, 25)}}, []),
    "calibrated after": ({"facts": {"calibrated_on": (dt.date(2026, 8, 26), "2026-08-26", "B9")}},
                         [("calibration-expired", "B9", "calibrated on 2026-08-26, after")]),
    "no calibration": ({"drop": ("calibrated_on", "calibration_due")},
                       [("calibration-missing", "", "names no calibration")]),
    "old and no due date": ({"facts": {"calibrated_on": (dt.date(2025, 8, 24), "2025-08-24", "B9")},
                             "drop": ("calibration_due",)},
                            [("calibration-missing", "B9", "more than 12 months")]),
    "a year old": ({"facts": {"calibrated_on": dt.date(2025, 8, 25)}, "drop": ("calibration_due",)}, []),
    # --- the sheet's own figures
    "other mean": ({"facts": {"reported_mean": (97.9, "97.9", "B17")}},
                   [("reported-mean-differs", "B17", "mean of the 6 readings is 97.833 ft/min, not 97.9.")]),
    "mean rounded": ({"facts": {"reported_mean": (98.0, "98", "B17")}}, []),
    "mean in another unit": ({"facts": {"reported_mean": (0.497, "0.497", "B17")}, "units": {"reported_mean": "m/s"}},
                             []),
    "other mean in another unit": ({"facts": {"reported_mean": (0.49, "0.490", "B17")},
                                    "units": {"reported_mean": "m/s"}},
                                   [("reported-mean-differs", "B17", "0.49699 m/s, not 0.49.")]),
    "other minimum": ({"facts": {"reported_min": (96.0, "96", "B19")}}, [("reported-mean-differs", "B19", "lowest")]),
    "other maximum": ({"facts": {"reported_max": (110.0, "110", "B20")}},
                      [("reported-mean-differs", "B20", "highest")]),
    "own least and greatest": ({"facts": {"reported_min": 95.0, "reported_max": 101.0}}, []),
}  # fmt: skip


@pytest.fixture(scope="module")
def found() -> dict[str, pd.DataFrame]:
    batch = Batch()
    for kwargs, _ in CASES.values():
        batch.add(**kwargs)
    surveys, readings, books = batch.frames()
    every = check(surveys, readings, books, today=TODAY)
    assert list(every.columns) == DISCREPANCIES
    assert set(every["survey_id"]) <= set(surveys["survey_id"])
    return {name: every[every["survey_id"] == f"s{i:05d}"] for i, name in enumerate(CASES)}


@pytest.mark.parametrize("name", list(CASES))
def test_one_fault_gives_exactly_its_code(name: str, found: dict[str, pd.DataFrame]) -> None:
    rows, expected = found[name], CASES[name][1]
    assert [(r.code, r.cell) for r in rows.itertuples()] == [(code, cell) for code, cell, _ in expected]
    for row, (code, _, words) in zip(rows.itertuples(), expected, strict=True):
        assert words in row.message
        assert row.severity == CODES[code].severity
        assert row.remedy == CODES[code].remedy
        assert row.sheet == f"Sheet {row.survey_id}"


def test_the_cases_cover_every_code_that_a_suite_can_raise() -> None:
    from expectations.suites import SUITES

    tried = {code for _, expected in CASES.values() for code, _, _ in expected}
    raised = {each.code for checks in SUITES.values() for each in checks}
    assert raised - tried == {"check-not-run", "file-unreadable"}  # those are below and in test_not_run


def test_a_batch_gives_what_its_surveys_give_alone() -> None:
    for name in ("clean", "tenfold", "no sash"):
        surveys, readings, books = Batch().add(**CASES[name][0]).frames()
        alone = check(surveys, readings, books, today=TODAY)
        assert [(r.code, r.cell) for r in alone.itertuples()] == [each[:2] for each in CASES[name][1]]


def test_the_campaign_bounds_the_dates_on_both_sides() -> None:
    surveys, readings, books = Batch().add().frames()
    day = dt.date(2026, 8, 25)
    for campaign, codes in (
        ((day, day), []),
        ((day + dt.timedelta(1), None), ["date-implausible"]),
        ((None, day - dt.timedelta(1)), ["date-implausible"]),
    ):
        assert check(surveys, readings, books, today=TODAY, campaign=campaign)["code"].tolist() == codes


def test_two_reasons_for_one_code_at_one_cell_are_one_row() -> None:
    batch = Batch().add(
        {"surveyed_on": (dt.date(2027, 8, 25), "25/8/27", "B6")}, drop=("calibration_due", "calibrated_on")
    )
    surveys, readings, books = batch.frames()
    rows = check(
        surveys, readings, books, today=TODAY, campaign=(None, TODAY), severities={"date-implausible": "caution"}
    )
    one = rows[rows["code"] == "date-implausible"]
    assert one["severity"].tolist() == ["caution"]
    assert "in the future" in one["message"].item()
    assert "after the campaign" in one["message"].item()


def test_a_workbook_without_a_sheet_is_a_fault() -> None:
    surveys, readings, _ = Batch().add().frames()
    for sheets in (0, None):
        rows = check(surveys, readings, workbooks(sheets=sheets), today=TODAY)
        assert rows["code"].tolist() == ["file-unreadable"]
        assert rows["workbook"].tolist() == ["amber.xlsx"]
    assert check(surveys, readings, workbooks(sheets=0, status="unreadable"), today=TODAY).empty


SAID = {
    "no date": ("surveyed_on", "date-ambiguous", "B6"),
    "no hood": ("hood", "hood-missing", ""),
    "no sash": ("sash_height", "sash-missing", ""),
    "no unit": ("unit", "unit-unknown", "B11"),
    "no readings": ("", "readings-missing", ""),
    "nothing at all": ("", "layout-ambiguous", "A1:J40"),
    "no calibration": ("calibration_due", "date-ambiguous", "B10"),
    "smoke not done": ("smoke_local", "smoke-unclear", "B15"),
    "odd words on smoke": ("smoke_local", "smoke-unclear", "B15"),
    "a word in the grid": ("", "reading-not-numeric", "D21"),
    "a blank point": ("face", "grid-incomplete", "D21"),
}


def test_what_the_sheets_room_has_said_is_not_said_again() -> None:
    batch = Batch()
    for name in SAID:
        batch.add(**CASES[name][0])
    surveys, readings, books = batch.frames()
    said = problems(*((f"s{i:05d}", *row) for i, row in enumerate(SAID.values())))
    assert check(surveys, readings, books, problems=said, today=TODAY)["code"].tolist() == []
    others = said.assign(survey_id="of another survey")
    assert len(check(surveys, readings, books, problems=others, today=TODAY)) == sum(len(CASES[n][1]) for n in SAID)


def test_the_size_of_a_reading_says_nothing_where_its_unit_is_doubted_already() -> None:
    surveys, readings, _ = Batch().add(**CASES["tenfold"][0]).frames()
    said = problems(("s00000", "unit", "unit-mismatch", "B11"))
    assert check(surveys, readings, None, problems=said, today=TODAY).empty


def test_text_of_a_sheet_is_inert_in_a_message() -> None:
    hostile = "=cmd|' /C calc'!A0\x07\n\u202e" + "x" * 500
    case = with_reading(4, value=None, outcome="not-numeric", written=hostile)
    surveys, readings, books = Batch().add(**case).frames()
    row = check(surveys, readings, books, today=TODAY).iloc[0]
    for text in (row["message"], row["written"]):
        assert text.isprintable()
        assert len(text) < 250


def test_readings_of_two_passes_count_once_as_points() -> None:
    twice = face_readings([[98, 99], [97, 98]])
    again = [reading(f"M{i}", 98, row=r["row"], column=r["column"], pass_number=2) for i, r in enumerate(twice, 1)]
    surveys, readings, books = (
        Batch().add({"reported_mean": 98.0}, readings=twice + again + draft_readings(DRAFTS)).frames()
    )
    assert check(surveys, readings, books, today=TODAY)["code"].tolist() == ["grid-too-coarse"]
