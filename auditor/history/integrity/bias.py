"""Whether an instrument (or a firm) reads high or low against the same hoods' other surveys."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.history.frames import accepted
from auditor.history.trends import adjusted

BIAS = ["group", "hoods", "surveys", "difference_fpm", "low_fpm", "high_fpm", "p_value", "q_value", "detail"]
FEWEST_HOODS = 5
SAME_SASH_WITHIN_IN = 1.0


def instrument_bias(surveys: pd.DataFrame, by: str = "instrument_id") -> pd.DataFrame:
    """One row per value of `by` that has at least 5 hoods also surveyed with others: columns BIAS.

    Accepted surveys at a hood's usual sash setting. For each hood the mean of its surveys with this instrument less the
    mean of its surveys with all others; then the mean over hoods with its 95 % t interval and p, and `q_value` over all
    tested (Benjamini–Hochberg). Hoods that changed in between, or others that are biased themselves, shift it: a
    question to ask, not a correction to make.
    """
    known = accepted(surveys).dropna(subset=["hood_id", "face_mean_fpm", by])
    sash = known["sash_height_in"].astype(float)
    usual = sash.groupby(known["hood_id"]).transform("median")
    known = known[~((sash - usual).abs() > SAME_SASH_WITHIN_IN)]
    table = known.groupby(["hood_id", by])["face_mean_fpm"].agg(["sum", "size"]).reset_index()
    whole = table.groupby("hood_id")[["sum", "size"]].transform("sum")
    table["others"] = whole["size"] - table["size"]
    table = table[table["others"] > 0].copy()
    table["difference"] = table["sum"] / table["size"] - (whole["sum"] - table["sum"]) / table["others"]
    found = [_one(key, part) for key, part in table.groupby(by, sort=True) if len(part) >= FEWEST_HOODS]
    result = pd.DataFrame(found, columns=BIAS[:-2])
    result["q_value"] = adjusted(result["p_value"].to_numpy(dtype=float))
    result["detail"] = [_said(row) for row in result.itertuples()]
    return result


def _one(key: object, part: pd.DataFrame) -> tuple[object, ...]:
    mean, low, high, p = mean_with_interval(part["difference"].to_numpy(dtype=float))
    return key, len(part), int(part["size"].sum()), mean, low, high, p


def mean_with_interval(values: np.ndarray) -> tuple[float, float, float, float]:
    """Mean, its 95 % t interval, and the two-sided p of no difference (scipy.stats.ttest_1samp). NaN for one value."""
    from scipy.stats import ttest_1samp

    if len(values) < 2:
        return float(values.mean()) if len(values) else np.nan, np.nan, np.nan, np.nan
    if np.ptp(values) == 0:  # no spread at all: the test is not defined
        return float(values[0]), float(values[0]), float(values[0]), 1.0 if values[0] == 0 else 0.0
    test = ttest_1samp(values, 0.0)
    interval = test.confidence_interval(0.95)
    return float(values.mean()), float(interval.low), float(interval.high), float(test.pvalue)


def _said(row) -> str:
    side = "higher" if row.difference_fpm > 0 else "lower"
    return (
        f"{row.group} reads {abs(row.difference_fpm):.1f} ft/min {side} than the other surveys of the same {row.hoods} "
        f"hoods (95 %: {row.low_fpm:+.1f} to {row.high_fpm:+.1f})."
    )
