"""Measurement uncertainty of a hood's figures, and decisions that allow for it.

Combined by the GUM (JCGM 100): u2 = u_instrument2 + s_grid2/n + resolution2/12. Guarded grades by ILAC-G8:09/2019
(4.2.3, a guard band of the expanded uncertainty on each side of the limit). Probability of conformity by JCGM 106:2012
7."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from auditor.survey.frames import numbers, texts
from auditor.survey.units import FloatArray

COVERAGE = 2.0  # k: about 95 % for a normal distribution
GUARDED = ("pass", "conditional pass", "conditional fail", "fail")  # from best to worst


@cache
def statements() -> dict[str, Any]:
    """The statements of accuracy that stand in where an instrument's own is not recorded."""
    return tomllib.loads((resources.files("auditor.criteria") / "instruments.toml").read_text(encoding="utf-8"))


def combined(
    instrument: ArrayLike, spread: ArrayLike = 0.0, n: ArrayLike = 1, resolution: ArrayLike = 0.0
) -> FloatArray:
    """Combined standard uncertainty of a mean of n values with sample standard deviation `spread`, all in one unit.

    `instrument` is a standard uncertainty; a missing spread (one value) counts as none."""
    s = np.nan_to_num(np.asarray(spread, float))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.sqrt(
            np.asarray(instrument, float) ** 2 + s**2 / np.asarray(n, float) + np.asarray(resolution, float) ** 2 / 12
        )


def expanded(standard: ArrayLike, coverage: float = COVERAGE) -> FloatArray:
    return coverage * np.asarray(standard, float)


def guarded(margin: ArrayLike, expanded_uncertainty: ArrayLike) -> np.ndarray:
    """ILAC-G8's four grades. `margin` is the distance inside the limit (negative: beyond it), in the uncertainty's
    unit.

    Exactly at the limit is 'conditional pass', exactly at the guard band's end 'pass' or 'conditional fail'."""
    m, u = np.asarray(margin, float), np.asarray(expanded_uncertainty, float)
    grades = np.select([m >= u, m >= 0, m >= -u], GUARDED[:3], GUARDED[3]).astype(object)
    grades[np.isnan(m) | np.isnan(u)] = "not judged"
    return grades


def probability_of_conformity(
    value: ArrayLike, standard: ArrayLike, *, lower: float | None = None, upper: float | None = None
) -> FloatArray:
    """Probability that the true value lies within the tolerance, of a normal distribution about the measured one."""
    from scipy.special import ndtr

    y, u = np.asarray(value, float), np.asarray(standard, float)
    above = ndtr((y - lower) / u) if lower is not None else 1.0
    beyond = ndtr((y - upper) / u) if upper is not None else 0.0
    return np.asarray(above - beyond)


def conformity_of(findings: pd.DataFrame) -> FloatArray:
    """Probability that each finding's true value meets the limit of its pass grade; NaN for criteria in words.

    From `margin` and `expanded_uncertainty` (k = 2) of a normal distribution, one limit at a time (JCGM 106, 7.3)."""
    standard = numbers(findings, "expanded_uncertainty") / COVERAGE
    return probability_of_conformity(numbers(findings, "margin"), standard, lower=0)


class Instruments:
    """The statement of accuracy behind each survey: its instrument's own, else one for its kind, else the default.

    `records` (optional): instrument_id, kind, accuracy_percent, accuracy_fpm, accuracy_rule ('larger' or 'sum'),
    resolution_fpm; missing values are filled from the kind's statement. `basis` names what was used, per survey."""

    def __init__(self, surveys: pd.DataFrame, records: pd.DataFrame | None = None):
        known = statements()
        recorded = _recorded(surveys, records)
        kind = np.where(pd.isna(recorded["kind"]), texts(surveys, "instrument_kind"), recorded["kind"])
        kind = np.array([k if k in known else None for k in kind], dtype=object)
        stated = [known[k or known["default"]] for k in kind]
        own = ~np.isnan(recorded["accuracy_percent"]) | ~np.isnan(recorded["accuracy_fpm"])
        self.percent = np.where(
            own, np.nan_to_num(recorded["accuracy_percent"]), [s["accuracy_percent"] for s in stated]
        )
        self.offset = np.where(own, np.nan_to_num(recorded["accuracy_fpm"]), [s["accuracy_fpm"] for s in stated])
        rule = np.where(
            own & ~pd.isna(recorded["accuracy_rule"]), recorded["accuracy_rule"], [s["rule"] for s in stated]
        )
        self.sums = rule == "sum"
        resolution = recorded["resolution_fpm"]
        self.resolution = np.where(np.isnan(resolution), known["resolution_fpm"], resolution)
        assumed = np.where(pd.isna(kind), "kind of instrument not known: ", "")
        self.basis = np.where(
            own, "the instrument's own statement", assumed + np.array([s["source"] for s in stated], object)
        )

    def standard(self, velocity_fpm: FloatArray, of: np.ndarray | None = None) -> FloatArray:
        """Standard uncertainty of the instrument at a velocity, ft/min; `of` gives each velocity's survey."""
        pick = slice(None) if of is None else of
        relative = np.abs(velocity_fpm) * self.percent[pick] / 100
        offset = self.offset[pick]
        half_width = np.where(self.sums[pick], relative + offset, np.maximum(relative, offset))
        return half_width / np.sqrt(3)

    def of_reading(self, velocity_fpm: FloatArray) -> FloatArray:
        """Standard uncertainty of a single reading of each survey, ft/min."""
        return combined(self.standard(velocity_fpm), resolution=self.resolution)


def _recorded(surveys: pd.DataFrame, records: pd.DataFrame | None) -> dict[str, np.ndarray]:
    columns = ["accuracy_percent", "accuracy_fpm", "resolution_fpm"]
    if records is None or records.empty:
        frame = pd.DataFrame(index=range(len(surveys)))
    else:
        by_id = records.drop_duplicates("instrument_id", keep="last").set_index("instrument_id")
        frame = by_id.reindex(pd.Index(texts(surveys, "instrument_id"), dtype=object)).reset_index(drop=True)
    out = {c: numbers(frame, c) for c in columns}
    return out | {"kind": texts(frame, "kind"), "accuracy_rule": texts(frame, "accuracy_rule")}
