"""Batches made up for the store's tests: an invented campus, figures without meaning."""

from __future__ import annotations

import hashlib

import numpy as np
import pandas as pd

from auditor.store import Batch, FileRecord
from auditor.survey.columns import DATE_FIELDS, DISCREPANCIES, QUANTITY_FIELDS, READINGS, TEXT_FIELDS

HOODS = ["A-101", "A-102", "B-7", "B-8"]


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def register() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "hood_id": HOODS,
            "building": ["Alder", "Alder", "Birch", "Birch"],
            "floor": ["1", "1", "2", "2"],
            "room": ["101", "102", "7", "8"],
            "air_handler": ["AH-1", "AH-1", "AH-2", "AH-2"],
            "working_sash_in": [18.0, 18.0, 18.0, None],
            "interval_months": [12, 12, 6, None],
            "in_service": [True, True, True, False],
            "installed_on": pd.to_datetime(["2015-03-01", None, "2018-08-20", None]),
        }
    )


def surveys(sha256: str, name: str, hoods: list[str], day: str = "2026-03-02") -> pd.DataFrame:
    """As-written and derived columns of one survey per hood."""
    n = len(hoods)
    frame: dict = {
        "survey_id": [f"{sha256[:8]}-{hood}-{day}" for hood in hoods],
        "workbook": [name] * n,
        "workbook_sha256": [sha256] * n,
        "sheet": hoods,
        "place": ["A1:H30"] * n,
    }
    for field in TEXT_FIELDS + DATE_FIELDS + QUANTITY_FIELDS:
        frame |= {field: [None] * n, f"{field}_written": [None] * n, f"{field}_cell": [None] * n}
        if field in QUANTITY_FIELDS:
            frame[f"{field}_unit"] = [None] * n
    frame |= {"hood": hoods, "hood_written": [f" {hood} " for hood in hoods], "hood_cell": ["B2"] * n}
    frame |= {"unit": ["ft/min"] * n, "unit_written": ["fpm"] * n, "unit_cell": ["C9"] * n}
    frame |= {
        "surveyed_on": pd.to_datetime([day] * n),
        "surveyed_on_written": [day] * n,
        "surveyed_on_cell": ["B3"] * n,
    }
    frame |= {"sash_height": [457.2] * n, "sash_height_written": ["457.2 mm"] * n, "sash_height_cell": ["B4"] * n}
    frame |= {"sash_height_unit": ["mm"] * n, "building": ["Alder hall"] * n, "contractor": ["Amber"] * n}
    frame |= {"grid_rows": [2.0] * n, "grid_columns": [3.0] * n}
    frame |= {"hood_id": hoods, "register_building": ["Alder"] * n, "register_floor": ["1"] * n}
    frame |= {"sash_height_in": [18.0] * n, "face_points": [6] * n, "face_mean_fpm": [100.5] * n}
    frame |= {"grid_fingerprint": [f"print-{hood}" for hood in hoods], "status": ["accepted"] * n}
    return pd.DataFrame(frame)


def readings(frame: pd.DataFrame, seed: int = 1) -> pd.DataFrame:
    """Six face readings and a blank cell per survey, in ft/min."""
    random = np.random.default_rng(seed)
    rows = []
    for survey in frame.itertuples():
        head = (survey.survey_id, survey.workbook, survey.workbook_sha256, survey.sheet)
        for place in range(6):
            value = float(random.integers(900, 1100)) / 10
            row, column = divmod(place, 3)
            cell = f"{'BCD'[column]}{row + 10}"
            rows.append((*head, cell, "face", row + 1.0, column + 1.0, None, None, 1, str(value), value, "number", None,
                         "ft/min", False))  # fmt: skip
        rows.append((*head, "B20", "cross-draft", np.nan, np.nan, "left", "parallel", 1, "<20", None, "censored", 20.0,
                     "ft/min", True))  # fmt: skip
    made = pd.DataFrame(rows, columns=READINGS)
    return made.assign(velocity_fpm=made["value"], bound_fpm=made["bound"])


def discrepancy(survey: pd.Series, code: str, **more) -> dict:
    row = dict.fromkeys(DISCREPANCIES) | {name: survey[name] for name in DISCREPANCIES[:4]}
    return row | {"code": code, "severity": "hold", "message": f"{code}.", "remedy": "Look again."} | more


def verdicts(frame: pd.DataFrame, verdict: str = "pass") -> pd.DataFrame:
    return pd.DataFrame(
        {
            "survey_id": frame["survey_id"],
            "hood_id": frame["hood_id"],
            "profile": "common-practice",
            "profile_version": "1",
            "verdict": verdict,
            "guarded_verdict": "conditional pass",
            "reason": None,
        }
    )


def findings(frame: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "survey_id": frame["survey_id"],
            "hood_id": frame["hood_id"],
            "criterion": "face-mean-low",
            "cell": "B10:D11",
            "outcome": "pass",
            "measured": 100.5,
            "limit": 80.0,
            "unit": "ft/min",
            "margin": 20.5,
        }
    )


def batch(name: str = "amber.xlsx", hoods: list[str] | None = None, day: str = "2026-03-02", **more) -> Batch:
    """One workbook with a survey per hood, judged."""
    data = b"PK" + f"{name}{hoods}{day}".encode()
    sha256 = sha(data)
    frame = surveys(sha256, name, hoods or HOODS[:2], day)
    n = len(frame)
    accounts = {
        "sha256": sha256,
        "sheet": ["Cover", *frame["sheet"]],
        "outcome": ["set aside"] + ["read"] * n,
        "reason": ["a cover"] + [None] * n,
    }
    shown = {
        "survey_id": [frame["survey_id"][0], None],
        "workbook_sha256": sha256,
        "sheet": frame["sheet"][0],
        "code": ["row-hidden", "sheet-hidden"],
        "cell": ["B10", ""],
        "field": "",
        "written": "",
        "detail": "a plain sentence",
    }
    made = Batch(
        files=[FileRecord(sha256, name, f"/in/{name}", data, "2026-11-16T09:00:00+00:00")],
        sheets=pd.DataFrame(accounts),
        surveys=frame,
        readings=readings(frame),
        problems=pd.DataFrame(shown),
        discrepancies=pd.DataFrame([discrepancy(frame.iloc[0], "smoke-missing", severity="caution", cell="B30")]),
        findings=findings(frame),
        verdicts=verdicts(frame),
        by="analyst",
    )
    for key, value in more.items():
        setattr(made, key, value)
    return made


def values(frame: pd.DataFrame) -> list[tuple]:
    """Rows as plain values, every kind of missing as None: what a round trip has to keep."""
    columns = []
    for name in frame.columns:
        gone = frame[name].isna()
        columns.append([None if lost else value for value, lost in zip(frame[name].tolist(), gone, strict=True)])
    return list(zip(*columns, strict=True))
