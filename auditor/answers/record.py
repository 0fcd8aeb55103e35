"""Opening the record to read it, and the frames of it that several answers need: only the columns they ask for."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import pandas as pd

from auditor.store import StoreUnavailable, open_store

if TYPE_CHECKING:
    from auditor.store.store import Store

__all__ = ["SLIM", "StoreUnavailable", "open_record", "rows", "slim_findings", "slim_surveys", "today"]

# What rates, states, trends and clusters need of a survey: a quarter of the table's width.
SLIM = (
    "survey_id", "workbook", "sheet", "hood_id", "building", "floor", "room", "surveyed_on", "occasion", "contractor",
    "instrument_id", "unit", "sash_height_in", "face_mean_fpm", "face_min_fpm", "cross_draft_max_fpm",
    "cross_draft_ratio", "status", "verdict", "provisional_verdict", "profile",
)  # fmt: skip


def open_record(url: str | None = None) -> Store:
    """The record at `url` (see `auditor.store.open_store`), to be read only. StoreUnavailable says why not."""
    return open_store(url, create=False, read_only=True)


def today() -> dt.date:
    """HOODAUDIT_TODAY, else the machine's date."""
    said = os.environ.get("HOODAUDIT_TODAY")
    return dt.date.fromisoformat(said) if said else dt.date.today()


def rows(store: Store, statement: str, parameters: Mapping[str, Any] | None = None) -> pd.DataFrame:
    """The rows of a SELECT, columns named `…_on` and `calibration_due` as datetime64."""
    frame = store.query(statement, parameters)
    for name in frame.columns:
        if str(name).endswith("_on") or name == "calibration_due":
            frame[name] = pd.to_datetime(frame[name], format="ISO8601", errors="coerce")
    return frame


def slim_surveys(store: Store, columns: Sequence[str] = SLIM, years: Sequence[int] | None = None) -> pd.DataFrame:
    """Every survey (or those dated in these years), with these columns of the contract's table, by survey_id."""
    listed = ", ".join(f'"{name}"' for name in columns)
    where, named = "", {}
    if years is not None:
        named = {"first": f"{min(years):04d}-01-01", "after": f"{max(years) + 1:04d}-01-01"}
        where = "WHERE surveyed_on >= :first AND surveyed_on < :after"
    frame = rows(store, f"SELECT {listed} FROM surveys {where}", named)
    frame = frame.sort_values("survey_id", ignore_index=True)
    numbers = [name for name in columns if name.endswith(("_fpm", "_in", "_ratio"))]
    return frame.astype(dict.fromkeys(numbers, float))


def slim_findings(store: Store, criteria: Sequence[str], outcomes: Sequence[str] = ()) -> pd.DataFrame:
    """Findings of these criteria (and of these outcomes): survey_id, hood_id, criterion, cell, outcome, measured,
    limit, unit."""
    wanted = {f"c{i}": name for i, name in enumerate(criteria)} | {f"o{i}": name for i, name in enumerate(outcomes)}
    among = f'"criterion" IN ({", ".join(f":c{i}" for i in range(len(criteria)))})'
    if outcomes:
        among += f' AND "outcome" IN ({", ".join(f":o{i}" for i in range(len(outcomes)))})'
    listed = '"survey_id", "hood_id", "criterion", "cell", "outcome", "measured", "limit", "unit"'
    return rows(store, f"SELECT {listed} FROM findings WHERE {among}", wanted)
