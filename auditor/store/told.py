"""What was once told of a hood: that it must not be used. Kept in the log, so that it stands even where the survey
that showed it is later withdrawn."""

from __future__ import annotations

import json

import pandas as pd
import sqlalchemy as sa
from sqlalchemy.engine import Connection

from auditor.store import log
from auditor.store import tables as t
from auditor.store.frames import typed_frame

KIND = "state"
TOLD = {"hood_id": "text", "state": "text", "since": "date", "survey_id": "text"}


def told(connection: Connection) -> pd.DataFrame:
    """Every 'do not use' that was ever told: hood_id, state, since (the day of the survey), survey_id."""
    e = t.log_entry.c
    rows = connection.execute(sa.select(e.subject, e.body).where(e.kind == KIND).order_by(e.entry_no))
    found = [(hood, json.loads(body)) for hood, body in rows]
    return typed_frame([(hood, body["state"], body["since"], body["survey_id"]) for hood, body in found], TOLD)


def tell(connection: Connection, failed: pd.DataFrame, by: str, at: str) -> None:
    """Adds what is new of `failed`: hood_id, surveyed_on, survey_id of accepted surveys with the verdict 'fail'."""
    known = told(connection)
    had = set(zip(known["hood_id"], known["survey_id"], strict=True))
    entries = [
        (KIND, str(hood), by, at, {"state": "do not use", "since": f"{day:%Y-%m-%d}", "survey_id": survey})
        for hood, day, survey in failed[["hood_id", "surveyed_on", "survey_id"]].itertuples(index=False, name=None)
        if (hood, survey) not in had
    ]
    if entries:
        log.append(connection, entries)
