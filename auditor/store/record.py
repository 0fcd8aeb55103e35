"""Recording a batch: facts are added once, judgements are replaced per survey, all inside the caller's transaction."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from itertools import count

import numpy as np
import pandas as pd
import sqlalchemy as sa
from sqlalchemy.engine import Connection

from auditor.store import bulk, contract, judged, log
from auditor.store import tables as t
from auditor.store.batch import Batch, FileRecord, Recorded
from auditor.store.frames import columns_of, field_texts, storable

_SURVEY = ("survey_id", "sheet", "place", "grid_rows", "grid_columns")
_SURVEY_KINDS = {**dict.fromkeys(("survey_id", "workbook_sha256", "sheet", "place"), "text"),
                 "grid_rows": "int", "grid_columns": "int"}  # fmt: skip
_PROBLEM_KINDS = dict.fromkeys(("survey_id", "workbook_sha256", *log.PROBLEM), "text")


def record(connection: Connection, batch: Batch, vanished: str) -> Recorded:
    """Adds what is new in `batch`. A file that the store already has leaves a `repeat` arrival and nothing else."""
    known = file_numbers(connection, [file.sha256 for file in batch.files])
    done = Recorded()
    numbers = _add_files(connection, batch.files, known, done)
    new_files = {sha256: numbers[sha256] for sha256 in done.new}
    _add_sheets(connection, batch.sheets, new_files)
    surveys = _rows_of(batch.surveys, "workbook_sha256", new_files)
    digests = _add_facts(connection, surveys, batch, new_files)
    _log_files(connection, batch, new_files, digests)
    judged.replace(connection, batch, leave_alone=set(done.repeats), new=set(done.new), vanished=vanished)
    return done


def file_numbers(connection: Connection, sha256s: Iterable[str]) -> dict[str, int]:
    """The numbers of those files that the store has."""
    f, found = t.fact_file.c, {}
    for part in bulk.chunks(sha256s):
        found.update(dict(connection.execute(sa.select(f.sha256, f.file_no).where(f.sha256.in_(part))).tuples().all()))
    return found


def now() -> str:
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")


def _add_files(
    connection: Connection, files: list[FileRecord], known: dict[str, int], done: Recorded
) -> dict[str, int]:
    numbers = dict(known)
    file_no = count(bulk.numbers(connection, t.fact_file, "file_no"))
    arrival_no = count(bulk.numbers(connection, t.fact_arrival, "arrival_no"))
    arrivals = []
    for file in files:
        repeat = file.sha256 in numbers
        name, path = storable(file.name), storable(file.path)
        if not repeat:
            numbers[file.sha256] = next(file_no)
            packing, data = log.packed(file.data)
            connection.execute(
                t.fact_file.insert().values(
                    file_no=numbers[file.sha256], sha256=file.sha256, workbook=name, packing=packing, data=data
                )
            )
        if file.sha256 not in done.new:
            (done.repeats if repeat else done.new).append(file.sha256)
        status, reason = (
            ("repeat", "the same bytes are already in the record") if repeat else (file.status, file.reason)
        )
        number = numbers[file.sha256]
        arrivals.append((next(arrival_no), number, name, path, file.received_at or now(), status, storable(reason)))
    names = ("arrival_no", "file_no", "workbook", "path", "received_at", "status", "reason")
    bulk.insert(connection, t.fact_arrival, names, arrivals)
    return numbers


def _rows_of(frame: pd.DataFrame | None, column: str, files: dict[str, int]) -> pd.DataFrame | None:
    """The rows that belong to new files."""
    if frame is None or frame.empty:
        return None
    return frame[frame[column].isin(list(files))]


def _add_sheets(connection: Connection, sheets: pd.DataFrame | None, files: dict[str, int]) -> None:
    chosen = _rows_of(sheets, "sha256", files)
    kinds = dict.fromkeys(("sha256", "sheet", "outcome", "reason"), "text")
    position: dict[str, int] = defaultdict(int)
    rows = []
    for sha256, *account in zip(*columns_of(chosen, kinds), strict=True):
        position[sha256] += 1
        rows.append((files[sha256], position[sha256], *account))
    bulk.insert(connection, t.fact_sheet, ("file_no", "sheet_no", "sheet", "outcome", "reason"), rows)


def _add_facts(
    connection: Connection, surveys: pd.DataFrame | None, batch: Batch, files: dict[str, int]
) -> dict[str, tuple[str, int, int]]:
    """Surveys, readings and problems as written. Per file: digest, number of surveys, number of readings."""
    per_file: dict[str, list] = {sha256: [] for sha256 in files}
    survey_no = count(bulk.numbers(connection, t.fact_survey, "survey_no"))
    numbers: dict[str, int] = {}
    rows = []
    if surveys is not None:
        facts = list(zip(*columns_of(surveys, _SURVEY_KINDS), field_texts(surveys), strict=True))
        for survey_id, sha256, *rest in facts:
            numbers[survey_id] = number = next(survey_no)
            rows.append((number, files[sha256], survey_id, *rest))
            per_file[sha256].append((survey_id, *rest))
    names = ("survey_no", "file_no", *_SURVEY, "fields")
    bulk.insert(connection, t.fact_survey, names, rows)
    readings = _add_readings(connection, batch.readings, numbers)
    problems = _add_problems(connection, batch.problems, files, numbers)
    return {
        sha256: (
            log.workbook_digest(((s, readings.get(s[0], ())) for s in found), problems.get(sha256, ())),
            len(found),
            sum(len(readings.get(s[0], ())) for s in found),
        )
        for sha256, found in per_file.items()
    }


def _add_readings(
    connection: Connection, readings: pd.DataFrame | None, numbers: dict[str, int]
) -> dict[str, list[tuple]]:
    """Adds the readings of new surveys; gives their facts per survey, in order."""
    if readings is None or readings.empty or not numbers:
        return {}
    survey_no = readings["survey_id"].map(numbers).to_numpy(dtype=float, na_value=np.nan)
    order = np.argsort(survey_no, kind="stable")[
        : int(np.isfinite(survey_no).sum())
    ]  # those of other surveys come last
    chosen, survey_no = readings.iloc[order], survey_no[order].astype(np.int64)
    found, start, size = np.unique(survey_no, return_index=True, return_counts=True)
    reading_no = np.arange(len(survey_no)) - np.repeat(start, size) + 1
    facts = columns_of(chosen, contract.READING_FACTS)
    derived = columns_of(chosen, {"velocity_fpm": "float", "bound_fpm": "float"})
    names = ("survey_no", "reading_no", *contract.READING_FACTS, "velocity_fpm", "bound_fpm")
    rows = zip(
        survey_no.tolist(), reading_no.tolist(), *facts, *derived, strict=True
    )  # in the order of the table's key
    bulk.insert(connection, t.fact_reading, names, rows)
    every = list(zip(*facts, strict=True))
    name_of = {number: survey_id for survey_id, number in numbers.items()}
    places = zip(found.tolist(), start.tolist(), size.tolist(), strict=True)
    return {name_of[number]: every[at : at + many] for number, at, many in places}


def _add_problems(
    connection: Connection, problems: pd.DataFrame | None, files: dict[str, int], numbers: dict[str, int]
) -> dict[str, list[tuple]]:
    per_file: dict[str, list[tuple]] = defaultdict(list)
    chosen = _rows_of(problems, "workbook_sha256", files)
    problem_no = count(bulk.numbers(connection, t.fact_problem, "problem_no"))
    rows = []
    for survey_id, sha256, *problem in zip(*columns_of(chosen, _PROBLEM_KINDS), strict=True):
        per_file[sha256].append(tuple(problem))
        rows.append((next(problem_no), files[sha256], numbers.get(survey_id), *problem))
    bulk.insert(connection, t.fact_problem, ("problem_no", "file_no", "survey_no", *log.PROBLEM), rows)
    return per_file


def _log_files(connection: Connection, batch: Batch, files: dict[str, int], digests: dict) -> None:
    entries, seen = [], set()
    for file in batch.files:
        if file.sha256 in files and file.sha256 not in seen:
            seen.add(file.sha256)
            found, surveys, readings = digests[file.sha256]
            body = {
                "workbook": storable(file.name),
                "bytes": file.data is not None,
                "digest": found,
                "surveys": surveys,
                "readings": readings,
            }
            entries.append(("workbook", file.sha256, batch.by, file.received_at or now(), body))
    log.append(connection, entries)
