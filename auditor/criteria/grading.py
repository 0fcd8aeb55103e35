"""The grades of one limit, on arrays of values in its unit."""

from __future__ import annotations

import numpy as np

from auditor.criteria.profile import Bound, Limit
from auditor.survey.units import FloatArray

# Conversion to another unit and back may move a number by its last binary places; nothing written is that fine.
_FLOAT_NOISE = 1e-9


def satisfies(values: FloatArray, bound: Bound, side: str) -> np.ndarray:
    """Whether values are within a bound that is broken on `side`; equality to the bound by its strictness."""
    same = np.isclose(values, bound.value, rtol=_FLOAT_NOISE, atol=1e-12)
    with np.errstate(invalid="ignore"):
        within = values > bound.value if side == "low" else values < bound.value
    return np.where(same, not bound.strict, within)


def grade_numbers(limit: Limit, values: FloatArray) -> np.ndarray:
    """pass, restricted, fail; 'not judged' for NaN. Unrounded; the grades cover the whole line."""
    assert limit.passes is not None
    outcome = np.full(len(values), limit.beyond, dtype=object)
    if limit.restricted:
        outcome[satisfies(values, limit.restricted, limit.side)] = "restricted"
    outcome[satisfies(values, limit.passes, limit.side)] = "pass"
    outcome[np.isnan(values)] = "not judged"
    return outcome


def margin_inside(limit: Limit, values: FloatArray) -> FloatArray:
    """Distance inside the limit of the pass grade, in its unit; negative beyond it; NaN for limits in words."""
    if limit.passes is None:
        return np.full(len(values), np.nan)
    return values - limit.passes.value if limit.side == "low" else limit.passes.value - values
