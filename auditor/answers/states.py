"""How every hood stands today."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING

import pandas as pd

from auditor.answers.record import rows, slim_surveys

if TYPE_CHECKING:
    from auditor.criteria import Profile
    from auditor.store.store import Store

DO_NOT_USE = ("do not use until settled", "do not use")
_NEEDED = ("survey_id", "hood_id", "surveyed_on", "occasion", "status", "verdict", "provisional_verdict")
_BESIDE = ("hood_id", "building", "floor", "room", "department", "hood_type", "air_handler")


def hood_states(store: Store, today: dt.date, profiles: Mapping[str, Profile] | None = None) -> pd.DataFrame:
    """One row per hood of the register, those that must not be used first: the columns of
    `auditor.criteria.states.hood_states`, and building, floor, room, department, hood_type, air_handler."""
    from auditor.criteria import load_profiles
    from auditor.criteria.states import STATES
    from auditor.criteria.states import hood_states as derive

    register = store.register()
    states = derive(
        register, slim_surveys(store, _NEEDED), _reasons(store), store.events(), store.tags(), today,
        profiles=profiles or load_profiles(), earlier=store.told()[lambda told: told["since"] <= pd.Timestamp(today)],
    )  # fmt: skip
    beside = [name for name in _BESIDE if name == "hood_id" or name not in states]
    states = states.merge(register[beside], on="hood_id", how="left")
    states["reason"] = _with_held_reasons(store, states)
    rank = states["state"].map({state: place for place, state in enumerate(STATES)})
    return (
        states.assign(rank=rank).sort_values(["rank", "hood_id"], kind="stable", ignore_index=True).drop(columns="rank")
    )


def past_due(states: pd.DataFrame) -> pd.DataFrame:
    """The hoods of `hood_states` whose day is past or that were never surveyed, in whatever other state they are; the
    longest overdue first, the never surveyed before them."""
    never = states["state"].eq("never surveyed")
    late = states["overdue_days"].astype(float).gt(0) & ~states["state"].eq("out of service")
    chosen = states[late | never].assign(first=never)
    order = chosen.sort_values(["first", "overdue_days", "hood_id"], ascending=[False, False, True], kind="stable")
    return order.drop(columns="first").reset_index(drop=True)


def _reasons(store: Store) -> pd.DataFrame:
    return rows(store, "SELECT survey_id, reason FROM verdicts")


def _with_held_reasons(store: Store, states: pd.DataFrame) -> pd.Series:
    """The reason of a hood whose held survey fails: the view of verdicts leaves held surveys out, so what failed is
    told from that survey's findings."""
    reason = states["reason"].copy()
    for place, survey_id in states["held_survey_id"].dropna().items():
        if str(reason[place]).rstrip().endswith(":"):
            said = failures_in_words(store, str(survey_id))
            reason[place] = f"{str(reason[place]).rstrip()} {said}" if said else str(reason[place]).rstrip(": ")
    return reason


def failures_in_words(store: Store, survey_id: str) -> str:
    """What a survey fails, worst place of each criterion: 'lowest point 38 ft/min at C17, limit 60 ft/min; …'."""
    failing = rows(
        store,
        'SELECT "criterion", "cell", "measured", "limit", "unit" FROM findings '
        'WHERE "survey_id" = :survey AND "outcome" = \'fail\' ORDER BY "criterion"',
        {"survey": survey_id},
    )
    return "; ".join(_in_words(row) for row in failing.to_dict("records"))


def _in_words(row: dict) -> str:
    from auditor.criteria.loading import criteria

    title = criteria()[row["criterion"]]["title"] if row["criterion"] in criteria() else row["criterion"]
    title = str(title)[0].lower() + str(title)[1:]
    at = f" at {row['cell']}" if isinstance(row["cell"], str) and row["cell"] else ""
    if pd.isna(row["measured"]) or pd.isna(row["limit"]):
        return f"{title}{at}"
    return f"{title}: {row['measured']:.0f} {row['unit']}{at}, limit {row['limit']:g} {row['unit']}"
