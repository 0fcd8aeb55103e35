"""Figures from a record over time: how fast a variable-volume hood recovers, what a moving sash lets out.

The readings of such tests come as series, not as grids; what they give goes into the columns `vav_response_s` and
`sash_movement_ppm` of the surveys.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from auditor.survey.units import FloatArray


def _series(seconds: ArrayLike, values: ArrayLike) -> tuple[FloatArray, FloatArray]:
    t, v = np.asarray(seconds, float), np.asarray(values, float)
    if t.shape != v.shape or t.ndim != 1:
        raise ValueError("seconds and values are two series of one length")
    if (np.diff(t) <= 0).any():
        raise ValueError("seconds have to rise")
    return t, v


def response_time_s(seconds: ArrayLike, flow: ArrayLike, required: float, share: float = 0.90) -> float:
    """Seconds from the first reading until the flow first reaches 90 % of what is required; NaN where it never does.

    ANSI/ASHRAE 110 (seen second-hand): the sash is opened at 1.5 ft/s at time zero. Between two readings the flow is
    taken as a straight line."""
    t, v = _series(seconds, flow)
    above = np.flatnonzero(v >= share * required)
    if not len(above):
        return float("nan")
    i = int(above[0])
    if i == 0:
        return 0.0
    part = (share * required - v[i - 1]) / (v[i] - v[i - 1])
    return float(t[i - 1] + part * (t[i] - t[i - 1]) - t[0])


def steady_after_s(seconds: ArrayLike, flow: ArrayLike, required: float, within: float = 0.10) -> float:
    """Seconds from the first reading until the flow stays between 90 % and 110 % of what is required to the end of the
    record; NaN where it does not, so that a record that ends too early never passes."""
    t, v = _series(seconds, flow)
    outside = np.flatnonzero(~(np.abs(v - required) <= within * required * (1 + 1e-12)))
    if not len(v) or (len(outside) and outside[-1] == len(v) - 1):
        return float("nan")
    return float(t[outside[-1] + 1] - t[0]) if len(outside) else 0.0


def flow_variation_percent(flow: ArrayLike, design: float) -> float:
    """Largest distance of the flow from its design value, per cent, over sash openings or over time (Z9.5-2003 6.5.3.2,
    seen second-hand, allows 10 %); NaN where any value is missing."""
    v = np.asarray(flow, float)
    return float(np.max(np.abs(v - design)) / design * 100) if len(v) else float("nan")


def sash_movement_effect_ppm(seconds: ArrayLike, ppm: ArrayLike, window_s: float = 45.0) -> float:
    """The highest rolling mean of the tracer gas after the sash has moved, ppm; the window of 45 s is from memory.

    NaN where the record is shorter than the window or lacks a value."""
    t, v = _series(seconds, ppm)
    if not len(t) or t[-1] - t[0] < window_s or np.isnan(v).any():
        return float("nan")
    area = np.r_[0, np.cumsum(np.diff(t) * (v[1:] + v[:-1]) / 2)]
    begins = t[t <= t[-1] - window_s]
    means = (np.interp(begins + window_s, t, area) - np.interp(begins, t, area)) / window_s
    ends = t[t >= t[0] + window_s]
    others = (np.interp(ends, t, area) - np.interp(ends - window_s, t, area)) / window_s
    return float(max(means.max(), others.max()))
