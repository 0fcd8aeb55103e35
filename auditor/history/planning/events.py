"""What a ventilation event did to the hoods it touched: before and after, against the hoods it did not touch."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.history.frames import accepted, hoods
from auditor.history.integrity.bias import mean_with_interval
from auditor.history.rates import wilson

EFFECTS = [
    "happened_on", "event", "scope", "name", "hoods", "mean_change_fpm", "low_fpm", "high_fpm", "p_value",
    "change_elsewhere_fpm", "net_change_fpm", "net_low_fpm", "net_high_fpm", "not_passing_before", "recovered",
    "recovered_share", "recovered_low", "recovered_high", "newly_not_passing",
]  # fmt: skip
WITHIN_DAYS = 730  # a survey further away than that tells little about the event
SCOPES = ("hood_id", "air_handler", "room", "building")  # the narrowest that an event names counts
JUDGED = ("pass", "restricted", "fail")


def event_effects(surveys: pd.DataFrame, events: pd.DataFrame, register: pd.DataFrame) -> pd.DataFrame:
    """One row per event that has a hood with an accepted survey before and one after it; columns EFFECTS.

    `events`: `happened_on`, `event` and one of `hood_id`, `air_handler`, `room` (with `building`), `building`. Compared
    are each hood's last survey before and first survey after, at most two years away. `mean_change_fpm`: change of the
    mean face velocity over the hoods touched, with its 95 % t interval; `net_change_fpm`: the same less the change of
    all hoods not touched over the same time (Welch interval), which takes out what changed everywhere. `recovered`: of
    the hoods not passing before, those that pass after, with the Wilson interval of their share.
    """
    table = accepted(surveys).dropna(subset=["hood_id", "surveyed_on"]).sort_values(["surveyed_on", "survey_id"])
    table = table.assign(surveyed_on=pd.to_datetime(table["surveyed_on"]))
    known = hoods(register)
    found = [_one(event, table, known) for event in events.to_dict("records")]
    rows = [row for row in found if row is not None]
    return pd.DataFrame(rows, columns=EFFECTS).sort_values(["happened_on", "scope", "name"], ignore_index=True)


def _one(event: dict[str, object], table: pd.DataFrame, known: pd.DataFrame) -> dict[str, object] | None:
    on = pd.to_datetime(str(event["happened_on"]), errors="coerce")
    scope, name, touched = _touched(event, known)
    if pd.isna(on) or not len(touched):
        return None
    pairs = _before_and_after(table, on)
    mine = pairs["hood_id"].isin(touched)
    if not mine.any():
        return None
    here = pairs[mine]
    change = pairs["change"].astype(float)
    return {
        "happened_on": on, "event": event["event"], "scope": scope, "name": name, "hoods": len(here),
        **_velocities(change[mine].dropna().to_numpy(), change[~mine].dropna().to_numpy()),
        **_verdicts(here),
    }  # fmt: skip


def _touched(event: dict[str, object], known: pd.DataFrame) -> tuple[str, str, pd.Index]:
    """The scope of an event, its name, and the hoods in it."""
    for scope in SCOPES:
        value = event.get(scope)
        if value is None or pd.isna(value) or value == "":
            continue
        if scope == "hood_id":
            return "hood", str(value), pd.Index([value])
        inside = known[scope].eq(value)
        if scope == "room":
            inside &= known["building"].eq(event.get("building"))
        return scope.replace("_", " "), str(value), known.index[inside.fillna(False)]
    return "", "", pd.Index([])


def _before_and_after(table: pd.DataFrame, on: pd.Timestamp) -> pd.DataFrame:
    """hood_id, change, verdict_before, verdict_after: one row per hood with a survey on both sides of a date."""
    days = (table["surveyed_on"] - on).dt.days
    columns = ["hood_id", "face_mean_fpm", "verdict"]
    before = table.loc[(days < 0) & (days >= -WITHIN_DAYS), columns].drop_duplicates("hood_id", keep="last")
    after = table.loc[(days >= 0) & (days <= WITHIN_DAYS), columns].drop_duplicates("hood_id", keep="first")
    both = before.merge(after, on="hood_id", suffixes=("_before", "_after"))
    return both.assign(change=both["face_mean_fpm_after"].astype(float) - both["face_mean_fpm_before"].astype(float))


def _velocities(here: np.ndarray, elsewhere: np.ndarray) -> dict[str, float]:
    mean, low, high, p = mean_with_interval(here)
    net, net_low, net_high = welch(here, elsewhere)
    return {
        "mean_change_fpm": mean, "low_fpm": low, "high_fpm": high, "p_value": p,
        "change_elsewhere_fpm": float(elsewhere.mean()) if len(elsewhere) else np.nan,
        "net_change_fpm": net, "net_low_fpm": net_low, "net_high_fpm": net_high,
    }  # fmt: skip


def welch(first: np.ndarray, second: np.ndarray) -> tuple[float, float, float]:
    """Difference of two means and its 95 % interval (scipy.stats.ttest_ind, unequal variances); NaN where one side has
    fewer than two values."""
    from scipy.stats import ttest_ind

    if min(len(first), len(second)) < 2:
        return np.nan, np.nan, np.nan
    difference = float(first.mean() - second.mean())
    if np.ptp(first) == 0 and np.ptp(second) == 0:
        return difference, difference, difference
    interval = ttest_ind(first, second, equal_var=False).confidence_interval(0.95)
    return difference, float(interval.low), float(interval.high)


def _verdicts(here: pd.DataFrame) -> dict[str, float]:
    judged = here[here["verdict_before"].isin(JUDGED) & here["verdict_after"].isin(JUDGED)]
    bad_before, good_after = judged["verdict_before"].ne("pass"), judged["verdict_after"].eq("pass")
    bad, recovered = int(bad_before.sum()), int((bad_before & good_after).sum())
    low, high = wilson(np.array([recovered], dtype=float), np.array([bad], dtype=float))
    return {
        "not_passing_before": bad, "recovered": recovered, "recovered_share": recovered / bad if bad else np.nan,
        "recovered_low": float(low[0]), "recovered_high": float(high[0]),
        "newly_not_passing": int((~bad_before & ~good_after).sum()),
    }  # fmt: skip
