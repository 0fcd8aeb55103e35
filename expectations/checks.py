"""The data expectations as the rest of the program uses them: frames in, discrepancies out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from auditor.codes import default_severities
from expectations.errors import CheckNotRun, need
from expectations.prepare import Campaign, prepare_surveys
from expectations.readings import NEEDED as READINGS_NEEDED
from expectations.readings import prepare_readings, silence_misfits
from expectations.report import rows_at_fault, to_frame
from expectations.run import Outcome, run
from expectations.suites import RAN
from expectations.workbooks import prepare_workbooks

if TYPE_CHECKING:
    import pandas as pd

Rows = list[dict[str, Any]]


def check(
    surveys: pd.DataFrame,
    readings: pd.DataFrame,
    workbooks: pd.DataFrame | None,
    *,
    problems: pd.DataFrame | None = None,
    severities: Mapping[str, str] | None = None,
    campaign: Campaign | None = None,
    today: dt.date | None = None,
    chunk: int = 5000,
) -> pd.DataFrame:
    """What is wrong or doubtful in the data of a batch: a frame of DISCREPANCIES (`auditor.survey.columns`).

    surveys: fields as written (`f`, `f_written`, `f_cell`), NORMALISED, hood_id, hood_suggestion (optional),
    `register_*`, COMPUTED. readings: READINGS and READINGS_NORMALISED. workbooks: WORKBOOKS of the files that are new
    (surveys may be of others); None where the question is not about files. problems: survey_id, field, code, cell of
    what the sheets room has said already, which is not said twice. severities: as `auditor.codes.load_severities` gives
    them. campaign: (first day, last day), either None. today: the day after which a survey is in the future. chunk:
    surveys looked at together; it bounds memory and changes no result.

    Never raises for bad data. A check that could not run gives a hold, `check-not-run`, on every survey it concerned.
    """
    known = default_severities() | dict(severities or {})
    today, campaign = today or dt.date.today(), campaign or (None, None)
    rows: Rows = []
    try:
        _need_keys(surveys, readings, problems)
        rows += _strays(surveys, readings)
        for part, its_readings, its_problems in _chunks(surveys, readings, problems, chunk):
            rows += _check_surveys(part, its_readings, its_problems, known, today, campaign)
    except CheckNotRun as error:
        rows = _not_run(surveys, str(error))
    if workbooks is not None:
        rows += _check_workbooks(workbooks, known)
    return to_frame(_unsaid(rows, problems), known)


def _need_keys(surveys: pd.DataFrame, readings: pd.DataFrame, problems: pd.DataFrame | None) -> None:
    need(surveys, ["survey_id"], "surveys")
    need(readings, READINGS_NEEDED, "readings")
    if problems is not None:
        need(problems, ["survey_id", "field", "code"], "problems")


def _chunks(
    surveys: pd.DataFrame, readings: pd.DataFrame, problems: pd.DataFrame | None, size: int
) -> Iterator[tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame | None]]:
    """The frames in parts of `size` surveys, each with its own readings and problems."""
    import pandas as pd

    if len(surveys) <= size:
        yield surveys.reset_index(drop=True), readings[readings["survey_id"].isin(surveys["survey_id"])], problems
        return
    # One pass over each frame: every row gets the number of its survey's part.
    part_of = pd.Series(range(len(surveys)), index=surveys["survey_id"]) // size
    part_of = part_of[~part_of.index.duplicated()]
    number = surveys["survey_id"].map(part_of)
    of_readings = dict(iter(readings.groupby(readings["survey_id"].map(part_of))))
    of_problems = {} if problems is None else dict(iter(problems.groupby(problems["survey_id"].map(part_of))))
    for part, some in surveys.groupby(number, dropna=False):
        yield some.reset_index(drop=True), of_readings.get(part, readings.iloc[:0]), of_problems.get(part)


def _check_surveys(
    surveys: pd.DataFrame,
    readings: pd.DataFrame,
    problems: pd.DataFrame | None,
    severities: dict[str, str],
    today: dt.date,
    campaign: Campaign,
) -> Rows:
    if surveys.empty:
        return []
    try:
        r = prepare_readings(readings.reset_index(drop=True), surveys)
        p = prepare_surveys(surveys, r, problems, today, campaign)
        r = silence_misfits(r, _misfits(p, problems))
        of_surveys, of_readings = run("surveys", p, severities), run("readings", r, severities)
        rows = rows_at_fault(of_surveys, p, "surveys", r) + rows_at_fault(of_readings, r, "readings")
    except Exception as error:  # noqa: BLE001 - a check that fails must be heard, whatever made it fail
        return _not_run(surveys, f"{type(error).__name__}: {error}")
    return rows + _loud(surveys, of_surveys) + _loud(surveys, of_readings)


def _misfits(p: pd.DataFrame, problems: pd.DataFrame | None) -> set[tuple[str, str]]:
    """The readings whose size says nothing, because their unit is wrong: (survey_id, kind)."""
    wrong = ~p["face_fits_unit"] | (p["face_units"] > 1)
    if problems is not None:
        wrong |= p["survey_id"].isin(problems.loc[problems["code"] == "unit-mismatch", "survey_id"])
    return {(name, "face") for name in p.loc[wrong, "survey_id"]}


def _loud(frame: pd.DataFrame, outcome: Outcome) -> Rows:
    reasons: dict[str, list[str]] = {}
    for check, reason in outcome.not_run.items():
        reasons.setdefault(reason, []).append(check.name)
    return [
        row
        for reason, names in reasons.items()
        for row in _not_run(frame, f"{_listed(names)} ({len(names)} in all): {reason}.")
    ]


def _listed(names: list[str], most: int = 3) -> str:
    return ", ".join(f"'{name}'" for name in names[:most]) + (" …" if len(names) > most else "")


def _not_run(frame: pd.DataFrame, reason: str) -> Rows:
    """A hold for every row of `frame`: surveys, or workbooks (`sha256` in place of `workbook_sha256`)."""
    named = {"survey_id": "survey_id", "workbook": "workbook", "workbook_sha256": "workbook_sha256", "sheet": "sheet"}
    if "survey_id" not in frame.columns and "sha256" in frame.columns:
        named["workbook_sha256"] = "sha256"
        named.pop("sheet")
    columns = {key: frame[column].tolist() for key, column in named.items() if column in frame.columns}
    same = {"code": RAN, "field": "", "cell": "", "written": "", "detail": reason}
    blank = dict.fromkeys(named, "") | {"survey_id": "", "sheet": ""}
    return [blank | {key: values[i] for key, values in columns.items()} | same for i in range(len(frame))]


def _strays(surveys: pd.DataFrame, readings: pd.DataFrame) -> Rows:
    """Readings that belong to no survey: one row for each survey_id that is not there."""
    lost = readings[~readings["survey_id"].isin(surveys["survey_id"])]
    if lost.empty:
        return []
    return _not_run(lost.drop_duplicates("survey_id"), "Readings belong to a survey that is not in the batch.")


def _check_workbooks(workbooks: pd.DataFrame, severities: dict[str, str]) -> Rows:
    try:
        w = prepare_workbooks(workbooks)
        outcome = run("workbooks", w, severities)
        rows = rows_at_fault(outcome, w, "workbooks")
    except Exception as error:  # noqa: BLE001 - as above
        return _not_run(workbooks, f"{type(error).__name__}: {error}")
    return rows + _loud(workbooks, outcome)


def _unsaid(rows: Rows, problems: pd.DataFrame | None) -> Rows:
    """Without what the sheets room has said of the same survey in the same words: code, and cell or field."""
    if problems is None or problems.empty:
        return rows
    cells = problems["cell"] if "cell" in problems.columns else [""] * len(problems)
    said = set()
    for survey, code, field, cell in zip(
        problems["survey_id"], problems["code"], problems["field"], cells, strict=True
    ):
        said |= {(survey, code, "cell", cell or None), (survey, code, "field", field or None)}
    return [row for row in rows if not _was_said(row, said)]


def _was_said(row: dict[str, Any], said: set[tuple[Any, ...]]) -> bool:
    start = (row["survey_id"], row["code"])
    by_field = row["field"] not in ("", "reading") and (*start, "field", row["field"]) in said
    return by_field or (bool(row["cell"]) and (*start, "cell", row["cell"]) in said)
