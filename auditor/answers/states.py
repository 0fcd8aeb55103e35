"""How every hood stands today."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from auditor.criteria import Profile
    from auditor.store.store import Store


def hood_states(store: Store, today: dt.date, profiles: Mapping[str, Profile] | None = None) -> pd.DataFrame:
    """One row per hood of the register, those that must not be used first: the columns of
    `auditor.criteria.states.hood_states`, and building, floor, room, department, hood_type, air_handler."""
    from auditor.criteria import load_profiles
    from auditor.criteria.states import STATES
    from auditor.criteria.states import hood_states as derive

    register = store.register()
    states = derive(
        register, store.table("surveys"), store.table("verdicts"), store.events(), store.tags(), today,
        profiles=profiles or load_profiles(),
    )  # fmt: skip
    beside = ["hood_id", "building", "floor", "room", "department", "hood_type", "air_handler"]
    states = states.merge(register[[c for c in beside if c == "hood_id" or c not in states]], on="hood_id", how="left")
    rank = states["state"].map({state: place for place, state in enumerate(STATES)})
    return (
        states.assign(rank=rank).sort_values(["rank", "hood_id"], kind="stable", ignore_index=True).drop(columns="rank")
    )
