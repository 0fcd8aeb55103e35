"""What people decided: facts supplied for a sheet, surveys accepted despite their discrepancies, notices posted and
removed. Each is a row that never changes and an entry in the log."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from itertools import count

import pandas as pd
import sqlalchemy as sa
from sqlalchemy.engine import Connection

from auditor.store import bulk, log
from auditor.store import tables as t
from auditor.store.frames import canonical, storable, typed_frame
from auditor.store.judged import survey_numbers

_NAMES = ("decision_no", "kind", "survey_id", "hood_id", "detail", "made_by", "made_at")
TAG_ACTIONS = ("posted", "removed")
TAG_NOTICES = ("do not use", "restricted")
TAGS = {"hood_id": "text", "action": "text", "notice": "text", "work_order": "text", "made_by": "text",
        "made_at": "text"}  # fmt: skip


def stamp(at: dt.datetime | dt.date | str | None) -> str:
    """A time as ISO 8601 text; now where none is given."""
    if at is None:
        return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")
    return at if isinstance(at, str) else at.isoformat()


def settle(connection: Connection, survey_id: str, values: Mapping[str, str], evidence: str, by: str, at: str) -> None:
    """Keeps facts that a person supplied for a survey. Raises ValueError for an unknown survey or missing words."""
    _need(values=values, evidence=evidence, by=by)
    _need_surveys(connection, [survey_id])
    detail = {"values": {name: storable(str(value)) for name, value in values.items()}, "evidence": storable(evidence)}
    _add(connection, "settle", [(survey_id, None, detail)], by, at)


def release(connection: Connection, survey_ids: Sequence[str], reason: str, by: str, at: str) -> None:
    """Keeps that a person accepted surveys as they are: what was open about them then counts as released."""
    survey_ids = list(dict.fromkeys(survey_ids))
    _need(surveys=survey_ids, reason=reason, by=by)
    numbers = _need_surveys(connection, survey_ids)
    d = t.judged_discrepancy
    subjects: list[tuple] = []
    for survey_id in survey_ids:
        mine = (d.c.survey_no == numbers[survey_id]) & (d.c.state == "open")
        found = connection.execute(sa.select(d.c.discrepancy_id).where(mine).order_by(d.c.discrepancy_id)).scalars()
        subjects.append((survey_id, None, {"reason": storable(reason), "discrepancies": list(found)}))
        connection.execute(d.update().where(mine).values(state="released"))
    _add(connection, "release", subjects, by, at)


def tag(
    connection: Connection, hood_id: str, action: str, by: str, at: str, *, notice: str, work_order: str, note: str
) -> None:
    """Keeps that a notice was posted on a hood or removed from it."""
    _need(hood=hood_id, by=by)
    if action not in TAG_ACTIONS or notice not in TAG_NOTICES:
        raise ValueError(f"a notice is one of {', '.join(TAG_NOTICES)}, and it is {' or '.join(TAG_ACTIONS)}")
    r = t.register_row.c
    if connection.execute(sa.select(r.hood_id).where(r.hood_id == hood_id).limit(1)).first() is None:
        raise ValueError(f"hood {hood_id!r} is not in the register")
    detail = {"action": action, "notice": notice, "work_order": storable(work_order), "note": storable(note)}
    _add(connection, "tag", [(None, hood_id, detail)], by, at)


def decisions(connection: Connection, survey_ids: Sequence[str] | None = None) -> pd.DataFrame:
    """All decisions (or those on some surveys) in the order in which they were made; `detail` holds a dict."""
    c = t.decision.c
    query = sa.select(*(c[name] for name in _NAMES)).order_by(c.decision_no)
    rows: list = []
    if survey_ids is None:
        rows += connection.execute(query).all()
    else:
        for part in bulk.chunks(dict.fromkeys(survey_ids)):
            rows += connection.execute(query.where(c.survey_id.in_(part))).all()
        rows.sort(key=lambda row: row[0])
    kinds = dict.fromkeys(_NAMES, "text") | {"decision_no": "int"}
    frame = typed_frame(rows, kinds)
    frame["detail"] = pd.Series([json.loads(row[4]) for row in rows], dtype=object)
    return frame


def tags(connection: Connection) -> pd.DataFrame:
    """The log of notices, oldest first."""
    c = t.decision.c
    query = sa.select(c.hood_id, c.detail, c.made_by, c.made_at).where(c.kind == "tag").order_by(c.decision_no)
    rows = []
    for hood_id, text, by, at in connection.execute(query):
        detail = json.loads(text)
        rows.append((hood_id, detail["action"], detail["notice"], detail["work_order"] or None, by, at))
    return typed_frame(rows, TAGS)


def _need(**values) -> None:
    for name, value in values.items():
        if not value or (isinstance(value, str) and not value.strip()):
            raise ValueError(f"{name} is missing: a decision is kept with who made it and why")


def _need_surveys(connection: Connection, survey_ids: Sequence[str]) -> dict[str, int]:
    numbers = survey_numbers(connection, survey_ids)
    for survey_id in survey_ids:
        if survey_id not in numbers:
            raise ValueError(f"there is no survey {survey_id!r} in the record")
    return numbers


def _add(connection: Connection, kind: str, subjects: Sequence[tuple], by: str, at: str) -> None:
    number = count(bulk.numbers(connection, t.decision, "decision_no"))
    by = storable(by.strip())
    rows, entries = [], []
    for survey_id, hood_id, detail in subjects:
        decision_no = next(number)
        rows.append((decision_no, kind, survey_id, hood_id, canonical(detail), by, at))
        entries.append((kind, survey_id or hood_id or "", by, at, {"decision_no": decision_no, "detail": detail}))
    bulk.insert(connection, t.decision, _NAMES, rows)
    log.append(connection, entries)
