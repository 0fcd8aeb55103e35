"""Reproducible chance: draws that do not change with the version of Python or of a library.

Only `random.Random(text).random()` is used, whose stream is fixed, and the normal quantile.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from statistics import NormalDist
from typing import TypeVar

SEED = "tern-hill-1"
_NORMAL = NormalDist()
T = TypeVar("T")


class Chance:
    """A stream of draws of its own for each set of keys, so that one hood's readings do not move another's."""

    def __init__(self, *keys: object):
        self._random = random.Random(":".join([SEED, *map(str, keys)]))

    def uniform(self, low: float = 0.0, high: float = 1.0) -> float:
        return low + (high - low) * self._random.random()

    def normal(self, mean: float, sd: float) -> float:
        return mean + sd * _NORMAL.inv_cdf(min(max(self._random.random(), 1e-12), 1 - 1e-12))

    def lognormal(self, median: float, sigma: float) -> float:
        return median * math.exp(self.normal(0.0, sigma))

    def integer(self, low: int, high: int) -> int:
        return low + int(self._random.random() * (high - low + 1))

    def choice(self, items: Sequence[T]) -> T:
        return items[int(self._random.random() * len(items))]

    def happens(self, probability: float) -> bool:
        return self._random.random() < probability
