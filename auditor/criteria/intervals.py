"""How long a survey holds, and from what a hood is due again."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from auditor.criteria.hood_types import hood_type
from auditor.criteria.loading import combine
from auditor.criteria.profile import Profile
from auditor.survey.frames import days, numbers, texts

# Events after which a hood is surveyed again before it counts as surveyed; repairs answer a finding and need a retest.
CHANGES = (
    "rebalanc",
    "balanc",
    "fan",
    "mov",
    "relocat",
    "replac",
    "control",
    "change",
    "duct",
    "damper",
    "supply",
    "refurb",
)
REPAIRS = ("repair", "correct", "adjust", "mend", "fixed", "cleaned", "serviced")


def interval_months(register: pd.DataFrame, profiles: Mapping[str, Profile], default: str) -> np.ndarray:
    """Months from a survey to the next, shape (hoods,): the register's, else the profile's for the type, else its
    own."""
    own = numbers(register, "interval_months")
    out = np.empty(len(register), dtype=int)
    for i, (profile, kind) in enumerate(_profile_and_type(register, profiles, default)):
        months = profile.interval.by_type.get(kind, profile.interval.months)
        out[i] = months if np.isnan(own[i]) or own[i] <= 0 else int(own[i])
    return out


def ends_with_month(register: pd.DataFrame, profiles: Mapping[str, Profile], default: str) -> np.ndarray:
    """Whether a survey holds to the end of the month of its day, shape (hoods,)."""
    pairs = _profile_and_type(register, profiles, default)
    return np.array([profile.interval.ends == "month" for profile, _ in pairs], dtype=bool)


def _profile_and_type(
    register: pd.DataFrame, profiles: Mapping[str, Profile], default: str
) -> list[tuple[Profile, str]]:
    fallback = combine(profiles, default)
    if fallback is None:
        raise KeyError(f"the default profile {default!r} is not known")
    named = {n: combine(profiles, str(n)) for n in set(texts(register, "profile")) if n is not None}
    kinds = [hood_type(None if k is None else str(k)).name for k in texts(register, "hood_type")]
    by_type = {k: combine(profiles, n) or fallback for k, n in fallback.by_type.items()}
    own = [named.get(p) for p in texts(register, "profile")]
    return [(p or by_type.get(k, fallback), k) for p, k in zip(own, kinds, strict=True)]


def next_due(last: np.ndarray, months: np.ndarray, month_end: np.ndarray) -> np.ndarray:
    """The last day on which a survey still holds: the same day that many months on (the last of a shorter month), or
    the end of that month. NaT where there is no survey. Shapes (n,), datetime64[D]."""
    last = last.astype("datetime64[D]")
    month = last.astype("datetime64[M]")
    target = month + np.where(np.isnat(last), 0, months).astype("timedelta64[M]")
    final = (target + np.timedelta64(1, "M")).astype("datetime64[D]") - np.timedelta64(1, "D")
    day = target.astype("datetime64[D]") + (last - month.astype("datetime64[D]"))
    return np.where(month_end, final, np.minimum(day, final))


def last_events(register: pd.DataFrame, events: pd.DataFrame, today: np.datetime64) -> pd.DataFrame:
    """For each hood the latest change of ventilation and the latest repair up to today that concern it: changed_on,
    change, repaired_on. An event names a hood, an air handler, or a place (building, floor, room); what it leaves empty
    is not restricted, and one that names none of them concerns no hood."""
    out = pd.DataFrame({"changed_on": pd.NaT, "change": None, "repaired_on": pd.NaT}, index=range(len(register)))
    out = out.astype({"changed_on": "datetime64[s]", "repaired_on": "datetime64[s]", "change": object})
    if events is None or not len(events):
        return out
    happened, what = days(events, "happened_on"), texts(events, "event")
    scopes = {c: texts(events, c) for c in ("hood_id", "air_handler", "building", "floor", "room")}
    places = {c: texts(register, c) for c in scopes}
    for i in np.argsort(happened, kind="stable"):
        if np.isnat(happened[i]) or happened[i] > today:
            continue
        kind = _kind(str(what[i] or ""))
        # an event on one hood may carry its building as a remark; the narrowest scope that it names decides
        named = [c for c in scopes if scopes[c][i] is not None and str(scopes[c][i]).strip()]
        if kind is None or not named:
            continue
        hit = np.ones(len(register), dtype=bool)
        for column in ["hood_id"] if "hood_id" in named else named:
            hit &= places[column] == scopes[column][i]
        if kind == "change":
            out.loc[hit, "changed_on"] = happened[i]
            out.loc[hit, "change"] = what[i]
        else:
            out.loc[hit, "repaired_on"] = happened[i]
    return out


def _kind(event: str) -> str | None:
    word = event.casefold()
    if any(w in word for w in REPAIRS):
        return "repair"
    return "change" if any(w in word for w in CHANGES) else None
