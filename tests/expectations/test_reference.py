"""Five thousand surveys with faults at random against the definitions of the contract, written out in plain pandas.

The reference shares nothing with the suites: it looks at the frames themselves, one definition at a time.
"""

from __future__ import annotations

import datetime as dt
import random
from typing import Any

import numpy as np
import pandas as pd
import pytest

from expectations import check
from tests.expectations.frames import DRAFTS, FACE, TODAY, Batch, draft_readings, face_readings

SURVEYS = 5000
Found = set[tuple[str, str, str]]  # survey, code, field or cell


def random_survey(chance: random.Random) -> dict[str, Any]:
    """Facts that are mostly right, each wrong now and then, independently of the others."""

    def maybe(value: Any, *others: Any) -> Any:
        return chance.choice(others) if chance.random() < 0.12 else value

    face, draft = face_readings(FACE), draft_readings(maybe(DRAFTS, DRAFTS, DRAFTS, [0.06, 0, 0.05]))
    for r in face + draft:
        kind = maybe("number", "blank", "coerced", "not-numeric", "censored", "fast", "negative", "zero", "unitless")
        if chance.random() < 0.7 or kind == "number":
            continue
        changed: dict[str, Any] = {"outcome": kind}
        if kind in ("blank", "not-numeric", "censored"):
            changed |= {"value": None, "written": "x", "bound": 20.0 if kind == "censored" else None}
        elif kind in ("fast", "negative", "zero"):
            changed = {"value": {"fast": 501.0, "negative": -1.0, "zero": 0.0}[kind]}
        elif kind == "unitless":
            changed = {"unit": None}
        r |= changed
    facts = {
        "hood": maybe("D-A1000", None), "surveyed_on": maybe(dt.date(2026, 8, 25), None, dt.date(2026, 11, 2),
        dt.date(2008, 1, 1)), "calibration_due": maybe(dt.date(2027, 2, 1), None, None, dt.date(2026, 8, 24)),
        "calibrated_on": maybe(dt.date(2026, 2, 1), None, dt.date(2026, 9, 1), dt.date(2024, 2, 1)),
        "sash_height": maybe(18.0, None, 0.0, 16.9, 19.1, 31.5, 61.0),
        "opening_width": maybe(36.0, None, None, 37.1, 34.0, 90.0),
        "opening_height": maybe(30.0, None, 18.0, 28.0), "instrument_id": maybe("TA-31", None),
        "instrument_kind": maybe("thermal", "vane", "pitot", None), "smoke_local": maybe("captured", None),
        "smoke_gross": maybe("captured", None), "reported_mean": maybe(97.8, 97.83, 98.0, 97.7, None),
    }  # fmt: skip
    register = {"opening_width_in": maybe(36.0, None), "working_sash_in": maybe(18.0, None),
                "sash_type": maybe("vertical", "horizontal", None), "room": maybe("110", "111", None)}  # fmt: skip
    return {
        "facts": facts, "register": register, "hood_id": maybe("D-A1000", None),
        "readings": maybe(face, []) + maybe(draft, []),
    }  # fmt: skip


@pytest.fixture(scope="module")
def frames() -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    chance = random.Random(20261101)
    batch = Batch()
    for _ in range(SURVEYS):
        batch.add(**random_survey(chance))
    return batch.frames()


def reference(s: pd.DataFrame, r: pd.DataFrame) -> dict[str, set[str]]:
    """code -> the surveys at fault, by the contract's definitions."""
    day, known = s["surveyed_on"], s["hood_id"].notna()
    face, draft = r[r["kind"] == "face"], r[r["kind"] == "cross-draft"]
    filled_face, filled_draft = face[face["outcome"] != "blank"], draft[draft["outcome"] != "blank"]
    has_face, has_draft = s["survey_id"].isin(filled_face["survey_id"]), s["survey_id"].isin(filled_draft["survey_id"])
    sash, sash_due = s["sash_height_in"], s["register_sash_type"] != "horizontal"
    full = np.fmax(s["opening_height_in"], s["register_opening_height_in"].astype(float))
    width = s["opening_width_in"].fillna(s["register_opening_width_in"].astype(float))
    height = sash.where(sash.notna() | sash_due, full)
    points = s["survey_id"].map(face.groupby("survey_id").size())
    smoke = s["smoke_local"].notna() | s["smoke_gross"].notna()
    year_after = s["calibrated_on"].map(lambda d: d if pd.isna(d) else d.replace(year=d.year + 1))
    implausible_day = (day > pd.Timestamp(TODAY)) | (day < s["register_installed_on"])
    sound = day.where(~implausible_day)
    implausible_sash = (sash <= 0) | (sash > 60) | (sash > full + 1)
    masks = {
        "hood-missing": s["hood"].isna() & ~known,
        "hood-unknown": s["hood"].notna() & ~known,
        "place-differs": s["register_room"].notna() & (s["room"] != s["register_room"]),
        "date-missing": day.isna(),
        "date-implausible": implausible_day,
        "readings-missing": ~has_face,
        "cross-draft-missing": ~has_draft,
        "smoke-missing": ~smoke,
        "instrument-missing": s["instrument_id"].isna(),
        "instrument-unsuited": ((s["instrument_kind"] == "pitot") & has_face)
        | ((s["instrument_kind"] == "vane") & has_draft),
        "calibration-expired": (s["calibration_due"] < sound) | (s["calibrated_on"] > sound),
        "calibration-missing": s["calibration_due"].isna() & (s["calibrated_on"].isna() | (year_after < sound)),
        "sash-missing": sash.isna() & sash_due,
        "sash-implausible": implausible_sash,
        "sash-differs": (sash - s["register_working_sash_in"].astype(float)).abs().gt(1 + 1e-9) & ~implausible_sash,
        "opening-differs": ((s["opening_width_in"] - s["register_opening_width_in"].astype(float)).abs() > 1 + 1e-9)
        | (
            ((s["opening_height_in"] - s["register_opening_height_in"].astype(float)).abs() > 1)
            & ~((s["opening_height_in"] - sash).abs() <= 1)
            & ~((s["opening_height_in"] - s["register_working_sash_in"].astype(float)).abs() <= 1)
        ),
        "opening-missing": known & (width.isna() | (height.isna() & ~sash_due)),
        "unit-mismatch": _cannot_be(s, face, draft),
        "grid-too-coarse": (width * height / 144 / points > 1 + 1e-9) & ~implausible_sash,
    }
    return {code: set(s.loc[mask.fillna(False).astype(bool), "survey_id"]) for code, mask in masks.items()}


