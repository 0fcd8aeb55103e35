"""Mann–Kendall's test, exact for short series with ties.

S is the number of rising pairs less the number of falling ones. Its null distribution, over all orders of the values
(ties keep their sizes), is that of the inversions of a multiset: the Gaussian multinomial coefficient
[n]! / ([t1]! [t2]! ...), where [m]! is the product of (1 - q^k) for k to m. Source: Kendall, Rank Correlation Methods
[M]; tabulated in Gilbert (1987), table A18 [M]; without ties scipy.stats.kendalltau(method='exact') gives the same.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

EXACT_UP_TO = 60  # longer series: normal approximation with continuity correction


def pair_signs(values: np.ndarray) -> np.ndarray:
    """Signs of later minus earlier for all pairs: (..., n) gives (..., n (n - 1) / 2)."""
    first, second = np.triu_indices(values.shape[-1], 1)
    return np.sign(values[..., second] - values[..., first])


def tie_sizes(values: np.ndarray) -> tuple[int, ...]:
    """Sizes of the groups of equal values that have two or more, ascending."""
    _, counts = np.unique(values, return_counts=True)
    return tuple(sorted(int(count) for count in counts if count > 1))


def variance(n: int, ties: tuple[int, ...] = ()) -> float:
    """Variance of S under the null: n(n-1)(2n+5)/18 less the same term of each group of ties."""

    def term(m: int) -> float:
        return m * (m - 1) * (2 * m + 5) / 18

    return term(n) - sum(term(t) for t in ties)


@lru_cache(maxsize=4096)
def null_distribution(n: int, ties: tuple[int, ...] = ()) -> tuple[np.ndarray, np.ndarray]:
    """The values that S can take (ascending) and the chance of each, exactly."""
    counts = _inversions(n, ties)
    pairs = len(counts) - 1
    total = sum(counts)
    s = pairs - 2 * np.arange(pairs + 1)
    chance = np.array([count / total for count in counts], dtype=float)
    return s[::-1], chance[::-1]


def _inversions(n: int, ties: tuple[int, ...]) -> list[int]:
    """Number of orders with 0, 1, 2 ... inversions, in exact integers."""
    degree = n * (n - 1) // 2 - sum(t * (t - 1) // 2 for t in ties)
    counts = [1] + [0] * degree
    for factor in range(1, n + 1):
        _times(counts, factor)
    for size in (1,) * (n - sum(ties)) + ties:
        for factor in range(1, size + 1):
            _divided(counts, factor)
    return counts


def _times(counts: list[int], power: int) -> None:
    """Multiply by (1 - q^power), in place and cut off at the degree."""
    for k in range(len(counts) - 1, power - 1, -1):
        counts[k] -= counts[k - power]


def _divided(counts: list[int], power: int) -> None:
    """Divide by (1 - q^power), in place."""
    for k in range(power, len(counts)):
        counts[k] += counts[k - power]


@lru_cache(maxsize=4096)
def combined(parts: tuple[tuple[int, tuple[int, ...]], ...]) -> tuple[np.ndarray, np.ndarray]:
    """Null distribution of S summed over independent segments, each (n, ties): pairs across a break do not count."""
    s, chance = np.array([0]), np.array([1.0])
    for n, ties in parts:
        values, chances = null_distribution(n, ties)
        chance = np.convolve(_dense(s, chance), _dense(values, chances))
        low, high = s[0] + values[0], s[-1] + values[-1]
        s = np.arange(low, high + 1)
    return s, chance


def _dense(s: np.ndarray, chance: np.ndarray) -> np.ndarray:
    full = np.zeros(s[-1] - s[0] + 1)
    full[s - s[0]] = chance
    return full


def two_sided(statistic: float, distribution: tuple[np.ndarray, np.ndarray]) -> float:
    """Chance of a value at least as far from zero (the distribution is symmetric)."""
    s, chance = distribution
    return float(min(1.0, chance[np.abs(s) >= abs(statistic)].sum()))


def p_value(statistic: int, n: int, ties: tuple[int, ...] = ()) -> float:
    """Two-sided p: exact up to 60 values, else by the normal approximation with continuity correction."""
    if n <= EXACT_UP_TO:
        return two_sided(statistic, null_distribution(n, ties))
    from scipy.stats import norm

    return float(min(1.0, 2 * norm.sf(abs(z_score(statistic, n, ties)))))


def z_score(statistic: float, n: int, ties: tuple[int, ...] = ()) -> float:
    """S less its sign, over its standard deviation: for long series only."""
    spread = variance(n, ties) ** 0.5
    return float((statistic - np.sign(statistic)) / spread) if spread else 0.0


@lru_cache(maxsize=512)
def smallest_rejected(n: int, alpha: float = 0.05) -> int | None:
    """The smallest positive S of n values without ties whose two-sided p is at most alpha; None where no S has it, as
    for 4 values at 5 %."""
    if n > EXACT_UP_TO:
        from scipy.stats import norm

        pairs = n * (n - 1) // 2
        least = int(np.ceil(norm.isf(alpha / 2) * variance(n) ** 0.5)) + 1
        return least + (pairs - least) % 2
    s, chance = null_distribution(n)
    tail = np.cumsum(chance[::-1])[::-1]
    rejected = s[(s > 0) & (2 * tail <= alpha * (1 + 1e-12))]
    return int(rejected[0]) if len(rejected) else None
