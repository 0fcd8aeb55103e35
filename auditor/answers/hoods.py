"""One hood: what the register says of it, how it stands, every survey, its trend and its limits."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pandas as pd

from auditor.answers.limits import limit_rows, profile_named
from auditor.answers.record import rows

if TYPE_CHECKING:
    from auditor.store.store import Store


@dataclass(frozen=True)
class Hood:
    """`register` and `state`: its row there and in `hood_states`; `surveys`: the contract's table, newest first;
    `limits`: rows of its profile; `trend`: its row of `trends`, empty where it has none; `tested`: how many hoods were
    tested for a trend; `events`: what was done to its ventilation."""

    register: dict[str, Any]
    state: dict[str, Any]
    surveys: pd.DataFrame
    limits: pd.DataFrame
    profile: str
    trend: dict[str, Any] = field(default_factory=dict)
    tested: int = 0
    events: pd.DataFrame = field(default_factory=pd.DataFrame)


def hood_list(store: Store) -> pd.DataFrame:
    """hood_id, building, floor, room, hood_type of every hood of the register, in order of building and tag."""
    return rows(store, "SELECT hood_id, building, floor, room, hood_type FROM register ORDER BY building, hood_id")


def hood(store: Store, hood_id: str, states: pd.DataFrame, every: pd.DataFrame) -> Hood | None:
    """The hood of that tag; None where the register has none. `states`: `hood_states`; `every`: `trends` of the record,
    which a caller asks for once and keeps."""
    about = store.table("register", hood_id=hood_id)
    if about.empty:
        return None
    register = _plain(about.iloc[0])
    surveys = store.table("surveys", hood_id=hood_id)
    surveys = surveys.sort_values(["surveyed_on", "survey_id"], ascending=[False, True], ignore_index=True)
    used = surveys["profile"].dropna()
    profile = profile_named(register.get("profile") or (used.iloc[0] if len(used) else None))
    own = every[every["hood_id"].eq(hood_id)]
    return Hood(
        register=register,
        state=_plain(states[states["hood_id"].eq(hood_id)].iloc[0]),
        surveys=surveys,
        limits=limit_rows(profile),
        profile=profile.title,
        trend=_plain(own.iloc[0]) if len(own) else {},
        tested=int(every["p_value"].notna().sum()),
        events=_events(store, register),
    )


def _events(store: Store, register: dict[str, Any]) -> pd.DataFrame:
    """Events of this hood, of its air handler, or of its room, newest first."""
    events = store.events()
    if events.empty:
        return events
    own = events["hood_id"].eq(register["hood_id"])
    if register.get("air_handler"):
        own |= events["air_handler"].eq(register["air_handler"])
    if register.get("room"):
        own |= events["building"].eq(register["building"]) & events["room"].eq(register["room"])
    return events[own].sort_values("happened_on", ascending=False, ignore_index=True)


def _plain(row: pd.Series) -> dict[str, Any]:
    """A row as a dictionary, None where a value is missing."""
    return {str(name): None if pd.isna(value) else value for name, value in row.items()}
