"""Where cross-draft problems gather: by place and year, down to the hoods."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from auditor.answers.record import slim_findings, slim_surveys
from auditor.answers.tables import draft_readings

if TYPE_CHECKING:
    from auditor.store.store import Store

LEVELS = {
    "building": "building_label",
    "room": "room_label",
    "air handler": "air_handler_label",
    "floor": "floor_label",
}
BY_YEAR = ["level", "group", "year", "surveys", "failures", "share", "low", "high", "hoods_failing"]
HOODS = [
    "hood_id", "building", "floor", "room", "air_handler", "survey_id", "surveyed_on", "cross_draft_max_fpm",
    "cross_draft_ratio", "face_mean_fpm", "verdict", "position", "direction", "x_ft", "y_ft", "failed",
]  # fmt: skip


def judged_drafts(store: Store) -> pd.DataFrame:
    """`auditor.history.drafts.cross_draft_failures` over the record: one row per accepted survey whose cross-draft was
    judged, with `failed`, `year` and the places' labels."""
    from auditor.history.drafts.failures import CRITERIA, cross_draft_failures

    return cross_draft_failures(slim_surveys(store), slim_findings(store, CRITERIA), store.register())


def drafts_by_year(store: Store) -> pd.DataFrame:
    """Columns BY_YEAR: per level of LEVELS, group and year, surveys judged and failed for cross-drafts."""
    from auditor.history.rates import wilson

    table = judged_drafts(store)
    parts = [_by_year(table, level, column) for level, column in LEVELS.items()] if len(table) else []
    parts = [part for part in parts if len(part)]
    if not parts:
        return pd.DataFrame(columns=BY_YEAR)
    found = pd.concat(parts, ignore_index=True)
    low, high = wilson(found["failures"].to_numpy(dtype=float), found["surveys"].to_numpy(dtype=float))
    return found.assign(share=found["failures"] / found["surveys"], low=low, high=high)[BY_YEAR]


def _by_year(table: pd.DataFrame, level: str, column: str) -> pd.DataFrame:
    grouped = table.groupby([column, "year"])
    failing = table[table["failed"]].groupby([column, "year"])["hood_id"].nunique()
    found = pd.DataFrame({"surveys": grouped.size(), "failures": grouped["failed"].sum(), "hoods_failing": failing})
    found = found.fillna(0).astype(int).reset_index(names=["group", "year"])
    return found.assign(level=level, year=found["year"].astype(int))


def recurring_rooms(store: Store, campaigns: int = 3) -> pd.DataFrame:
    """`auditor.history.drafts.recurrence` over the record: rooms where cross-drafts come back."""
    from auditor.history.drafts.recurrence import recurrence

    table = judged_drafts(store)
    if table.empty:
        return pd.DataFrame(columns=["room", "campaigns", "years", "failures", "surveys", "hoods_failing"])
    return recurrence(table, campaigns)


def draft_hoods(store: Store, year: int, level: str = "", group: str = "") -> pd.DataFrame:
    """The surveys of a year whose cross-draft was judged (columns HOODS), of one group or of all; those that failed
    first, the strongest draft first, with where and in which direction it was."""
    from auditor.history.drafts.strongest import strongest_drafts

    table = judged_drafts(store)
    if table.empty:
        return pd.DataFrame(columns=HOODS)
    table = table[table["year"].eq(year)]
    if level in LEVELS and group:
        table = table[table[LEVELS[level]].eq(group)]
    places = store.register().drop_duplicates("hood_id", keep="last")[["hood_id", "x_ft", "y_ft"]]
    side = strongest_drafts(table["survey_id"], draft_readings(store))[["survey_id", "position", "direction"]]
    table = table.merge(places, on="hood_id", how="left").merge(side, on="survey_id", how="left")
    order = ["failed", "cross_draft_max_fpm", "hood_id"]
    return (
        table.sort_values(order, ascending=[False, False, True], kind="stable")
        .reindex(columns=HOODS)
        .reset_index(drop=True)
    )
