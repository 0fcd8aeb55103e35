"""The trend without what a change of instrument, unit, sash or ventilation adds: pairs across a break are left out."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pandas as pd

from auditor.history.kendall import combined, tie_sizes, two_sided


def within_breaks(series: pd.DataFrame, changes: pd.DataFrame) -> pd.DataFrame:
    """By hood_id: `breaks` (text, what changed and when; empty where nothing did), `slope_within` (ft/min per year, the
    median slope of the pairs within segments) and `p_value_within` (exact, S summed over the segments, as in a blocked
    Mann–Kendall test; missing where no order of such segments could reach 5 %). Missing where nothing changed."""
    text = _texts(changes).reindex(series["hood_id"].unique()).fillna("")
    broken = series[series["hood_id"].isin(changes["hood_id"])].sort_values(["hood_id", "surveyed_on"], kind="stable")
    starts = pd.MultiIndex.from_frame(changes[["hood_id", "on"]].rename(columns={"on": "surveyed_on"}))
    new = pd.MultiIndex.from_frame(broken[["hood_id", "surveyed_on"]]).isin(starts)
    segment = pd.Series(new, index=broken.index).groupby(broken["hood_id"]).cumsum().to_numpy(dtype=int)
    hood, x = broken["hood_id"].to_numpy(dtype=object), broken["years"].to_numpy(dtype=float)
    y = broken["face_mean_fpm"].to_numpy(dtype=float)
    bounds = np.flatnonzero(hood[1:] != hood[:-1]) + 1
    edges = zip([0, *bounds], [*bounds, len(hood)], strict=True) if len(hood) else []
    results = {hood[low]: _one(x[low:high], y[low:high], segment[low:high]) for low, high in edges}
    table = pd.DataFrame.from_dict(results, orient="index", columns=["slope_within", "p_value_within"], dtype=float)
    return pd.DataFrame({"breaks": text}).join(table)


def _texts(changes: pd.DataFrame) -> pd.Series:
    if changes.empty:
        return pd.Series(dtype=object)
    dates = pd.to_datetime(changes["on"]).dt.strftime("%Y-%m-%d")
    said = [
        f"{what} {after} from {on}" if pd.isna(before) else f"{what} {before} to {after} from {on}"
        for what, before, after, on in zip(changes["what"], changes["before"], changes["after"], dates, strict=True)
    ]
    return pd.Series(said, index=changes["hood_id"].to_numpy()).groupby(level=0).agg("; ".join)


def _one(x: np.ndarray, y: np.ndarray, segment: np.ndarray) -> tuple[float, float]:
    first, second = np.triu_indices(len(y), 1)
    inside = segment[first] == segment[second]
    first, second = first[inside], second[inside]
    if len(first) == 0:
        return np.nan, np.nan
    slope = float(np.median((y[second] - y[first]) / (x[second] - x[first])))
    if 2 * _least_chance(tuple(sorted(np.bincount(segment).tolist()))) > 0.05:
        return slope, np.nan
    parts = tuple((int((segment == k).sum()), tie_sizes(y[segment == k])) for k in np.unique(segment))
    return slope, two_sided(float(np.sign(y[second] - y[first]).sum()), combined(parts))


@lru_cache(maxsize=4096)
def _least_chance(sizes: tuple[int, ...]) -> float:
    """The chance that every segment rises throughout."""
    _, chance = combined(tuple((size, ()) for size in sizes))
    return float(chance[-1])
