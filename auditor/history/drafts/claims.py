"""Which groups are claimed: those that stand out, and beyond what already claimed ones explain."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from auditor.history.drafts.failures import expected
from auditor.history.drafts.levels import AREAS, ROOM, looked_at
from auditor.history.drafts.members import Members
from auditor.history.drafts.neighbourhoods import neighbourhoods
from auditor.history.trends import adjusted

CLAIMED_AT = 0.05
FEWEST_FAILURES = 3
AIR_HANDLER_WEIGHT = 4 / 3  # an air handler is named before a floor whose ratio is at most a third higher
MOST_ROUNDS = 20
Look = Callable[[pd.DataFrame], pd.DataFrame]


def claimed_groups(
    table: pd.DataFrame, members: Members, register: pd.DataFrame, rng: np.random.Generator
) -> pd.DataFrame:
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
    by_area = _claim(areas(table), pd.concat(first), table, members, everything, areas)
    outside = ~members.inside(by_area[by_area["claimed"]])
    places, in_rooms = first if outside.all() else (near(_part(table, outside)), rooms(table))
    by_place = _claim(places, pd.concat([by_area, in_rooms]), table, members, outside, near)
    by_room = _claim(in_rooms, pd.concat([by_area, by_place]), table, members, everything, rooms)
    found = pd.concat([by_area, by_place, by_room], ignore_index=True)
    return found.assign(tests=int(found["p_value"].notna().sum()))


def _claim(
    groups: pd.DataFrame, others: pd.DataFrame, table: pd.DataFrame, members: Members, left: np.ndarray, look: Look
) -> pd.DataFrame:
    """Rounds of claiming among `groups`; `others` are the groups whose p values share the false-discovery control."""
    state = groups.assign(p_alone=groups["p_value"], claimed=False, explained_by="", q_value=np.nan)
    state = state.reset_index(drop=True)
    for _ in range(MOST_ROUNDS):
        state["q_value"] = state["q_value"].where(state["claimed"], _q_values(state, others))
        best = _best(state, members)
        if not best:
            break
        state.loc[best, "claimed"] = True
        left = left & ~members.inside(state.loc[best])
        state = _looked_at_again(state, table, members, left, look)
    return state


def _q_values(state: pd.DataFrame, others: pd.DataFrame) -> pd.Series:
    """Benjamini–Hochberg over all groups looked at, of which the `others` count as not standing out: so many bad rooms
    do not make it easier to claim an air handler. What is explained by now still counts as a test that was made."""
    own = state["p_value"].where(state["p_value"].notna() | state["p_alone"].isna(), 1.0)
    others_p = others["p_value"].where(others["p_value"].isna(), 1.0)
    both = np.concatenate([own.to_numpy(dtype=float), others_p.to_numpy(dtype=float)])
    q = pd.Series(adjusted(both)[: len(state)], index=state.index)
    return q.where(state["p_value"].notna())


def _best(state: pd.DataFrame, members: Members) -> list[int]:
    """The groups to claim in this round: those that stand out and share no survey with a better one."""
    fit = ~state["claimed"] & (state["q_value"] <= CLAIMED_AT) & (state["failures"] >= FEWEST_FAILURES)
    score = state["ratio"] * np.where(state["level"].eq("air handler"), AIR_HANDLER_WEIGHT, 1.0)
    taken = np.zeros(members.surveys, dtype=bool)
    best = []
    order = score[fit].sort_values(ascending=False, kind="stable").index
    for key, mine in zip(order, members.of_each(state.loc[order]), strict=True):
        if not taken[mine].any():
            best.append(key)
        taken[mine] = True
    return best


def _looked_at_again(
    state: pd.DataFrame, table: pd.DataFrame, members: Members, left: np.ndarray, look: Look
) -> pd.DataFrame:
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
    gone = state.index[open_ & state["p_value"].isna() & state["p_alone"].notna()]
    state.loc[gone, "explained_by"] = _explained_by(state.loc[gone], state[state["claimed"]], members)
    return state


def _explained_by(gone: pd.DataFrame, claimed: pd.DataFrame, members: Members) -> list[str]:
    """For each group with nothing left to test, the claimed ones that it shares surveys with, in their order."""
    names = (claimed["level"] + " " + claimed["group"].astype(str)).tolist()
    over: dict[int, list[int]] = {}
    for number, positions in enumerate(members.of_each(claimed)):
        for position in positions.tolist():
            over.setdefault(position, []).append(number)
    found = []
    for mine in members.of_each(gone):
        numbers = {number for position in mine.tolist() for number in over.get(position, ())}
        found.append("; ".join(names[number] for number in sorted(numbers)))
    return found


def _part(table: pd.DataFrame, left: np.ndarray) -> pd.DataFrame:
    part = table[left]
    return part.assign(expected=expected(part))
