"""The fix planner: how many hoods each action can be expected to bring back, and from what that is known."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import Any

import pandas as pd

from auditor.history.frames import accepted, place_label, with_register

PLAN = [
    "level", "group", "action", "what", "hoods_not_passing", "hoods_answered", "chance", "expected_back", "back_low",
    "back_high", "tried_on", "based_on", "hood_ids",
]  # fmt: skip
BAD = ("restricted", "fail")
LEVELS = {"campus": [], "air handler": ["air_handler"], "room": ["building", "floor", "room"]}


@lru_cache(maxsize=1)
def actions() -> dict[str, dict[str, Any]]:
    """The actions of actions.toml, cheapest first."""
    return tomllib.loads(files(__package__).joinpath("actions.toml").read_text(encoding="utf-8"))


def action_of(event: object) -> str | None:
    """The action that an event's words name, or None: 'air handler rebalanced' is 'rebalance'."""
    text = str(event).lower()
    return next((name for name, entry in actions().items() if any(word in text for word in entry["events"])), None)


def fix_plan(
    surveys: pd.DataFrame, findings: pd.DataFrame, register: pd.DataFrame, effects: pd.DataFrame | None = None
) -> pd.DataFrame:
    """For the campus, each air handler and each room with a hood not passing now: columns PLAN, most hoods back first.

    A hood's state is its last accepted survey. An action answers a hood where it answers every criterion that the hood
    fails (actions.toml), so one action is never credited with a hood that needs two. `chance`: the share of hoods that
    passed after events of that kind (`effects`: the frame of `event_effects`, hoods not passing before); where there
    was none, the share of hoods failing the same criteria that passed at their next survey, whatever was done;
    `based_on` says which and of how many. `expected_back` with the 95 % interval of a beta-binomial prediction
    (Jeffreys prior), so that little experience gives a wide one. The same hood can stand under several actions: they
    are alternatives, not to be added up.
    """
    now = _not_passing_now(surveys, findings, register)
    if now.empty:
        return pd.DataFrame(columns=PLAN)
    tried = _experience(surveys, findings, effects)
    rows = []
    for action, entry in actions().items():
        answered = now[[criteria <= set(entry["criteria"]) for criteria in now["criteria"]]]
        for level, columns in LEVELS.items():
            rows += _of_level(action, str(entry["title"]), level, columns, answered, now, tried[action])
    plan = pd.DataFrame(rows, columns=PLAN)
    return plan.sort_values(
        ["expected_back", "level", "group", "action"], ascending=[False, True, True, True], ignore_index=True
    )


def _failed_criteria(findings: pd.DataFrame) -> pd.Series:
    bad = findings[findings["outcome"].isin(BAD)]
    return bad.groupby("survey_id")["criterion"].agg(frozenset)


def _not_passing_now(surveys: pd.DataFrame, findings: pd.DataFrame, register: pd.DataFrame) -> pd.DataFrame:
    """The hoods whose last accepted survey is restricted or failed, with the set of criteria that they fail."""
    last = accepted(surveys).dropna(subset=["hood_id", "surveyed_on"]).sort_values(["surveyed_on", "survey_id"])
    last = with_register(last.drop_duplicates("hood_id", keep="last"), register)
    last = last[last["verdict"].isin(BAD)]
    criteria = last["survey_id"].map(_failed_criteria(findings))
    return last.assign(criteria=criteria)[criteria.notna()].sort_values("hood_id")


def _experience(
    surveys: pd.DataFrame, findings: pd.DataFrame, effects: pd.DataFrame | None
) -> dict[str, tuple[int, int, str]]:
    """Per action: hoods recovered, of how many, and in words."""
    known: dict[str, tuple[int, int, str]] = {}
    if effects is not None and len(effects):
        named = effects.assign(action=[action_of(event) for event in effects["event"]])
        for action, part in named.groupby("action"):
            tried, back = int(part["not_passing_before"].sum()), int(part["recovered"].sum())
            if tried:
                known[str(action)] = (
                    back,
                    tried,
                    f"of {tried} hoods not passing before {len(part)} such events, {back} passed after",
                )
    next_time = _next_survey(surveys, findings)
    for action, entry in actions().items():
        if action not in known:
            same = next_time[[bool(c) and c <= set(entry["criteria"]) for c in next_time["criteria"]]]
            tried, back = len(same), int(same["passed_next"].sum())
            known[action] = (
                back,
                tried,
                f"no such event on record; of {tried} hoods failing so, {back} passed at the next survey",
            )
    return known


def _next_survey(surveys: pd.DataFrame, findings: pd.DataFrame) -> pd.DataFrame:
    """Every accepted survey that failed and has a later judged one of the same hood: criteria, passed_next."""
    table = (
        accepted(surveys).dropna(subset=["hood_id", "surveyed_on"]).sort_values(["hood_id", "surveyed_on", "survey_id"])
    )
    table = table[table["verdict"].isin(("pass", *BAD))]
    following = table.groupby("hood_id")["verdict"].shift(-1)
    criteria = table["survey_id"].map(_failed_criteria(findings))
    known = table["verdict"].isin(BAD) & following.notna() & criteria.notna()
    return pd.DataFrame({"criteria": criteria[known], "passed_next": following[known].eq("pass")})


def _of_level(
    action: str, title: str, level: str, columns: list[str], answered: pd.DataFrame, now: pd.DataFrame,
    tried: tuple[int, int, str],
) -> list[dict[str, object]]:  # fmt: skip
    rows = []
    for group, part in _groups(answered, columns):
        whole = dict(_groups(now, columns))[group]
        back, low, high, chance = expected_back(len(part), tried[0], tried[1])
        rows.append(
            {
                "level": level, "group": group, "action": action, "what": title, "hoods_not_passing": len(whole),
                "hoods_answered": len(part), "chance": chance, "expected_back": back, "back_low": low,
                "back_high": high, "tried_on": tried[1], "based_on": tried[2], "hood_ids": ", ".join(part["hood_id"]),
            }
        )  # fmt: skip
    return rows


def _groups(table: pd.DataFrame, columns: list[str]) -> list[tuple[str, pd.DataFrame]]:
    if not columns:
        return [("all hoods", table)] if len(table) else []
    groups = table.groupby(place_label(table, columns), sort=True)
    return [(str(group), part) for group, part in groups]


def expected_back(hoods: int, recovered: int, tried: int) -> tuple[float, int, int, float]:
    """Expected number of `hoods` that come back, the 95 % interval of that number, and the chance of one.

    Beta-binomial with the Jeffreys prior: the chance is (recovered + 1/2) / (tried + 1).
    """
    from scipy.stats import betabinom

    a, b = recovered + 0.5, tried - recovered + 0.5
    low, high = betabinom.ppf([0.025, 0.975], hoods, a, b)
    return hoods * a / (a + b), int(low), int(high), a / (a + b)
