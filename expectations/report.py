"""From rows at fault to rows of the discrepancies table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from auditor.codes import compose, inert
from expectations.details import DETAILS, PLACES, WORDS
from expectations.readings import spans
from expectations.run import Outcome
from expectations.suites import SUITES, Check

if TYPE_CHECKING:
    import pandas as pd

IDENTITY = ["survey_id", "workbook", "workbook_sha256", "sheet"]


def rows_at_fault(
    outcome: Outcome, prepared: pd.DataFrame, suite: str, readings: pd.DataFrame | None = None
) -> list[dict[str, Any]]:
    """One dictionary for each row at fault, in the order of the suite's checks, with `check` and `detail`.

    `readings`, for the suite of surveys: theirs, to name the cells that a fault concerns."""
    rows: list[dict[str, Any]] = []
    for check in SUITES[suite]:
        if check in outcome.failed:
            rows += _rows_of(check, prepared.loc[outcome.failed[check]], suite, readings)
    return rows


def _rows_of(check: Check, faulty: pd.DataFrame, suite: str, readings: pd.DataFrame | None) -> list[dict[str, Any]]:
    details = DETAILS[check.name](faulty) if check.name in DETAILS else [""] * len(faulty)
    if suite == "readings":
        cells, written = faulty["cell"].tolist(), faulty["written"].tolist()
    else:
        cells = _cells(check, faulty, readings)
        written = _column(faulty, WORDS.get(check.name, f"{check.field}_written"))
    same: dict[str, Any] = {"check": check.name, "code": check.code, "field": check.field}
    identity = zip(*(_column(faulty, name) for name in IDENTITY), strict=True)
    return [
        dict(zip(IDENTITY, who, strict=True)) | same | {"cell": cell, "written": words, "detail": detail}
        for who, cell, words, detail in zip(identity, cells, written, details, strict=True)
    ]


def _cells(check: Check, faulty: pd.DataFrame, readings: pd.DataFrame | None) -> list[Any]:
    place = PLACES.get(check.name, f"{check.field}_cell")
    if isinstance(place, str):
        return _column(faulty, place)
    return [None] * len(faulty) if readings is None else spans(readings, faulty["survey_id"], *place)


def _column(frame: pd.DataFrame, name: str) -> list[Any]:
    return frame[name].tolist() if name in frame.columns else [None] * len(frame)


def to_frame(rows: list[dict[str, Any]], severities: dict[str, str]) -> pd.DataFrame:
    """Rows (IDENTITY, cell, field, code, written, detail, optionally `variant`) as a DISCREPANCIES frame.

    Several reasons for one code at one place become one row that gives them all.
    """
    import pandas as pd

    from auditor.survey.columns import DISCREPANCIES

    merged: dict[tuple[Any, ...], dict[str, Any]] = {}
    for row in rows:
        row = {key: _text(value) for key, value in row.items()}
        key = (*(row[name] for name in IDENTITY), row["cell"], row["field"], row["code"], row.get("variant", ""))
        earlier = merged.setdefault(key, row)
        if row["detail"] and row["detail"] not in earlier["detail"]:
            earlier["detail"] = f"{earlier['detail']} {row['detail']}".strip()
    finished = [_finished(row, severities) for row in merged.values()]
    return pd.DataFrame(finished, columns=DISCREPANCIES, dtype=object)


def _text(value: Any) -> str:
    return "" if value is None or value != value else str(value)


def _finished(row: dict[str, Any], severities: dict[str, str]) -> dict[str, Any]:
    variant = row.get("variant", "")
    message, remedy = compose(
        row["code"], written=row["written"], detail=row["detail"], cell=row["cell"], variant=variant
    )
    key = f"{row['code']}/{variant}" if variant else row["code"]
    # A discrepancy of a whole file has no survey: missing, not blank.
    row["survey_id"] = row["survey_id"] or None
    words = {"severity": severities[key], "written": inert(row["written"]), "message": message, "remedy": remedy}
    return {name: row[name] for name in (*IDENTITY, "cell", "field", "code")} | words
