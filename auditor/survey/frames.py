"""Small helpers for the frames: columns that may be absent, and sums over groups."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.survey.units import FloatArray


def numbers(frame: pd.DataFrame, name: str) -> FloatArray:
    """A column as floats, shape (n,); all NaN where the frame lacks it."""
    if name not in frame:
        return np.full(len(frame), np.nan)
    return pd.to_numeric(frame[name], errors="coerce").to_numpy(dtype=float, na_value=np.nan)


def texts(frame: pd.DataFrame, name: str) -> np.ndarray:
    """A column as objects, str or None, shape (n,); all None where the frame lacks it."""
    if name not in frame:
        return np.full(len(frame), None, dtype=object)
    column = frame[name].astype(object)
    return column.where(column.notna(), None).to_numpy(dtype=object)


def days(frame: pd.DataFrame, name: str) -> np.ndarray:
    """A column of dates, or of ISO 8601 texts with or without a time, as datetime64[s]; NaT where missing, or where the
    frame lacks the column."""
    if name not in frame:
        return np.full(len(frame), np.datetime64("NaT"), dtype="datetime64[s]")
    column = pd.to_datetime(frame[name], errors="coerce", format="ISO8601")
    return column.to_numpy(dtype="datetime64[s]")


def flags(frame: pd.DataFrame, name: str, default: bool = False) -> np.ndarray:
    """A column as booleans; `default` where missing or where the frame lacks it."""
    if name not in frame:
        return np.full(len(frame), default)
    column = frame[name].astype(object)
    return column.where(column.notna(), default).astype(bool).to_numpy()


def codes_of(keys: pd.Series, among: pd.Series) -> np.ndarray:
    """For each key its position in `among` (unique), -1 where it is not there."""
    return np.asarray(pd.Index(among).get_indexer(pd.Index(keys)))


def group_sum(codes: np.ndarray, values: np.ndarray, groups: int) -> FloatArray:
    return np.bincount(codes, weights=values, minlength=groups).astype(float)


def group_mean(codes: np.ndarray, values: np.ndarray, groups: int) -> FloatArray:
    """Mean of each group, NaN where it has no value. Corrected once for the rounding of the first sum."""
    count = np.bincount(codes, minlength=groups).astype(float)
    count[count == 0] = np.nan
    first = group_sum(codes, values, groups) / count
    return first + group_sum(codes, values - first[codes], groups) / count


def group_sd(codes: np.ndarray, values: np.ndarray, groups: int) -> FloatArray:
    """Sample standard deviation (n - 1) of each group in two passes, NaN below two values."""
    count = np.bincount(codes, minlength=groups).astype(float)
    squares = group_sum(codes, (values - group_mean(codes, values, groups)[codes]) ** 2, groups)
    return np.where(count > 1, np.sqrt(squares / np.where(count > 1, count - 1, 1)), np.nan)


def group_argmin(codes: np.ndarray, values: np.ndarray, groups: int) -> np.ndarray:
    """Position of the least value of each group (the first of equals), -1 where it has none. No NaN in `values`."""
    out = np.full(groups, -1)
    if not len(codes):
        return out
    order = None
    if (codes[1:] < codes[:-1]).any():  # readings mostly come survey by survey, and need no sorting then
        order = np.argsort(codes, kind="stable")
        codes, values = codes[order], values[order]
    starts = np.flatnonzero(np.r_[True, codes[1:] != codes[:-1]])
    least = np.minimum.reduceat(values, starts)
    hits = np.flatnonzero(values == np.repeat(least, np.diff(np.r_[starts, len(codes)])))
    first = hits[np.r_[True, codes[hits][1:] != codes[hits][:-1]]]
    out[codes[first]] = first if order is None else order[first]
    return out


def group_argmax(codes: np.ndarray, values: np.ndarray, groups: int) -> np.ndarray:
    return group_argmin(codes, -values, groups)


def at(values: np.ndarray, positions: np.ndarray, missing: object = np.nan) -> np.ndarray:
    """values[positions], `missing` where a position is -1."""
    out = np.full(len(positions), missing, dtype=values.dtype if values.dtype == float else object)
    there = positions >= 0
    out[there] = values[positions[there]]
    return out
