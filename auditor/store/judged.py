"""Replacing what was derived for surveys: their judged columns, verdicts, findings, discrepancies and conversions."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import count

import numpy as np
import pandas as pd
import sqlalchemy as sa
from sqlalchemy.engine import Connection

from auditor.store import bulk, contract
from auditor.store import tables as t
from auditor.store.batch import Batch
from auditor.store.frames import columns_of
from auditor.survey.keys import discrepancy_ids

# Found over the record as a whole and replaced by `replace_codes`: judging one survey again leaves them alone.
OF_THE_RECORD = ("grid-resembles", "readings-too-smooth", "digits-uneven", "pace-implausible")
_OWN = ("survey_id", "hood_id")
_VERDICT = {name: kind for name, kind in contract.VERDICTS.items() if name not in _OWN}
_FINDING = {name: kind for name, kind in contract.FINDINGS.items() if name not in _OWN}
_DISCREPANCY = dict.fromkeys(
    ("sheet", "cell", "field", "code", "severity", "written", "message", "remedy", "state"), "text"
)
_JUDGED = {**contract.JUDGED, **contract.JUDGED_BESIDE}


def replace(connection: Connection, batch: Batch, *, leave_alone: set[str], new: set[str], vanished: str) -> None:
    """Replaces the judgements of the batch's surveys, and adds the discrepancies of its `new` files as a whole.

    `leave_alone`: files of which the store knew the bytes; whatever the batch says of them is not used.
    `vanished`: what becomes of discrepancies that are no longer found: 'corrected' (kept, with that state) or 'drop'.
    """
    surveys = batch.surveys
    if surveys is not None and leave_alone:
        surveys = surveys[~surveys["workbook_sha256"].isin(list(leave_alone))]
    ids = [] if surveys is None else surveys["survey_id"].tolist()
    numbers = survey_numbers(connection, ids)
    if len(numbers) != len(ids):
        unknown = sorted(set(ids) - set(numbers)) or [one for one, n in Counter(ids).items() if n > 1]
        raise ValueError(f"a batch names surveys that are not in the record, or one twice: {unknown[:3]}")
    _delete_old(connection, numbers.values())
    if surveys is not None:
        _add_surveys(connection, surveys, numbers)
    _add_verdicts(connection, batch.verdicts, numbers)
    _add_findings(connection, batch.findings, numbers)
    _replace_discrepancies(connection, batch.discrepancies, numbers, new, vanished)
    if batch.readings is not None:
        _convert_again(connection, batch.readings, surveys, numbers, new)


def survey_numbers(connection: Connection, survey_ids: Iterable[str]) -> dict[str, int]:
    """The numbers of those surveys that the store has."""
    s, found = t.fact_survey.c, {}
    for part in bulk.chunks(survey_ids):
        rows = connection.execute(sa.select(s.survey_id, s.survey_no).where(s.survey_id.in_(part)))
        found.update(dict(rows.tuples().all()))
    return found


def _delete_old(connection: Connection, numbers: Iterable[int]) -> None:
    for part in bulk.chunks(numbers):
        for table in (t.judged_survey, t.judged_verdict, t.judged_finding):
            connection.execute(table.delete().where(table.c.survey_no.in_(part)))


def _add_surveys(connection: Connection, surveys: pd.DataFrame, numbers: dict[str, int]) -> None:
    """Building, floor and room are the register's for a known hood (as it stood on the day), else as written."""
    frame = surveys
    for name in ("building", "floor", "room"):
        if f"register_{name}" in frame.columns:
            place = frame[f"register_{name}"].astype(object)
            written = frame[name].astype(object) if name in frame.columns else None
            frame = frame.assign(**{name: place if written is None else place.where(place.notna(), written)})
    rows = zip([numbers[one] for one in frame["survey_id"]], *columns_of(frame, _JUDGED), strict=True)
    bulk.insert(connection, t.judged_survey, ("survey_no", *_JUDGED), rows)


def _add_verdicts(connection: Connection, verdicts: pd.DataFrame | None, numbers: dict[str, int]) -> None:
    chosen, survey_no = _of_surveys(verdicts, numbers)
    rows = zip(survey_no, *columns_of(chosen, _VERDICT), strict=True)
    bulk.insert(connection, t.judged_verdict, ("survey_no", *_VERDICT), rows)


def _add_findings(connection: Connection, findings: pd.DataFrame | None, numbers: dict[str, int]) -> None:
    chosen, survey_no = _of_surveys(findings, numbers)
    finding_no = range(1, len(survey_no) + 1)  # unique, and within a survey in the order given
    rows = zip(survey_no, finding_no, *columns_of(chosen, _FINDING), strict=True)
    bulk.insert(connection, t.judged_finding, ("survey_no", "finding_no", *_FINDING), rows)


def _of_surveys(frame: pd.DataFrame | None, numbers: dict[str, int]) -> tuple[pd.DataFrame | None, list[int]]:
    """The rows of these surveys, with the survey's number for each."""
    if frame is None or frame.empty:
        return None, []
    found = frame["survey_id"].map(numbers).to_numpy(dtype=float, na_value=np.nan)
    mine = np.isfinite(found)
    return frame[mine], found[mine].astype(np.int64).tolist()


