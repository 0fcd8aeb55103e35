"""A blind second survey of a few hoods, and what it says about each firm."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.history.frames import accepted, with_register, year_of
from auditor.history.integrity.bias import mean_with_interval

PLAN = ["order", "hood_id", "building", "floor", "room", "contractor", "survey_id", "surveyed_on"]
ACCURACY = [
    "contractor", "hoods", "bias_fpm", "bias_low_fpm", "bias_high_fpm", "p_value", "repeatability_fpm",
    "repeatability_low_fpm", "repeatability_high_fpm", "standard_uncertainty_fpm",
]  # fmt: skip
SHARE = 0.05
FEWEST_PER_FIRM = 3  # fewer say nothing about repeatability
PAIRED_WITHIN_DAYS = 120
SAME_SASH_WITHIN_IN = 1.0


def remeasure_plan(
    surveys: pd.DataFrame, register: pd.DataFrame, year: int, share: float = SHARE, seed: int = 1
) -> pd.DataFrame:
    """Hoods to be surveyed a second time, by somebody who does not know the first result; columns PLAN.

    `share` of the hoods with an accepted survey of `year`, rounded up, but at least 3 per firm where it has so many;
    strata are contractor and building, each firm's hoods spread over its buildings in proportion. `order` is random, so
    that a plan cut short is still a fair one. The same surveys, year and seed give the same plan, whatever their order;
    the first result is not in it.
    """
    this_year = accepted(surveys)[lambda table: year_of(table).eq(year).fillna(False)]
    table = with_register(this_year.dropna(subset=["hood_id"]), register)
    table = table.sort_values(["hood_id", "surveyed_on", "survey_id"]).drop_duplicates("hood_id", keep="last")
    table = table.assign(contractor=table["contractor"].astype(object).where(table["contractor"].notna(), "not named"))
    rng = np.random.default_rng([seed, year])
    drawn = [_of_firm(part, share, rng) for _, part in table.groupby("contractor", sort=True)]
    if not drawn:
        return pd.DataFrame(columns=PLAN)
    plan = pd.concat(drawn)
    plan = plan.iloc[rng.permutation(len(plan))].assign(order=np.arange(1, len(plan) + 1))
    return plan.reindex(columns=PLAN).reset_index(drop=True)


def _of_firm(part: pd.DataFrame, share: float, rng: np.random.Generator) -> pd.DataFrame:
    wanted = min(len(part), max(FEWEST_PER_FIRM, int(np.ceil(share * len(part)))))
    building = part["building"].astype("string").fillna("")
    sizes = building.value_counts().sort_index()
    counts = dict(zip(sizes.index, proportional(sizes.to_numpy(), wanted, rng), strict=True))
    chosen = [
        group.iloc[np.sort(rng.permutation(len(group))[: counts[name]])]
        for name, group in part.groupby(building, sort=True)
    ]
    return pd.concat(chosen)


def proportional(sizes: np.ndarray, wanted: int, rng: np.random.Generator) -> np.ndarray:
    """Whole numbers in proportion to `sizes` that add up to `wanted`, none above its size; what is left over after
    rounding down goes by systematic sampling of the remainders, so that every hood has the same chance."""
    exact = wanted * sizes / sizes.sum()
    counts = np.floor(exact + 1e-9).astype(int)
    left = wanted - counts.sum()
    edges = np.cumsum(exact - counts)
    ticks = rng.random() + np.arange(left)
    extra = np.searchsorted(edges, ticks * (edges[-1] / left if left else 1.0), side="right")
    np.add.at(counts, np.minimum(extra, len(sizes) - 1), 1)
    return np.minimum(counts, sizes)


def pair_up(surveys: pd.DataFrame, second: pd.DataFrame, plan: pd.DataFrame | None = None) -> pd.DataFrame:
    """First and second survey side by side: `hood_id`, `contractor` (of the first), `survey_id`, `second_id`,
    `first_fpm`, `second_fpm`.

    Paired are an accepted survey and a later or same-day one of the same hood at the same sash setting (within 1 in),
    at most 120 days apart; with `plan`, only the surveys named in it.
    """
    first = accepted(surveys)
    if plan is not None:
        first = first[first["survey_id"].isin(plan["survey_id"])]
    columns = ["hood_id", "survey_id", "surveyed_on", "face_mean_fpm", "sash_height_in"]
    pairs = first[[*columns, "contractor"]].merge(second[columns], on="hood_id", suffixes=("", "_second"))
    days = (pd.to_datetime(pairs["surveyed_on_second"]) - pd.to_datetime(pairs["surveyed_on"])).dt.days
    sash = (pairs["sash_height_in"].astype(float) - pairs["sash_height_in_second"].astype(float)).abs()
    pairs = pairs[days.between(0, PAIRED_WITHIN_DAYS) & ~(sash > SAME_SASH_WITHIN_IN)]
    pairs = pairs[pairs["survey_id"] != pairs["survey_id_second"]].assign(days=days)
    pairs = pairs.sort_values(["survey_id", "days", "survey_id_second"]).drop_duplicates("survey_id")
    named = {"face_mean_fpm": "first_fpm", "face_mean_fpm_second": "second_fpm", "survey_id_second": "second_id"}
    wanted = ["hood_id", "contractor", "survey_id", "second_id", "first_fpm", "second_fpm"]
    return pairs.rename(columns=named).reindex(columns=wanted).dropna(subset=["first_fpm", "second_fpm"])


def firm_accuracy(pairs: pd.DataFrame) -> pd.DataFrame:
    """Per contractor, from the pairs of `pair_up`: columns ACCURACY.

    `bias_fpm`: mean of first less second, 95 % t interval. `repeatability_fpm`: the standard deviation of the
    differences over the square root of two (both surveys taken as equally repeatable), with its 95 % chi-square
    interval. `standard_uncertainty_fpm` is what one survey of the firm carries beyond its instrument: the root of
    squared repeatability and squared bias, since the bias is not corrected. Missing where there are fewer than 3 pairs.
    """
    rows = [_firm(str(name), part) for name, part in pairs.groupby("contractor", sort=True)]
    return pd.DataFrame(rows, columns=ACCURACY)


def _firm(name: str, part: pd.DataFrame) -> tuple[object, ...]:
    from scipy.stats import chi2

    difference = (part["first_fpm"] - part["second_fpm"]).to_numpy(dtype=float)
    n = len(difference)
    if n < FEWEST_PER_FIRM:
        return (name, n, *([np.nan] * (len(ACCURACY) - 2)))
    bias, low, high, p = mean_with_interval(difference)
    single = float(np.std(difference, ddof=1) / np.sqrt(2))
    spread_low, spread_high = single * np.sqrt((n - 1) / chi2.ppf([0.975, 0.025], n - 1))
    return name, n, bias, low, high, p, single, spread_low, spread_high, float(np.hypot(single, bias))
