"""What the functions of this room share: columns of their results, and surveys joined with the register."""

from __future__ import annotations

import pandas as pd

RATES = [
    "by", "group", "year", "judged", "passed", "restricted", "failed", "rate", "low", "high", "held", "not_surveyed",
]  # fmt: skip
TRENDS = [
    "hood_id", "surveys", "slope_fpm_per_year", "slope_low", "slope_high", "p_value", "q_value", "trend",
    "limit_reached_on",
]  # fmt: skip
CLUSTERS = [
    "level", "group", "surveys", "failures", "expected", "p_value", "q_value", "claimed", "years", "shared", "remedy",
]  # fmt: skip

NOT_KNOWN = "not known"
SEPARATOR = " / "
FROM_REGISTER = ["building", "floor", "room", "department", "hood_type", "air_handler", "working_sash_in"]


def accepted(surveys: pd.DataFrame) -> pd.DataFrame:
    """The surveys that count: neither held nor superseded."""
    return surveys[surveys["status"].eq("accepted")]


def hoods(register: pd.DataFrame) -> pd.DataFrame:
    """One row per hood, on `hood_id`, with every register column that this room uses (missing where absent)."""
    table = register.drop_duplicates("hood_id", keep="last").set_index("hood_id")
    wanted = [*FROM_REGISTER, "installed_on", "in_service", "x_ft", "y_ft"]
    return table.reindex(columns=wanted)


def with_register(surveys: pd.DataFrame, register: pd.DataFrame) -> pd.DataFrame:
    """The surveys with the register's columns added; a column that the survey has (its place on that day) stays."""
    table = hoods(register)[FROM_REGISTER]
    joined = surveys.join(table, on="hood_id", rsuffix="_of_register")
    for name in FROM_REGISTER:
        other = f"{name}_of_register"
        if other in joined:
            joined[name] = joined[name].astype(object).where(joined[name].notna(), joined[other])
    return joined.drop(columns=[f"{name}_of_register" for name in FROM_REGISTER], errors="ignore")


def label(table: pd.DataFrame, columns: list[str]) -> pd.Series:
    """'Building / floor / room' of each row; missing where one of the columns is missing."""
    parts = [table[name] for name in columns]
    known = pd.concat(parts, axis=1).notna().all(axis=1)
    text = parts[0].astype("string")
    for part in parts[1:]:
        text = text + SEPARATOR + part.astype("string")
    return text.astype(object).where(known, None)


def year_of(surveys: pd.DataFrame) -> pd.Series:
    """The calendar year of each survey, Int64, missing where the date is."""
    return pd.to_datetime(surveys["surveyed_on"]).dt.year.astype("Int64")


def place_label(table: pd.DataFrame, columns: list[str]) -> pd.Series:
    """'Building / floor / room'; a floor that the register does not have is left out of a room's label, but there is no
    floor of that name."""
    last = table[columns[-1]]
    parts = table[columns].astype("string").fillna("")
    text = parts[columns[0]]
    for name in columns[1:]:
        text = text + (SEPARATOR + parts[name]).where(parts[name] != "", "")
    return text.astype(object).where(last.notna() & table[columns[0]].notna(), None)
