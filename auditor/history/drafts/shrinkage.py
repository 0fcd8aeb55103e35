"""Failure rates of small groups, drawn towards the rate of all."""

from __future__ import annotations

import numpy as np


def shrunk_rates(failures: np.ndarray, surveys: np.ndarray) -> np.ndarray:
    """Empirical Bayes estimate of each group's rate.

    Group i keeps 1 - B of its distance from the common rate m; B = (k-3)/(k-1) v/(v + A), with v = m(1-m)/n the
    variance by chance and A the variance between the k groups by moments. With equal n this is the estimator of Efron
    and Morris (1975) [M], check value E26. With A = 0 every group gets m, with n without bound its own rate. Fewer than
    four groups are drawn with the full v/(v + A). NaN where a group has no surveys.
    """
    failures, surveys = np.asarray(failures, dtype=float), np.asarray(surveys, dtype=float)
    some = surveys > 0
    result = np.full(len(failures), np.nan)
    if not some.any():
        return result
    y, n = failures[some], surveys[some]
    k, mean = len(y), y.sum() / n.sum()
    if k < 2:
        result[some] = mean
        return result
    by_chance = mean * (1 - mean) / n
    between = _between(y / n, n, mean, k)
    drawn = np.ones(k)
    if between > 0:
        factor = (k - 3) / (k - 1) if k > 3 else 1.0
        drawn = factor * by_chance / (by_chance + between)
    result[some] = mean + (1 - drawn) * (y / n - mean)
    return result


def _between(rates: np.ndarray, n: np.ndarray, mean: float, k: int) -> float:
    """Variance between groups: weighted sum of squares less what chance adds to it (DerSimonian-Laird moments [M])."""
    squares = float((n * (rates - mean) ** 2).sum())
    return (squares - (k - 1) * mean * (1 - mean)) / float(n.sum() - (n**2).sum() / n.sum())
