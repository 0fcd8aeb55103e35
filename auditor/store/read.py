"""Reading the record: the public tables, facts as they were written, and what cross-survey checks look up."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import pandas as pd
import sqlalchemy as sa
from sqlalchemy.engine import Connection

from auditor.store import bulk, contract, log
from auditor.store import tables as t
from auditor.store.frames import canonical, typed_frame, written_frame
from auditor.survey.columns import READINGS

# Rows come in an order that does not change from one reading to the next.
_ORDER = {
    "register": "hood_id",
    "workbooks": "workbook, sha256, status, path",
    "surveys": "workbook, workbook_sha256, sheet, survey_id",
    "readings": "",  # in the order of the table behind: sorting a million rows is not free
    "discrepancies": "workbook, workbook_sha256, sheet, survey_id, cell, field, code, discrepancy_id",
    "findings": "survey_id, criterion",
    "verdicts": "survey_id",
}
_PART = 50_000  # rows taken from the driver at a time
_HEAD = dict.fromkeys(READINGS[:4], "text")
OCCASION = {
    "survey_id": "text", "workbook": "text", "workbook_sha256": "text", "sheet": "text", "hood_id": "text",
    "surveyed_on": "date", "sash_height_in": "float", "grid_fingerprint": "text", "contractor": "text",
    "face_mean_fpm": "float", "status": "text",
}  # fmt: skip
PROBLEMS = dict.fromkeys(("survey_id", "workbook", "workbook_sha256", *log.PROBLEM), "text")
SHEETS = dict.fromkeys(("workbook", "sha256", "sheet", "outcome", "reason"), "text")


def table(connection: Connection, name: str, filters: Mapping[str, Any]) -> pd.DataFrame:
    """A public table, columns as in the contract; `filters` are column = value, or column = list of values."""
    if name not in contract.TABLES:
        raise ValueError(f"there is no table {name!r}; there are {', '.join(contract.TABLES)}")
    kinds = contract.TABLES[name]
    view = sa.table(name, *(sa.column(column) for column in kinds))
    query = sa.select(view)
    long: tuple[str, list] | None = None
    for column, value in filters.items():
        if column not in kinds:
            raise ValueError(f"the table {name} has no column {column!r}; it has {', '.join(kinds)}")
        values = [_sql(one) for one in value] if _is_many(value) else [_sql(value)]
        if len(values) > 1000 and long is None:
            long = (column, values)
        elif values == [None]:
            query = query.where(view.c[column].is_(None))
        else:
            query = query.where(view.c[column].in_(values))
    if order := _ORDER[name]:
        query = query.order_by(sa.text(order))
    if long is None:
        return _fetched(connection, [query], kinds)
    column, values = long
    return _fetched(connection, (query.where(view.c[column].in_(p)) for p in bulk.chunks(dict.fromkeys(values))), kinds)


def _fetched(connection: Connection, queries: Iterable[sa.Select], kinds: dict[str, str]) -> pd.DataFrame:
    """All rows of the queries as one frame, taken in parts: rows as objects cost ten times what columns do."""
    parts = [typed_frame(rows, kinds, empty_is_missing=True) for query in queries for rows in _rows(connection, query)]
    return pd.concat(parts, ignore_index=True) if parts else typed_frame([], kinds)


def _rows(connection: Connection, query: sa.Select) -> Iterator[Sequence[tuple]]:
    """The rows of a query in parts, as the driver gives them: its own tuples take half the time of named rows."""
    result = connection.execute(query)
    assert result.cursor is not None
    while rows := result.cursor.fetchmany(_PART):
        yield rows
    result.close()


def _is_many(value: Any) -> bool:
    return isinstance(value, Iterable) and not isinstance(value, str | bytes)


def _sql(value: Any) -> Any:
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    if isinstance(value, dt.date):
        return value.isoformat()
    return value.item() if hasattr(value, "item") else value


def query(connection: Connection, statement: Any, parameters: Mapping[str, Any] | None) -> pd.DataFrame:
    """The rows of a SELECT (text with :names, or SQLAlchemy) as a frame."""
    result = connection.execute(sa.text(statement) if isinstance(statement, str) else statement, parameters or {})
    return pd.DataFrame(result.all(), columns=list(result.keys()))


def facts(connection: Connection, survey_ids: Sequence[str] | None) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Surveys and readings exactly as they were recorded (as-written columns of `auditor.survey.columns`), in the
    order in which they came; of all surveys where none are named."""
    s, f = t.fact_survey.c, t.fact_file.c
    order = [s.survey_no]
    surveys = sa.select(
        s.survey_no, s.survey_id, f.workbook, f.sha256, s.sheet, s.place, s.grid_rows, s.grid_columns, s.fields
    ).join_from(t.fact_survey, t.fact_file, s.file_no == f.file_no)
    rows = _by_survey(connection, surveys, survey_ids, order)
    head = {row[0]: tuple(row[1:5]) for row in rows}
    return written_frame([row[1:] for row in rows]), _readings(connection, survey_ids, head)


