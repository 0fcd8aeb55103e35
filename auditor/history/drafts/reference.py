"""How unusual a group's failures are: a likelihood ratio, and how often chance draws as high a one.

The reference moves whole units: hoods with all their surveys among rooms, and whole rooms among floors, buildings and
air handlers. So what repeats in one hood, or is shared by the hoods of one room, is no evidence about anything larger.
"""

from __future__ import annotations

import numpy as np

FIRST_DRAWS = 2_000
LAST_DRAWS = 200_000
ELEMENTS = 2_000_000  # units drawn at most for one size of group
LOOK_CLOSER = 0.005  # p values below this are drawn again, more often
CHUNK = 1_000_000


def log_likelihood_ratio(
    failures: np.ndarray, expected: np.ndarray, total_failures: float, total_expected: float | None = None
) -> np.ndarray:
    """Kulldorff's Poisson log likelihood ratio of an excess inside a group against the rest; 0 where there is none.

    With c failures of C and E expected of the same total: c ln(c/E) + (C - c) ln((C - c)/(C - E)). Source: Kulldorff
    (1997) [M]; check value E25 of the trade facts: c = 106, E = 62.13, C = 552 give 14.78206.
    """
    c, e = np.asarray(failures, dtype=float), np.asarray(expected, dtype=float)
    total = float(total_failures)
    e = e * (total / total_expected) if total_expected else e
    outside, outside_expected = total - c, np.maximum(total - e, 1e-12)
    with np.errstate(divide="ignore", invalid="ignore"):
        inside_term = np.where(c > 0, c * np.log(c / e), 0.0)
        outside_term = np.where(outside > 0, outside * np.log(outside / outside_expected), 0.0)
    excess = c * outside_expected > outside * e
    return np.where(excess & (e > 0), inside_term + outside_term, 0.0)


def highest_of_any_set(
    failures: np.ndarray, expected: np.ndarray, total_failures: float, total_expected: float
) -> np.ndarray:
    """The highest ratio that any set of rooms has; failures, expected: (draws, rooms). It bounds every circle's.

    The ratio has the linear-time subset scanning property (Neill 2012 [M]): the best of all sets is among the first 1,
    2 ... rooms in the order of failures per expected.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        excess = np.where(failures > 0, failures / expected, 0.0)
    order = np.argsort(-excess, axis=1)
    first = [np.take_along_axis(of, order, axis=1).cumsum(axis=1) for of in (failures, expected)]
    return log_likelihood_ratio(first[0], first[1], total_failures, total_expected).max(axis=1)


def chances(
    observed: np.ndarray, sizes: np.ndarray, failures: np.ndarray, expected: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """p value of each group: the share of random groups of as many units whose ratio is at least as high.

    observed, sizes: (groups,), ratio and number of units; failures, expected: (units,), the pool drawn from, without
    replacement. (1 + exceedances) / (1 + draws). NaN for groups of one unit, or of all: nothing to compare.
    """
    result = np.full(len(observed), np.nan)
    for size in np.unique(sizes):
        if 2 <= size < len(failures):
            mine = sizes == size
            result[mine] = _for_size(observed[mine], int(size), failures, expected, rng)
    return result


def _for_size(
    observed: np.ndarray, size: int, failures: np.ndarray, expected: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    p = _compared(observed, _draw(size, FIRST_DRAWS, failures, expected, rng))
    again = (p < LOOK_CLOSER) & (observed > 0)
    if again.any():
        draws = int(np.clip(ELEMENTS // size, 10 * FIRST_DRAWS, LAST_DRAWS))
        p[again] = _compared(observed[again], _draw(size, draws, failures, expected, rng))
    return p


def _compared(observed: np.ndarray, drawn: np.ndarray) -> np.ndarray:
    drawn.sort()
    at_least = len(drawn) - np.searchsorted(drawn, observed - 1e-9, side="left")
    return (1 + at_least) / (1 + len(drawn))


def _draw(size: int, draws: int, failures: np.ndarray, expected: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Ratios of random groups. Each shuffle of the pool is cut into as many groups of this size as it holds."""
    pool, total, total_expected = len(failures), float(failures.sum()), float(expected.sum())
    groups = pool // size
    shuffles = -(-draws // groups)
    step = max(1, CHUNK // pool)
    found = []
    for start in range(0, shuffles, step):
        order = np.tile(np.arange(pool), (min(step, shuffles - start), 1))
        order = rng.permuted(order, axis=1)[:, : groups * size].reshape(-1, size)
        sums = failures[order].sum(axis=1), expected[order].sum(axis=1)
        found.append(log_likelihood_ratio(*sums, total, total_expected))
    return np.concatenate(found)
