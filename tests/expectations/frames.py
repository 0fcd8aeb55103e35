"""Frames of surveys that have nothing wrong with them, to put one fault into."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pandas as pd

from auditor.stacking import typed_readings, typed_surveys
from auditor.survey.columns import READINGS, REGISTER, WORKBOOKS
from auditor.survey.compute import compute
from auditor.survey.normalise import normalise

TODAY = dt.date(2026, 11, 1)
DIGEST = "ab" * 32

FACTS: dict[str, tuple[Any, str, str]] = {
    "hood": ("D-A1000", "D-A1000", "B2"),
    "building": ("Alder Building", "Alder Building", "B3"),
    "floor": ("1", "1", "B4"),
    "room": ("110", "110", "B5"),
    "surveyed_on": (dt.date(2026, 8, 25), "2026-08-25", "B6"),
    "instrument_id": ("TA-31", "TA-31", "B7"),
    "instrument_kind": ("thermal", "Thermal anemometer", "B8"),
    "calibrated_on": (dt.date(2026, 2, 1), "2026-02-01", "B9"),
    "calibration_due": (dt.date(2027, 2, 1), "2027-02-01", "B10"),
    "unit": ("ft/min", "fpm", "B11"),
    "sash_height": (18.0, "18", "B12"),
    "opening_width": (36.0, "36", "B13"),
    "opening_height": (30.0, "30", "B14"),
    "smoke_local": ("captured", "captured", "B15"),
    "smoke_gross": ("captured", "captured", "B16"),
    "reported_mean": (97.8, "97.8", "B17"),
    "reported_verdict": ("Pass", "Pass", "B18"),
}
OWN_REGISTER: dict[str, Any] = {
    "building": "Alder Building", "floor": "1", "room": "110", "hood_type": "general chemical",
    "opening_width_in": 36.0, "opening_height_in": 30.0, "working_sash_in": 18.0,
    "installed_on": dt.date(2009, 6, 1), "sash_type": "vertical", "in_service": True,
}  # fmt: skip
FACE = [[98, 101, 95], [99, 96, 98]]  # mean 97.8333
DRAFTS = [12, 0, 9]


def reading(cell: str, value: Any, kind: str = "face", **more: Any) -> dict[str, Any]:
    plain = {"cell": cell, "kind": kind, "written": str(value), "value": float(value), "outcome": "number",
             "unit": "ft/min", "pass_number": 1, "hidden": False}  # fmt: skip
    return plain | more


def face_readings(grid: list[list[Any]], unit: str | None = "ft/min") -> list[dict[str, Any]]:
    return [
        reading(f"{'CDEFGHIJ'[j]}{20 + i}", value, row=i + 1, column=j + 1, unit=unit)
        for i, line in enumerate(grid)
        for j, value in enumerate(line)
    ]


def draft_readings(values: list[Any], unit: str | None = "ft/min") -> list[dict[str, Any]]:
    return [reading(f"{'CDEFG'[j]}30", value, "cross-draft", unit=unit) for j, value in enumerate(values)]


class Batch:
    """One or many surveys with their readings, from facts; computed by the program's own stages."""

    def __init__(self) -> None:
        self.surveys: list[dict[str, Any]] = []
        self.readings: list[dict[str, Any]] = []

    def add(
        self, facts: dict[str, Any] | None = None, register: dict[str, Any] | None = None,
        readings: list[dict[str, Any]] | None = None, hood_id: str | None = "D-A1000", suggestion: str | None = None,
        units: dict[str, str | None] | None = None, drop: tuple[str, ...] = (),
    ) -> Batch:  # fmt: skip
        """`facts`: name -> value, or (value, written, cell); a plain None takes the fact out, as `drop` does."""
        name = f"s{len(self.surveys):05d}"
        row: dict[str, Any] = {"survey_id": name, "workbook": "amber.xlsx", "workbook_sha256": DIGEST,
                               "sheet": f"Sheet {name}", "place": "A1:J40"}  # fmt: skip
        for key, (value, written, cell) in FACTS.items():
            row |= {key: value, f"{key}_written": written, f"{key}_cell": cell}
        row |= {"sash_height_unit": "in", "opening_width_unit": "in", "opening_height_unit": "in"}
        row |= {f"{key}_unit": unit for key, unit in (units or {}).items()}
        for key, fact in (facts or {}).items():
            given = fact if isinstance(fact, tuple) else (fact, None if fact is None else str(fact), f"Z{len(key)}")
            row |= dict(zip((key, f"{key}_written", f"{key}_cell"), given, strict=True))
        for key in drop:
            row |= {key: None, f"{key}_written": None, f"{key}_cell": None}
        own = (OWN_REGISTER | (register or {})) if hood_id else {}
        row |= {f"register_{key}": own.get(key) for key in REGISTER}
        row |= {"hood_id": hood_id, "hood_suggestion": suggestion}
        self.surveys.append(row)
        given_readings = face_readings(FACE) + draft_readings(DRAFTS) if readings is None else readings
        where = {key: row[key] for key in ("survey_id", "workbook", "workbook_sha256", "sheet")}
        self.readings += [where | r for r in given_readings]
        return self

    def frames(self) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
        from auditor.stacking import survey_columns

        extra = ["hood_id", "hood_suggestion", *(f"register_{name}" for name in REGISTER)]
        raw = pd.DataFrame(self.surveys, columns=[*survey_columns(), *extra])
        raw["register_installed_on"] = pd.to_datetime(raw["register_installed_on"])
        surveys = typed_surveys(raw[survey_columns()]).join(raw[extra])
        readings = typed_readings(pd.DataFrame(self.readings, columns=READINGS))
        surveys, readings = normalise(surveys, readings)
        return compute(surveys, readings), readings, workbooks()


def workbooks(**changed: Any) -> pd.DataFrame:
    row = {"workbook": "amber.xlsx", "sha256": DIGEST, "path": "amber.xlsx", "received_at": "2026-11-01T08:00:00",
           "status": "read", "reason": "", "sheets": 1, "surveys": 1, "held": 0}  # fmt: skip
    return pd.DataFrame([row | changed], columns=WORKBOOKS)


def problems(*rows: tuple[str, str, str, str]) -> pd.DataFrame:
    """(survey_id, field, code, cell) each."""
    return pd.DataFrame(rows, columns=["survey_id", "field", "code", "cell"])
