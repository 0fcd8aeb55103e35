"""Theil–Sen's slope with an interval that agrees with the exact Mann–Kendall test.

The slope is the median of the slopes of all pairs (scipy.stats.theilslopes gives the same). The interval inverts the
exact test: it leaves out zero where, and only where, p is at most 5 % (ties apart), so its coverage is never below what
it states. For 5 to 10 surveys at 95 % it is the interval that scipy's normal approximation gives. Source: Sen (1968).
"""

from __future__ import annotations

import numpy as np

from auditor.history.kendall import smallest_rejected


def slopes_with_interval(x: np.ndarray, y: np.ndarray, alpha: float = 0.05) -> np.ndarray:
    """Slope, lower and upper limit for many series of one length.

    x, y: (series, n), x ascending and without ties within a row. Gives (series, 3), in units of y per unit of x; limits
    are NaN where no test at `alpha` can reject (fewer than 5 points at 5 %).
    """
    first, second = np.triu_indices(x.shape[1], 1)
    slopes = np.sort((y[:, second] - y[:, first]) / (x[:, second] - x[:, first]), axis=1)
    pairs = slopes.shape[1]
    result = np.full((len(x), 3), np.nan)
    if pairs == 0:
        return result
    result[:, 0] = np.median(slopes, axis=1)
    rejected = smallest_rejected(x.shape[1], alpha)
    if rejected is not None:
        rank = (pairs - rejected + 2) // 2  # 1-based: this many slopes must lie below the limit
        result[:, 1] = slopes[:, rank - 1]
        result[:, 2] = slopes[:, pairs - rank]
    return result