def _readings(connection: Connection, survey_ids: Sequence[str] | None, head: Mapping[int, tuple]) -> pd.DataFrame:
    """The readings of surveys whose number, id, workbook, SHA-256 and sheet are in `head`, in that order."""
    r = t.fact_reading.c
    query = sa.select(r.survey_no, *(r[name] for name in contract.READING_FACTS)).order_by(r.survey_no, r.reading_no)
    queries = [query]
    if survey_ids is not None:
        queries = [query.where(r.survey_no.in_(part)) for part in bulk.chunks(sorted(head))]
    kinds = {"survey_no": "int", **contract.READING_FACTS, "row": "float", "column": "float"}  # missing is NaN
    parts = [typed_frame(rows, kinds) for one in queries for rows in _rows(connection, one)]
    frame = pd.concat(parts, ignore_index=True) if parts else typed_frame([], kinds)
    heads = typed_frame([(number, *texts) for number, texts in head.items()], {"survey_no": "int", **_HEAD})
    place = pd.Index(heads["survey_no"]).get_indexer(frame["survey_no"])
    for name in _HEAD:
        frame[name] = heads[name].array.take(place)
    frame["hidden"] = frame["hidden"].fillna(0).astype(bool)
    frame["pass_number"] = frame["pass_number"].fillna(1).astype("int64")
    return frame[READINGS]


def _by_survey(connection: Connection, query: sa.Select, survey_ids: Sequence[str] | None, order: list) -> list:
    if survey_ids is None:
        return list(connection.execute(query.order_by(*order)).all())
    rows: list = []
    for part in bulk.chunks(dict.fromkeys(survey_ids)):
        rows += connection.execute(query.where(t.fact_survey.c.survey_id.in_(part))).all()
    rows.sort(key=lambda row: row[0])  # stable: readings stay in order
    return rows


FACE = {
    "survey_id": "text", "kind": "text", "row": "float", "column": "float", "value": "float", "unit": "text",
    "velocity_fpm": "float",
}  # fmt: skip


def face_readings(connection: Connection) -> pd.DataFrame:
    """Every face reading that is a number, as written and converted."""
    r, s = t.fact_reading.c, t.fact_survey.c
    query = (
        sa.select(s.survey_id, *(r[name] for name in list(FACE)[1:]))
        .join_from(t.fact_reading, t.fact_survey, r.survey_no == s.survey_no)
        .where(r.kind == "face", r.velocity_fpm.is_not(None))
        .order_by(r.survey_no, r.reading_no)
    )
    return typed_frame(connection.execute(query).all(), FACE)


def problems(connection: Connection, survey_ids: Sequence[str] | None) -> pd.DataFrame:
    """What the sheets themselves showed, as recorded. With `survey_ids` only those of these surveys."""
    p, s, f = t.fact_problem.c, t.fact_survey.c, t.fact_file.c
    query = (
        sa.select(p.problem_no, s.survey_id, f.workbook, f.sha256, *(p[name] for name in log.PROBLEM))
        .join_from(t.fact_problem, t.fact_file, p.file_no == f.file_no)
        .outerjoin(t.fact_survey, p.survey_no == s.survey_no)
    )
    rows = _by_survey(connection, query, survey_ids, [p.problem_no])
    return typed_frame([row[1:] for row in rows], PROBLEMS)