def _cannot_be(s: pd.DataFrame, face: pd.DataFrame, draft: pd.DataFrame) -> pd.Series:
    """All moving cross-drafts above 500 or below 1 ft/min, or half of a moving face below 5: all here are in ft/min."""
    moving = draft[draft["velocity_fpm"] > 0].groupby("survey_id")["velocity_fpm"]
    median = s["survey_id"].map(face.groupby("survey_id")["velocity_fpm"].median())
    low, high = s["survey_id"].map(moving.min()), s["survey_id"].map(moving.max())
    return (low > 500) | (high < 1) | ((median > 0) & (median < 5))


def reference_of_readings(r: pd.DataFrame) -> dict[str, set[tuple[str, str]]]:
    """code -> (survey, cell) at fault."""
    face = r["kind"] == "face"
    group = [r["survey_id"], r["kind"]]
    any_filled = r["outcome"].ne("blank").groupby(group).transform("max").astype(bool)
    flowing = r["survey_id"].isin(r.loc[face & (r["value"] > 0), "survey_id"])
    masks = {
        "grid-incomplete": face & (r["outcome"] == "blank") & any_filled,
        "reading-not-numeric": r["outcome"] == "not-numeric",
        "reading-coerced": r["outcome"] == "coerced",
        "reading-censored": r["outcome"] == "censored",
        "reading-implausible": (r["value"] < 0)
        | (face & (r["velocity_fpm"] > 500))
        | (face & (r["value"] == 0) & flowing),
    }
    return {code: set(zip(r.loc[m, "survey_id"], r.loc[m, "cell"], strict=True)) for code, m in masks.items()}


@pytest.fixture(scope="module")
def found(frames: tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]) -> pd.DataFrame:
    return check(*frames, today=TODAY)


def test_surveys_at_fault_are_those_of_the_reference(frames: Any, found: pd.DataFrame) -> None:
    surveys, readings, _ = frames
    blank_draft = readings[(readings["kind"] == "cross-draft") & (readings["outcome"] == "blank")]
    for code, expected in reference(surveys, readings).items():
        rows = found[found["code"] == code]
        if code == "cross-draft-missing":  # single points left out are rows of their own, with their cell
            rows = rows[rows["field"] == "cross_draft"]
        assert set(rows["survey_id"]) == expected, code
        assert len(expected) > 5, f"{code} was hardly tried"
    points = found[(found["code"] == "cross-draft-missing") & (found["field"] == "reading")]
    assert set(points["survey_id"]) <= set(blank_draft["survey_id"])


def test_readings_at_fault_are_those_of_the_reference(frames: Any, found: pd.DataFrame) -> None:
    for code, expected in reference_of_readings(frames[1]).items():
        rows = found[found["code"] == code]
        assert set(zip(rows["survey_id"], rows["cell"], strict=True)) == expected, code
        assert len(rows) == len(expected), code
        assert len(expected) > 20, f"{code} was hardly tried"


def test_units_and_means_are_those_of_the_reference(frames: Any, found: pd.DataFrame) -> None:
    surveys, readings, _ = frames
    valued = readings[readings["value"].notna() | readings["bound"].notna()]
    without = valued[valued["unit"].isna()]
    unit = found[found["code"] == "unit-missing"]
    assert set(unit["survey_id"]) == set(without["survey_id"])
    assert len(unit) == len(without.drop_duplicates(["survey_id", "kind"]))

    face = readings[readings["kind"] == "face"]
    whole = face.groupby("survey_id")["velocity_fpm"].agg(["mean", "count", "size"])
    whole = whole[whole["count"] == whole["size"]]
    own = surveys.set_index("survey_id")["reported_mean"]
    half = {97.8: 0.05, 97.7: 0.05, 97.83: 0.005, 98.0: 0.05}  # written '98.0'
    expected = {
        name for name, mean in whole["mean"].items() if pd.notna(own[name]) and abs(own[name] - mean) > half[own[name]]
    }
    assert set(found.loc[found["code"] == "reported-mean-differs", "survey_id"]) == expected
    assert len(expected) > 20


def test_nothing_else_was_found(found: pd.DataFrame, frames: Any) -> None:
    tried = set(reference(*frames[:2])) | set(reference_of_readings(frames[1]))
    assert set(found["code"]) - tried == {"unit-missing", "reported-mean-differs"}
    assert not found.duplicated(["survey_id", "cell", "field", "code"]).any()


def test_chunks_change_nothing(frames: Any, found: pd.DataFrame) -> None:
    key = ["survey_id", "code", "field", "cell"]
    again = check(*frames, today=TODAY, chunk=1700)
    pd.testing.assert_frame_equal(again.sort_values(key, ignore_index=True), found.sort_values(key, ignore_index=True))
