"""Rooms where cross-drafts come back."""

from __future__ import annotations

import pandas as pd

RECURRENCE = ["room", "campaigns", "years", "failures", "surveys", "hoods_failing"]


def recurrence(failures: pd.DataFrame, campaigns: int = 3, at_least: int = 2) -> pd.DataFrame:
    """Rooms with a cross-draft failure in at least `at_least` of the last `campaigns` campaigns (calendar years with
    surveys). `failures`: the frame of `cross_draft_failures`. Columns RECURRENCE, worst first; counts are over those
    campaigns only."""
    last = sorted(failures["year"].dropna().unique())[-campaigns:]
    recent = failures[failures["year"].isin(last) & failures["room_label"].notna()]
    bad = recent[recent["failed"]]
    by_room = bad.groupby("room_label")
    table = pd.DataFrame(
        {
            "campaigns": by_room["year"].nunique(),
            "years": by_room["year"].agg(lambda years: ", ".join(str(year) for year in sorted(set(years)))),
            "failures": by_room.size(),
            "surveys": recent.groupby("room_label").size(),
            "hoods_failing": by_room["hood_id"].nunique(),
        }
    )
    table = table[table["campaigns"] >= at_least].reset_index(names="room")
    table = table.astype(dict.fromkeys(("campaigns", "failures", "surveys", "hoods_failing"), int))
    order = ["campaigns", "failures", "room"]
    return table.sort_values(order, ascending=[False, False, True], ignore_index=True).reindex(columns=RECURRENCE)
