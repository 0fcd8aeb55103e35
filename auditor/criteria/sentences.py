"""The sentence about a value outside its pass grade, from the words of criteria.toml."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from auditor.criteria.loading import criteria
from auditor.criteria.profile import Limit

if TYPE_CHECKING:
    from auditor.criteria.measures import Measured

_GRADES = {
    "lazy": "it moved lazily",
    "reverse": "it reversed near the opening",
    "escape": "it was not captured, or escaped",
}


def figure(value: float, unit: str, limit: float | None = None) -> str:
    """A figure with as few digits as keep it apart from the limit ('79.96 ft/min' against 80)."""
    digits = 2 if unit == "m/s" else 3 if unit == "ppm" else 0
    while limit is not None and value != limit and digits < 6 and round(value, digits) == round(limit, digits):
        digits += 1
    body = f"{value:.{digits}f}"
    return f"{body} %" if unit == "%" else f"{body} {unit}"


def plain(value: float, unit: str) -> str:
    return f"{value:g} {unit}"


def breach_sentences(limit: Limit, measured: Measured, outcome: np.ndarray) -> np.ndarray:
    """One sentence per survey, '' where the outcome is neither restricted nor fail."""
    words = str(criteria()[limit.criterion]["beyond"])
    out = np.full(len(outcome), "", dtype=object)
    for i in np.flatnonzero((outcome == "restricted") | (outcome == "fail")):
        cell = measured.cell[i]
        at = f" ({cell})" if isinstance(cell, str) and cell else ""
        if limit.passes is None:
            grade = measured.grade[i] if measured.grade is not None else ""
            out[i] = words.format(at=at, grade=_GRADES.get(grade, grade))
        else:
            failed = outcome[i] == "fail" and limit.restricted is not None and not limit.with_smoke_escaping
            broken = limit.restricted.value if failed and limit.restricted else limit.passes.value
            value = figure(measured.value[i], limit.unit, broken)
            reference = "the mean of the grid" if limit.of == "mean" else "the design velocity"
            out[i] = words.format(at=at, measured=value, limit=plain(broken, limit.unit), reference=reference)
    return out
