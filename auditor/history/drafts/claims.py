"""Which groups are claimed: those that stand out, and beyond what already claimed ones explain."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from auditor.history.drafts.failures import expected
from auditor.history.drafts.levels import AREAS, ROOM, looked_at
from auditor.history.drafts.neighbourhoods import neighbourhoods
from auditor.history.trends import adjusted

CLAIMED_AT = 0.05
FEWEST_FAILURES = 3
AIR_HANDLER_WEIGHT = 4 / 3  # an air handler is named before a floor whose ratio is at most a third higher
MOST_ROUNDS = 20
Look = Callable[[pd.DataFrame], pd.DataFrame]
COLUMN = {level.name: level.group for level in (ROOM, *AREAS)}


def claimed_groups(table: pd.DataFrame, register: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """All groups looked at, with `p_value`, `p_alone`, `q_value`, `claimed`, `explained_by`, `tests`.

    Areas (air handlers, floors, buildings) first; then neighbourhoods, on what the claimed areas leave; and rooms in
    any case, since a room is where somebody goes, whatever it shares with others (those outside claimed areas against
    the hoods outside, the others against all). Within each of the three, groups are claimed in rounds, and the rest is
    looked at again without the claimed ones' surveys.
    """

    def areas(part: pd.DataFrame) -> pd.DataFrame:
        return pd.concat([looked_at(part, level, rng) for level in AREAS], ignore_index=True)

    def rooms(part: pd.DataFrame) -> pd.DataFrame:
        away = part[outside[part["row"].to_numpy()]]
        if len(away) in (0, len(part)):
            return looked_at(part, ROOM, rng)
        fresh = looked_at(_part(away, np.ones(len(away), dtype=bool)), ROOM, rng)
        everywhere = looked_at(part, ROOM, rng)
        return pd.concat([fresh, everywhere[~everywhere["group"].isin(fresh["group"])]], ignore_index=True)

    def near(part: pd.DataFrame) -> pd.DataFrame:
        return neighbourhoods(part, register, rng)

    table = table.assign(row=np.arange(len(table)))
    everything = np.ones(len(table), dtype=bool)
    outside = everything
    first = [near(table), rooms(table)]
    by_area = _claim(areas(table), pd.concat(first), table, everything, areas)
    outside = ~_any(by_area[by_area["claimed"]], table)
    places, in_rooms = first if outside.all() else (near(_part(table, outside)), rooms(table))
    by_place = _claim(places, pd.concat([by_area, in_rooms]), table, outside, near)
    by_room = _claim(in_rooms, pd.concat([by_area, by_place]), table, everything, rooms)
    found = pd.concat([by_area, by_place, by_room], ignore_index=True)
    return found.assign(tests=int(found["p_value"].notna().sum()))


def members_of(table: pd.DataFrame, row: pd.Series) -> np.ndarray:
    """Which surveys of the table belong to a group, as booleans."""
    if row["level"] == "neighbourhood":
        return table["room_label"].isin(row["rooms"]).to_numpy()
    return table[COLUMN[str(row["level"])]].eq(row["group"]).fillna(False).to_numpy(dtype=bool)


def _claim(
    groups: pd.DataFrame, others: pd.DataFrame, table: pd.DataFrame, left: np.ndarray, look: Look
) -> pd.DataFrame:
    """Rounds of claiming among `groups`; `others` are the groups whose p values share the false-discovery control."""
    state = groups.assign(p_alone=groups["p_value"], claimed=False, explained_by="", q_value=np.nan)
    state = state.reset_index(drop=True)
    for _ in range(MOST_ROUNDS):
        state["q_value"] = state["q_value"].where(state["claimed"], _q_values(state, others))
        best = _best(state, table)
        if not best:
            break
        state.loc[best, "claimed"] = True
        left = left & ~_any(state.loc[best], table)
        state = _looked_at_again(state, table, left, look)
    return state


def _q_values(state: pd.DataFrame, others: pd.DataFrame) -> pd.Series:
    """Benjamini–Hochberg over all groups looked at, of which the `others` count as not standing out: so many bad rooms
    do not make it easier to claim an air handler. What is explained by now still counts as a test that was made."""
    own = state["p_value"].where(state["p_value"].notna() | state["p_alone"].isna(), 1.0)
    others_p = others["p_value"].where(others["p_value"].isna(), 1.0)
    both = np.concatenate([own.to_numpy(dtype=float), others_p.to_numpy(dtype=float)])
    q = pd.Series(adjusted(both)[: len(state)], index=state.index)
    return q.where(state["p_value"].notna())


def _best(state: pd.DataFrame, table: pd.DataFrame) -> list[int]:
    """The groups to claim in this round: those that stand out and share no survey with a better one."""
    fit = ~state["claimed"] & (state["q_value"] <= CLAIMED_AT) & (state["failures"] >= FEWEST_FAILURES)
    score = state["ratio"] * np.where(state["level"].eq("air handler"), AIR_HANDLER_WEIGHT, 1.0)
    taken = np.zeros(len(table), dtype=bool)
    best = []
    for key in score[fit].sort_values(ascending=False, kind="stable").index:
        mine = members_of(table, state.loc[key])
        if not (mine & taken).any():
            best.append(key)
        taken |= mine
    return best


def _looked_at_again(state: pd.DataFrame, table: pd.DataFrame, left: np.ndarray, look: Look) -> pd.DataFrame:
    """p and ratio of the groups not claimed, from the surveys that are left; missing where none are."""
    again = look(_part(table, left)) if left.any() else state.iloc[:0]
    if state["level"].eq("neighbourhood").all():  # the circle that stands out may be another one now
        fresh = again.assign(p_alone=again["p_value"], claimed=False, explained_by="", q_value=np.nan)
        return pd.concat([state[state["claimed"]], fresh], ignore_index=True)
    keys = ["level", "group"]
    renewed = (
        again.drop_duplicates(keys).set_index(keys)[["p_value", "ratio"]].reindex(pd.MultiIndex.from_frame(state[keys]))
    )
    open_ = ~state["claimed"]
    state = state.copy()
    for name in ("p_value", "ratio"):
        state.loc[open_, name] = renewed[name].to_numpy()[open_]
    claimed = state[state["claimed"]]
    for key in state.index[open_ & state["p_value"].isna() & state["p_alone"].notna()]:
        mine = members_of(table, state.loc[key])
        over = [row for _, row in claimed.iterrows() if (members_of(table, row) & mine).any()]
        names = [f"{row['level']} {row['group']}" for row in over]
        state.loc[key, "explained_by"] = "; ".join(names)
    return state


def _any(groups: pd.DataFrame, table: pd.DataFrame) -> np.ndarray:
    inside = np.zeros(len(table), dtype=bool)
    for _, row in groups.iterrows():
        inside |= members_of(table, row)
    return inside


def _part(table: pd.DataFrame, left: np.ndarray) -> pd.DataFrame:
    part = table[left]
    return part.assign(expected=expected(part))
