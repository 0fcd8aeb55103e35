"""The limits that a hood is judged by, as figures for tables and charts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import pandas as pd

if TYPE_CHECKING:
    from auditor.criteria import Profile
    from auditor.criteria.profile import Limit

DEFAULT = "common-practice"


def profile_named(name: Any, profiles: Mapping[str, Profile] | None = None) -> Profile:
    """The profile of that name (two may be joined, 'a + b'); the default one where there is none."""
    from auditor.criteria import combine, load_profiles

    known = load_profiles() if profiles is None else profiles
    found = combine(known, name) if isinstance(name, str) and name.strip() else None
    return found or known[DEFAULT]


def limit_rows(profile: Profile) -> pd.DataFrame:
    """Every limit of a profile (rows of `auditor.criteria.describe`) and `value_fpm` where it is a velocity."""
    from auditor.criteria import describe
    from auditor.survey.units import VELOCITY, convert

    table = pd.DataFrame(describe(profile))
    if table.empty:
        return table.assign(value_fpm=pd.Series(dtype=float))
    velocity = table["unit"].isin(list(VELOCITY))
    table["value_fpm"] = float("nan")
    table.loc[velocity, "value_fpm"] = convert(
        table.loc[velocity, "value"].astype(float), table.loc[velocity, "unit"].to_numpy(dtype=object), "ft/min"
    )
    return table


def mean_limits(register: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """Lowest and highest mean face velocity of each hood's pass grade (ft/min), by hood_id; missing where its profile
    sets none."""
    named = register.set_index("hood_id")["profile"] if "profile" in register else pd.Series(dtype=object)
    known = {name: _mean_window(profile_named(name)) for name in named.dropna().unique()}
    default = _mean_window(profile_named(None))
    pairs = [known.get(name, default) for name in named]
    return (
        pd.Series([low for low, _ in pairs], index=named.index, dtype=float),
        pd.Series([high for _, high in pairs], index=named.index, dtype=float),
    )


def _mean_window(profile: Profile) -> tuple[float, float]:
    table = limit_rows(profile)
    passing = table[table["grade"].eq("pass")].drop_duplicates("criterion").set_index("criterion")["value_fpm"]
    return float(passing.get("face-mean-low", float("nan"))), float(passing.get("face-mean-high", float("nan")))


def limit_of(profile: Profile, criterion: str) -> Limit | None:
    return next((limit for limit in profile.limits if limit.criterion == criterion), None)
