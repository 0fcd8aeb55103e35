"""Whether a hood's mean face velocity rises or falls, how sure that is, and when it would reach a limit."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import pandas as pd

from auditor.history.frames import TRENDS
from auditor.history.kendall import p_value, pair_signs, smallest_rejected, tie_sizes
from auditor.history.series import DAYS_PER_YEAR, breaks, drift, hood_series
from auditor.history.theil_sen import slopes_with_interval
from auditor.history.within import within_breaks

CLAIMED_AT = 0.05  # unadjusted, as the contract has it; q_value says what all hoods together allow
HORIZON_YEARS = 30.0
EXTRA = [
    "limit_from", "limit_to", "first_on", "last_on", "last_fpm", "breaks", "slope_within", "p_value_within",
    "drift_fpm", "drift_percent", "drift_since", "drift_from", "rank",
    "held",
]  # fmt: skip
Limit: TypeAlias = "float | pd.Series | None"


def trends(
    surveys: pd.DataFrame,
    register: pd.DataFrame,
    low_limit_fpm: Limit = None,
    high_limit_fpm: Limit = None,
    events: pd.DataFrame | None = None,
    instruments: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """The contract's `trends` columns and then EXTRA, one row per hood with an accepted survey, by `hood_id`.

    Series: `hood_series`. `slope_*` in ft/min per year; `p_value` exact two-sided Mann–Kendall, missing and trend
    'too few' where no order of so few values could reach 5 % (fewer than 5); `q_value` Benjamini–Hochberg over the
    hoods tested, those with a p_value. `limit_reached_on`: where the line through the medians of a falling (rising)
    hood meets its low (high) limit, at most 30 years ahead, with `limit_from` and `limit_to` (95 %; missing: not within
    that time).
    Limits: one number, or a Series by hood_id. `breaks` names what changed along the way, and `slope_within`,
    `p_value_within` leave out every pair of surveys across such a change. `rank` 1 needs someone first.
    `held` counts the hood's held surveys, which are in no figure here.
    """
    series = hood_series(surveys, register, instruments)
    if series.empty:
        return pd.DataFrame(columns=[*TRENDS, *EXTRA])
    changes = breaks(series, register, events)
    table = pd.concat([_of_length(n, part) for n, part in series.groupby("length")]).sort_index()
    table["q_value"] = adjusted(table["p_value"].to_numpy(dtype=float))
    table["trend"] = _named(table)
    table = table.join(_limits(table, low_limit_fpm, high_limit_fpm))
    table = table.join(within_breaks(series, changes)).join(drift(series))
    table["rank"] = _rank(table, low_limit_fpm)
    held = surveys[surveys["status"].eq("held")].groupby("hood_id").size()
    table["held"] = held.reindex(table.index).fillna(0).astype(int)
    return table.reset_index(names="hood_id").reindex(columns=[*TRENDS, *EXTRA])


def adjusted(p_values: np.ndarray) -> np.ndarray:
    """Benjamini–Hochberg q values over those that are not NaN (scipy.stats.false_discovery_control)."""
    from scipy.stats import false_discovery_control

    known = ~np.isnan(p_values)
    q = np.full(len(p_values), np.nan)
    if known.any():
        q[known] = false_discovery_control(np.clip(p_values[known], 0, 1))
    return q


def _of_length(n: object, part: pd.DataFrame) -> pd.DataFrame:
    """Slopes and p values of all hoods with the same number of surveys; indexed by hood_id."""
    size = int(str(n))
    hood_ids = part["hood_id"].to_numpy(dtype=object).reshape(-1, size)[:, 0]
    x = part["years"].to_numpy(dtype=float).reshape(-1, size)
    y = part["face_mean_fpm"].to_numpy(dtype=float).reshape(-1, size)
    dates = part["surveyed_on"].to_numpy().reshape(-1, size)
    fitted = slopes_with_interval(x, y)
    statistic = pair_signs(y).sum(axis=1)
    tested = smallest_rejected(size) is not None
    p = [p_value(int(s), size, tie_sizes(row)) if tested else np.nan for s, row in zip(statistic, y, strict=True)]
    columns = {
        "surveys": size, "slope_fpm_per_year": fitted[:, 0], "slope_low": fitted[:, 1], "slope_high": fitted[:, 2],
        "p_value": p, "statistic": statistic, "x_median": np.median(x, axis=1), "y_median": np.median(y, axis=1),
        "level_half_fpm": _level_half(x, y, fitted[:, 0]), "first_on": dates[:, 0], "last_on": dates[:, -1],
        "last_fpm": y[:, -1],
    }  # fmt: skip
    return pd.DataFrame(columns, index=pd.Index(hood_ids))


def _level_half(x: np.ndarray, y: np.ndarray, slope: np.ndarray) -> np.ndarray:
    """Half the 95 % interval of the line's height at the median date: t times the standard error of a median (1.2533
    times that of a mean, for normal errors), from the residuals; NaN for fewer than 3 points."""
    from scipy.stats import t

    n = y.shape[1]
    if n < 3:
        return np.full(len(y), np.nan)
    around = slope[:, None] * (x - np.median(x, axis=1, keepdims=True))
    residuals = y - np.median(y, axis=1, keepdims=True) - around
    return t.isf(0.025, n - 2) * 1.2533 * np.sqrt((residuals**2).sum(axis=1) / (n - 2) / n)


def _named(table: pd.DataFrame) -> np.ndarray:
    claimed = table["p_value"] <= CLAIMED_AT
    direction = np.where(table["statistic"] > 0, "rising", "falling")
    return np.where(table["p_value"].isna(), "too few", np.where(claimed, direction, "none"))


def _limits(table: pd.DataFrame, low: Limit, high: Limit) -> pd.DataFrame:
    """When the line through the medians meets the limit that it moves towards; and the earliest and latest date by the
    slope's interval and the height's."""
    falling, rising = table["trend"].eq("falling"), table["trend"].eq("rising")
    limit = _per_hood(low, table.index).where(falling, _per_hood(high, table.index).where(rising))
    gap = (limit - table["y_median"]) * np.where(falling, -1.0, 1.0)  # how far it still has to go, ft/min
    speed = table["slope_fpm_per_year"].abs()
    limits = table[["slope_low", "slope_high"]].abs()
    fast, slow, half = limits.max(axis=1), limits.min(axis=1), table["level_half_fpm"]
    near, far = gap - half, gap + half
    return pd.DataFrame(
        {
            "limit_reached_on": _dates(table, gap / speed),
            "limit_from": _dates(table, near / fast.where(near > 0, slow)),
            "limit_to": _dates(table, far / slow.where(far > 0, fast)),
        }
    )


def _per_hood(limit: Limit, index: pd.Index) -> pd.Series:
    if isinstance(limit, pd.Series):
        return limit.reindex(index).astype(float)
    return pd.Series(np.nan if limit is None else float(limit), index=index)


def _dates(table: pd.DataFrame, years_from_median: pd.Series) -> pd.Series:
    years = years_from_median + table["x_median"]  # since the hood's first survey
    ahead = years - (table["last_on"] - table["first_on"]).dt.days / DAYS_PER_YEAR
    years = years.where(np.isfinite(years) & (ahead <= HORIZON_YEARS) & (years > -HORIZON_YEARS))
    return (table["first_on"] + pd.to_timedelta((years * DAYS_PER_YEAR).round(), unit="D")).dt.as_unit("s")


def _rank(table: pd.DataFrame, low: Limit) -> pd.Series:
    """Order of need: below the limit now, then by the date at which it would be reached, then falling hoods, then the
    distance of the last survey from the limit."""
    margin = table["last_fpm"] - _per_hood(low, table.index)
    order = pd.DataFrame(
        {
            "below": ~(margin < 0),
            "on": table["limit_reached_on"].fillna(pd.Timestamp.max.as_unit("s")),
            "falling": ~table["trend"].eq("falling"),
            "margin": margin.fillna(np.inf),
            "velocity": table["last_fpm"],
        }
    )
    ordered = order.sort_values(list(order.columns), kind="stable").index
    return pd.Series(np.arange(1, len(table) + 1), index=ordered).reindex(table.index)
