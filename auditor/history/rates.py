"""How many hoods pass, where and when, with 95 % Wilson intervals."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from auditor.history.frames import NOT_KNOWN, RATES, accepted, hoods, label, with_register, year_of

# Name of the grouping -> the columns it is made of.
GROUPINGS: dict[str, list[str]] = {
    "year": [],
    "building": ["building"],
    "floor": ["building", "floor"],
    "department": ["department"],
    "hood type": ["hood_type"],
    "air handler": ["air_handler"],
    "contractor": ["contractor"],
}
VERDICTS = {"pass": "passed", "restricted": "restricted", "fail": "failed", "not judged": "not_judged"}


def rates(
    surveys: pd.DataFrame,
    register: pd.DataFrame,
    by: str | Sequence[str] | None = None,
    count: str = "surveys",
) -> pd.DataFrame:
    """Pass rates per group and calendar year: the contract's `rates` columns and, last, `not_judged`.

    `by`: names of GROUPINGS (default: all). `count`: 'surveys', every accepted survey; or 'hoods', each hood once a
    year by its last accepted surveying day (the worst verdict of that day). `judged` = passed + restricted + failed;
    `rate` = passed / judged with its Wilson interval, missing where nothing was judged. `held` counts held surveys,
    which are in no other figure. `not_surveyed` counts hoods in service and installed by the end of that year without
    any survey in it, held or accepted; missing by contractor. A survey whose group is missing counts under 'not known'.
    """
    names = list(GROUPINGS) if by is None else [by] if isinstance(by, str) else list(by)
    unknown = sorted(set(names) - set(GROUPINGS))
    if unknown:
        raise ValueError(f"no such grouping: {', '.join(unknown)}; there are {', '.join(GROUPINGS)}")
    table = with_register(surveys, register).assign(year=year_of(surveys))
    counted = accepted(table)
    if count == "hoods":
        counted = one_per_hood(counted)
    held = table[table["status"].eq("held")]
    missing = _not_surveyed(table, register)
    found = [_by_group(name, counted, held, missing) for name in names]
    return _with_interval(pd.concat(found, ignore_index=True))


def one_per_hood(surveys: pd.DataFrame) -> pd.DataFrame:
    """Each hood once a year: of its last surveying day, the survey with the worst verdict. Needs `year`."""
    order = surveys["verdict"].map({"fail": 0, "restricted": 1, "not judged": 2, "pass": 3}).fillna(4)
    ranked = surveys.assign(_order=order).sort_values(
        ["surveyed_on", "_order", "survey_id"], ascending=[False, True, True], kind="stable"
    )
    return ranked.drop_duplicates(["hood_id", "year"]).drop(columns="_order").sort_index()


def _by_group(name: str, counted: pd.DataFrame, held: pd.DataFrame, missing: pd.DataFrame) -> pd.DataFrame:
    verdict = counted["verdict"].map(VERDICTS).fillna("not_judged").rename("verdict")
    table = counted.groupby([group_of(name, counted), counted["year"], verdict], dropna=False).size()
    table = table.unstack("verdict", fill_value=0).reindex(columns=list(VERDICTS.values()), fill_value=0)
    held_count = held.groupby([group_of(name, held), held["year"]], dropna=False).size().rename("held")
    not_surveyed = missing.groupby([group_of(name, missing), missing["year"]]).size().rename("not_surveyed")
    parts = [part for part in (table, held_count, not_surveyed) if len(part)]
    if not parts:
        return pd.DataFrame(columns=[*RATES, "not_judged"])
    joined = pd.concat([_plain(part) for part in parts], axis=1).reset_index()
    joined = joined.reindex(columns=["group", "year", *VERDICTS.values(), "held", "not_surveyed"])
    filled = joined.fillna({key: 0 for key in joined.columns if key not in ("group", "year")})
    if name == "contractor":
        filled["not_surveyed"] = pd.NA
    return filled.assign(by=name).sort_values(["group", "year"], kind="stable")


def _plain(part: pd.DataFrame | pd.Series) -> pd.DataFrame | pd.Series:
    """The same with an index of text and float year (NaN where there is none), so that parts can be joined."""
    group = part.index.get_level_values(0).astype(object)
    year = part.index.get_level_values(1).astype("Float64").to_numpy(dtype=float, na_value=np.nan)
    return part.set_axis(pd.MultiIndex.from_arrays([group, year], names=["group", "year"]))


def group_of(name: str, table: pd.DataFrame) -> pd.Series:
    if name == "year":
        text = table["year"].astype("string").astype(object)
    elif set(GROUPINGS[name]) <= set(table.columns):
        text = label(table, GROUPINGS[name])
    else:
        text = pd.Series(None, index=table.index, dtype=object)
    return text.where(text.notna(), NOT_KNOWN).rename("group")


def _not_surveyed(table: pd.DataFrame, register: pd.DataFrame) -> pd.DataFrame:
    """One row per hood and year in which it was in service and has no survey at all."""
    years = table["year"].dropna()
    known = hoods(register).reset_index()
    known = known[~known["in_service"].map(lambda value: str(value).lower() in ("false", "0", "no")).astype(bool)]
    span = range(int(years.min()), int(years.max()) + 1) if len(years) else range(0)
    expected = known.merge(pd.DataFrame({"year": pd.array(list(span), dtype="Int64")}), how="cross")
    installed = pd.to_datetime(expected["installed_on"], errors="coerce").dt.year
    expected = expected[installed.isna() | (installed <= expected["year"].astype(float))]
    seen = pd.MultiIndex.from_frame(table.loc[table["year"].notna(), ["hood_id", "year"]])
    return expected[~pd.MultiIndex.from_frame(expected[["hood_id", "year"]]).isin(seen)]


def _with_interval(table: pd.DataFrame) -> pd.DataFrame:
    counts = ["passed", "restricted", "failed", "held", "not_surveyed", "not_judged"]
    table = table.astype(dict.fromkeys([*counts, "year"], "Int64"))
    judged = table["passed"] + table["restricted"] + table["failed"]
    low, high = wilson(table["passed"].to_numpy(dtype=float), judged.to_numpy(dtype=float))
    share = (table["passed"] / judged.where(judged > 0)).astype("Float64").to_numpy(dtype=float, na_value=np.nan)
    table = table.assign(judged=judged, rate=share, low=low, high=high)
    return table.reindex(columns=[*RATES, "not_judged"]).reset_index(drop=True)


def wilson(successes: np.ndarray, trials: np.ndarray, confidence: float = 0.95) -> tuple[np.ndarray, np.ndarray]:
    """Wilson's score interval of each share; NaN where there were no trials. Source: statsmodels proportion_confint."""
    from statsmodels.stats.proportion import proportion_confint

    some = trials > 0
    safe = np.where(some, trials, 1.0)
    low, high = proportion_confint(np.where(some, successes, 0.0), safe, alpha=1 - confidence, method="wilson")
    return np.where(some, np.clip(low, 0, 1), np.nan), np.where(some, np.clip(high, 0, 1), np.nan)