# --- discrepancies ---------------------------------------------------------------------------------------------------
def _replace_discrepancies(
    connection: Connection, frame: pd.DataFrame | None, numbers: dict[str, int], new: set[str], vanished: str
) -> None:
    released = _released(connection, numbers)
    rows = _discrepancy_rows(connection, frame, numbers, new, released)
    d = t.judged_discrepancy
    for part in bulk.chunks(numbers.values()):
        mine = d.c.survey_no.in_(part) & d.c.code.not_in(OF_THE_RECORD)
        if vanished == "corrected":
            connection.execute(d.update().where(mine).values(state="corrected"))
        else:
            connection.execute(d.delete().where(mine, d.c.state != "corrected"))
    for part in bulk.chunks(row[0] for row in rows):
        connection.execute(d.delete().where(d.c.discrepancy_id.in_(part)))
    bulk.insert(connection, d, ("discrepancy_id", "file_no", "survey_no", *_DISCREPANCY), rows)


def _discrepancy_rows(
    connection: Connection, frame: pd.DataFrame | None, numbers: dict[str, int], new: set[str], released: set[str]
) -> list[tuple]:
    """Rows of the batch's surveys, and rows without a survey of its new files (or of no file at all)."""
    if frame is None or frame.empty:
        return []
    mine = frame["survey_id"].map(numbers).notna()
    whole = frame["survey_id"].isna() & (frame["workbook_sha256"].isin(list(new)) | frame["workbook_sha256"].isna())
    chosen = frame[mine | whole]
    f = t.fact_file.c
    shas = [one for one in chosen["workbook_sha256"].unique().tolist() if isinstance(one, str)]
    files: dict[str, int] = {}
    for part in bulk.chunks(shas):
        files.update(dict(connection.execute(sa.select(f.sha256, f.file_no).where(f.sha256.in_(part))).tuples().all()))
    refs = columns_of(chosen, {"workbook_sha256": "text", "survey_id": "text"})
    rows = []
    for key, sha256, survey_id, *own in zip(
        discrepancy_ids(chosen), *refs, *columns_of(chosen, _DISCREPANCY), strict=True
    ):
        own[-1] = own[-1] or ("released" if key in released else "open")
        rows.append((key, files.get(sha256), numbers.get(survey_id), *own))
    return rows


def _released(connection: Connection, survey_ids: Iterable[str]) -> set[str]:
    """Discrepancies that a person accepted, by the decisions on these surveys."""
    c = t.decision.c
    found: set[str] = set()
    for part in bulk.chunks(survey_ids):
        details = connection.execute(sa.select(c.detail).where(c.kind == "release", c.survey_id.in_(part))).scalars()
        for detail in details:
            found.update(json.loads(detail)["discrepancies"])
    return found


# --- conversions -----------------------------------------------------------------------------------------------------
def _convert_again(
    connection: Connection,
    readings: pd.DataFrame,
    surveys: pd.DataFrame | None,
    numbers: dict[str, int],
    new: set[str],
) -> None:
    """Sets velocity and settled unit of readings that were recorded before. They come in the order of the facts."""
    if surveys is None:
        return
    old = surveys.loc[~surveys["workbook_sha256"].isin(list(new)), "survey_id"]
    chosen = readings[readings["survey_id"].isin(old)]
    if chosen.empty:
        return
    kept = _conversions(connection, [numbers[one] for one in old])
    kinds = {"survey_id": "text", "unit": "text", "velocity_fpm": "float", "bound_fpm": "float"}
    number_of: dict[str, count] = {one: count(1) for one in old}
    rows = []
    for survey_id, unit, velocity, bound in zip(*columns_of(chosen, kinds), strict=True):
        key = (numbers[survey_id], next(number_of[survey_id]))
        if key not in kept:
            raise ValueError(f"survey {survey_id}: more readings than were recorded")
        written, *before = kept[key]
        now = [velocity, bound, None if unit == written else unit]
        if now != before:
            rows.append((*now, *key))
    keys = ("survey_no", "reading_no")
    bulk.update(connection, t.fact_reading, ("velocity_fpm", "bound_fpm", "settled_unit"), keys, rows)


def _conversions(connection: Connection, numbers: list[int]) -> dict[tuple[int, int], tuple]:
    """(unit as written, velocity, bound, settled unit) by survey and reading."""
    r = t.fact_reading.c
    found: dict[tuple[int, int], tuple] = {}
    query = sa.select(r.survey_no, r.reading_no, r.unit, r.velocity_fpm, r.bound_fpm, r.settled_unit)
    for part in bulk.chunks(numbers):
        found.update({row[:2]: row[2:] for row in map(tuple, connection.execute(query.where(r.survey_no.in_(part))))})
    return found


def replace_codes(connection: Connection, codes: Sequence[str], frame: pd.DataFrame) -> None:
    """All discrepancies of these codes, of every survey and file, replaced by those in `frame`."""
    d = t.judged_discrepancy
    connection.execute(d.delete().where(d.c.code.in_(codes)))
    numbers = survey_numbers(connection, frame["survey_id"].dropna())
    shas = set(frame["workbook_sha256"].dropna())
    rows = _discrepancy_rows(connection, frame, numbers, shas, _released(connection, numbers))
    bulk.insert(connection, d, ("discrepancy_id", "file_no", "survey_no", *_DISCREPANCY), rows)


def mark(connection: Connection, discrepancy_ids: Iterable[str], state: str) -> None:
    """Sets the state of discrepancies."""
    if state not in ("open", "released", "corrected"):
        raise ValueError(f"a discrepancy is open, released or corrected, not {state!r}")
    d = t.judged_discrepancy
    for part in bulk.chunks(discrepancy_ids):
        connection.execute(d.update().where(d.c.discrepancy_id.in_(part)).values(state=state))
