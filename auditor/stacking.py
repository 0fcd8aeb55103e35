"""Lays the surveys of many workbooks on one another: from sheets as understood to the two frames of the core.

The frames are those of `auditor.survey.columns`. Beside them go the problems that the sheets themselves showed, and
an account of every sheet. Nothing is computed and nothing left out.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from auditor.sheets.model import Field, Problem, SheetAccount, SurveyAsWritten
from auditor.survey.columns import DATE_FIELDS, IDENTITY, QUANTITY_FIELDS, READINGS, SHAPE, WRITTEN_FIELDS

if TYPE_CHECKING:
    import pandas as pd

PROBLEMS = ["survey_id", "workbook", "workbook_sha256", "sheet", "cell", "field", "code", "written", "detail"]
SHEETS = ["workbook_sha256", "sheet", "outcome", "reason", "surveys"]


def survey_columns() -> list[str]:
    """Every column of the surveys frame before anything is computed."""
    columns = list(IDENTITY)
    for name in WRITTEN_FIELDS:
        columns += [name, f"{name}_written", f"{name}_cell"]
        if name in QUANTITY_FIELDS:
            columns.append(f"{name}_unit")
    return columns + SHAPE


def survey_id(sha256: str, sheet: str, place: str) -> str:
    """The name a survey keeps for ever: from its workbook's bytes, its sheet and its place on the sheet."""
    return hashlib.sha256(f"{sha256}\n{sheet}\n{place}".encode()).hexdigest()[:20]


@dataclass
class Rows:
    """Rows of many sheets as plain Python values: cheap to gather and to send between processes."""

    surveys: list[dict[str, Any]] = field(default_factory=list)
    readings: list[tuple[Any, ...]] = field(default_factory=list)
    problems: list[tuple[Any, ...]] = field(default_factory=list)
    sheets: list[tuple[Any, ...]] = field(default_factory=list)

    def extend(self, other: Rows) -> None:
        self.surveys += other.surveys
        self.readings += other.readings
        self.problems += other.problems
        self.sheets += other.sheets


def rows_of(accounts: list[SheetAccount], workbook: str, sha256: str) -> Rows:
    """The rows of one workbook's sheets."""
    rows = Rows()
    for account in accounts:
        rows.sheets.append((sha256, account.sheet, account.outcome, account.reason, len(account.surveys)))
        rows.problems += [_problem_row(p, None, workbook, sha256, account.sheet) for p in account.problems]
        for survey in account.surveys:
            _add_survey(rows, survey, workbook, sha256)
    return rows


def _add_survey(rows: Rows, survey: SurveyAsWritten, workbook: str, sha256: str) -> None:
    name = survey_id(sha256, survey.sheet, survey.place)
    row: dict[str, Any] = {
        "survey_id": name, "workbook": workbook, "workbook_sha256": sha256, "sheet": survey.sheet,
        "place": survey.place, "grid_rows": survey.grid_rows, "grid_columns": survey.grid_columns,
    }  # fmt: skip
    for key, value in survey.fields.items():
        _add_field(row, key, value)
    rows.surveys.append(row)
    rows.readings += [
        (
            name, workbook, sha256, survey.sheet, r.cell, r.kind, r.row, r.column, r.position, r.direction,
            r.pass_number, r.written, r.value, r.outcome, r.bound, r.unit, r.hidden,
        )
        for r in survey.readings
    ]  # fmt: skip
    rows.problems += [_problem_row(p, name, workbook, sha256, survey.sheet) for p in survey.problems]


def _add_field(row: dict[str, Any], key: str, value: Field) -> None:
    row[key], row[f"{key}_written"], row[f"{key}_cell"] = value.value, value.written, value.cell
    if key in QUANTITY_FIELDS:
        row[f"{key}_unit"] = value.unit


def _problem_row(p: Problem, survey: str | None, workbook: str, sha256: str, sheet: str) -> tuple[Any, ...]:
    return (survey, workbook, sha256, sheet, p.cell, p.field, p.code, p.written, p.detail)


def frames_of(rows: Rows) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """(surveys, readings, problems, sheets) as frames, with every column there and typed even when empty."""
    import pandas as pd

    surveys = typed_surveys(pd.DataFrame(rows.surveys, columns=survey_columns()))
    readings = typed_readings(pd.DataFrame(rows.readings, columns=READINGS))
    problems = pd.DataFrame(rows.problems, columns=PROBLEMS)
    return surveys, readings, problems, pd.DataFrame(rows.sheets, columns=SHEETS)


def typed_surveys(surveys: pd.DataFrame) -> pd.DataFrame:
    """The same frame with dates as datetime64, quantities and shape as float, everything else as objects."""
    import pandas as pd

    typed = {
        column: surveys[column].astype(object).where(surveys[column].notna(), None)
        for column in surveys.columns
        if column not in DATE_FIELDS and column not in QUANTITY_FIELDS and column not in SHAPE
    }
    typed |= {
        column: pd.to_datetime(surveys[column], errors="coerce").astype("datetime64[s]").dt.normalize()
        for column in DATE_FIELDS
    }
    typed |= {column: surveys[column].astype(float) for column in [*QUANTITY_FIELDS, *SHAPE]}
    return pd.DataFrame(typed, index=surveys.index)[list(surveys.columns)]


def typed_readings(readings: pd.DataFrame) -> pd.DataFrame:
    numbers = ["row", "column", "value", "bound", "pass_number"]
    return readings.astype(dict.fromkeys(numbers, float)).astype({"hidden": bool})
