"""The trend without what a change of instrument, unit, sash or ventilation adds: pairs across a break are left out."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.history.kendall import combined, tie_sizes, two_sided


def within_breaks(series: pd.DataFrame, changes: pd.DataFrame) -> pd.DataFrame:
    """By hood_id: `breaks` (text, what changed and when; empty where nothing did), `slope_within` (ft/min per year, the
    median slope of the pairs within segments) and `p_value_within` (exact, S summed over the segments, as in a blocked
    Mann–Kendall test; missing where no order of such segments could reach 5 %). Missing where nothing changed."""
    text = _texts(changes).reindex(series["hood_id"].unique()).fillna("")
    broken = series[series["hood_id"].isin(changes["hood_id"])]
    starts = pd.MultiIndex.from_frame(changes[["hood_id", "on"]].rename(columns={"on": "surveyed_on"}))
    new = pd.MultiIndex.from_frame(broken[["hood_id", "surveyed_on"]]).isin(starts)
    segment = pd.Series(new, index=broken.index).groupby(broken["hood_id"]).cumsum()
    results = {key: _one(part, segment.loc[part.index].to_numpy()) for key, part in broken.groupby("hood_id")}
    table = pd.DataFrame.from_dict(results, orient="index", columns=["slope_within", "p_value_within"], dtype=float)
    return pd.DataFrame({"breaks": text}).join(table)


def _texts(changes: pd.DataFrame) -> pd.Series:
    if changes.empty:
        return pd.Series(dtype=object)
    said = [
        f"{row.what} {row.after} from {row.on:%Y-%m-%d}"
        if pd.isna(row.before)
        else f"{row.what} {row.before} to {row.after} from {row.on:%Y-%m-%d}"
        for row in changes.itertuples()
    ]
    return pd.Series(said, index=changes["hood_id"].to_numpy()).groupby(level=0).agg("; ".join)


def _one(part: pd.DataFrame, segment: np.ndarray) -> tuple[float, float]:
    x, y = part["years"].to_numpy(dtype=float), part["face_mean_fpm"].to_numpy(dtype=float)
    first, second = np.triu_indices(len(y), 1)
    inside = segment[first] == segment[second]
    first, second = first[inside], second[inside]
    if len(first) == 0:
        return np.nan, np.nan
    slope = float(np.median((y[second] - y[first]) / (x[second] - x[first])))
    sizes = tuple(sorted((int(size), ()) for size in np.bincount(segment)))
    untied_s, untied_chance = combined(sizes)
    if 2 * untied_chance[untied_s == untied_s[-1]].sum() > 0.05:
        return slope, np.nan
    parts = tuple((int((segment == k).sum()), tie_sizes(y[segment == k])) for k in np.unique(segment))
    return slope, two_sided(float(np.sign(y[second] - y[first]).sum()), combined(parts))