def sheets(connection: Connection, sha256: str | None) -> pd.DataFrame:
    """What became of each sheet, in the workbook's order."""
    h, f = t.fact_sheet.c, t.fact_file.c
    query = sa.select(f.workbook, f.sha256, h.sheet, h.outcome, h.reason).join_from(
        t.fact_sheet, t.fact_file, h.file_no == f.file_no
    )
    if sha256 is not None:
        query = query.where(f.sha256 == sha256)
    return typed_frame(connection.execute(query.order_by(h.file_no, h.sheet_no)).all(), SHEETS)


def workbook_bytes(connection: Connection, sha256: str) -> bytes | None:
    """A file exactly as it was handed in; None where the store does not have it."""
    f = t.fact_file.c
    row = connection.execute(sa.select(f.packing, f.data).where(f.sha256 == sha256)).first()
    return None if row is None or row[1] is None else log.unpacked(row[0], row[1])


def _occasion_query() -> sa.Select:
    s, f, j = t.fact_survey.c, t.fact_file.c, t.judged_survey.c
    own = [j[name] for name in list(OCCASION)[4:]]
    return (
        sa.select(s.survey_id, f.workbook, f.sha256, s.sheet, *own)
        .join_from(t.judged_survey, t.fact_survey, j.survey_no == s.survey_no)
        .join(t.fact_file, s.file_no == f.file_no)
        .order_by(s.survey_id)
    )


def grid_keys(connection: Connection, fingerprints: Iterable[str]) -> pd.DataFrame:
    """Surveys in the store (OCCASION columns) whose grid has one of these fingerprints."""
    rows: list = []
    wanted = dict.fromkeys(one for one in fingerprints if isinstance(one, str))
    for part in bulk.chunks(wanted):
        rows += connection.execute(_occasion_query().where(t.judged_survey.c.grid_fingerprint.in_(part))).all()
    return typed_frame(rows, OCCASION)


def occasions(connection: Connection, keys: Iterable[tuple[str, dt.date]] | None) -> pd.DataFrame:
    """Surveys in the store (OCCASION columns) of these hoods on these days, at any sash height; all for None."""
    if keys is None:
        return typed_frame(connection.execute(_occasion_query()).all(), OCCASION)
    wanted = {(hood, _sql(day)) for hood, day in keys if isinstance(hood, str) and not pd.isna(day)}
    j = t.judged_survey.c
    rows: list = []
    for part in bulk.chunks(sorted(wanted), 5_000):
        rows += connection.execute(_occasion_query().where(sa.tuple_(j.hood_id, j.surveyed_on).in_(part))).all()
    return typed_frame(rows, OCCASION)


def copies_of(connection: Connection, places: Iterable[tuple[str, str]]) -> list[str]:
    """survey_ids at one of these (sheet, place) where any survey at that place of a sheet of that name is held or
    superseded."""
    s, j = t.fact_survey.c, t.judged_survey.c
    doubtful = (
        sa.select(s.sheet, s.place)
        .join_from(t.judged_survey, t.fact_survey, j.survey_no == s.survey_no)
        .where(j.status.in_(("held", "superseded")))
        .distinct()
    )
    asked = {tuple(row) for row in connection.execute(doubtful)} & set(places)
    found: list[str] = []
    for part in bulk.chunks(sorted(asked), 5_000):
        found += connection.execute(sa.select(s.survey_id).where(sa.tuple_(s.sheet, s.place).in_(part))).scalars()
    return found


def fingerprint_of(connection: Connection) -> str:
    """Changes whenever anything was recorded, judged or decided: for screens that keep what they read."""
    counts = [
        connection.execute(sa.select(sa.func.count()).select_from(x)).scalar()
        for x in (t.fact_arrival, t.judged_survey)
    ]
    return canonical([*log.head(connection), *counts])
