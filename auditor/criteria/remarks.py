"""What should be read beside a finding that it does not change: usual ranges, rounding, the sash, lazy smoke."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from auditor.criteria.grading import grade_numbers
from auditor.criteria.profile import Bound, Limit
from auditor.survey.frames import numbers
from auditor.survey.units import FloatArray, convert

if TYPE_CHECKING:
    from auditor.criteria.doubts import Doubts
    from auditor.criteria.judging import Result
    from auditor.criteria.measures import Evidence


def remarks_of(e: Evidence, doubts: Doubts, results: Mapping[tuple[str, str], Result]) -> pd.DataFrame:
    """survey_id, criterion ('' for the whole survey), remark."""
    ids = e.surveys["survey_id"].to_numpy()
    rows = [(ids[i], "", doubts.remark[i]) for i in np.flatnonzero(doubts.remark != "")]
    for result in results.values():
        for where, text in _of_limit(result):
            rows += [(ids[i], result.limit.criterion, text) for i in np.flatnonzero(where & result.applies)]
        rows += [(ids[i], result.limit.criterion, text) for i, text in _actual(e, result)]
    return pd.DataFrame(rows, columns=["survey_id", "criterion", "remark"])


def with_remarks(verdicts: pd.DataFrame, remarks: pd.DataFrame) -> pd.DataFrame:
    """The verdicts, their reasons followed by the remarks of the survey, each once."""
    if remarks.empty:
        return verdicts
    said = remarks.drop_duplicates(["survey_id", "remark"]).groupby("survey_id", sort=False)["remark"].agg("; ".join)
    beside = verdicts["survey_id"].map(said)
    reason = verdicts["reason"].to_numpy(dtype=object, copy=True)
    more = beside.notna().to_numpy()
    reason[more] = [
        f"{r}; remark: {b}" if r else f"remark: {b}" for r, b in zip(reason[more], beside[more], strict=True)
    ]
    return verdicts.assign(reason=reason)


def _of_limit(result: Result) -> list[tuple[np.ndarray, str]]:
    limit, value = result.limit, result.measured.value
    judged = result.outcome != "not judged"
    out = []
    if result.measured.grade is not None:
        lazy = (result.measured.grade == "lazy") & (result.outcome == "pass")
        out.append((lazy, "the smoke moved lazily before it was drawn in: look at baffle and air supply"))
    for remark in limit.remarks:
        with np.errstate(invalid="ignore"):
            within = judged & ~np.isnan(value)
            within &= value > (-np.inf if remark.above is None else remark.above)
            within &= value <= (np.inf if remark.up_to is None else remark.up_to)
        out.append((within, remark.text))
    return out + _rounding(limit, value, result.outcome, judged)


def _actual(e: Evidence, result: Result) -> list[tuple[np.intp, str]]:
    """Where the actual velocity, of a sheet that gives standard ones, would turn the outcome of a mean round."""
    if not result.limit.criterion.startswith("face-mean"):
        return []
    actual = e.mean / numbers(e.surveys, "air_density_ratio")
    other = grade_numbers(result.limit, convert(actual, "ft/min", result.limit.unit))
    differs = (result.outcome != "not judged") & (other != "not judged") & (other != result.outcome)
    text = (
        "the sheet gives standard velocities: the actual mean was {:.1f} ft/min, by which the outcome would be another"
    )
    return [(i, text.format(actual[i])) for i in np.flatnonzero(differs)]


def _rounding(limit: Limit, value: FloatArray, outcome: np.ndarray, judged: np.ndarray) -> list[tuple[np.ndarray, str]]:
    """Where the source's printed rounding would turn the outcome round."""
    out = []
    if limit.printed and limit.passes:
        printed, unit = limit.printed
        other = grade_numbers(_at(limit, printed), convert(value, limit.unit, unit))
        within = judged & ((other == "pass") != (outcome == "pass"))
        exact = convert([limit.passes.value], limit.unit, unit)[0]
        out.append(
            (
                within,
                f"the source prints {printed:g} {unit} for {limit.passes.value:g} {limit.unit}, which is {exact:.2f} "
                f"{unit}: by the printed figure the outcome would be another",
            )
        )
    if limit.printed_step:
        rounded = np.floor(value / limit.printed_step + 0.5) * limit.printed_step
        within = judged & (grade_numbers(limit, rounded) != outcome)
        step = f"{limit.printed_step:g} {limit.unit}"
        out.append(
            (within, f"the source prints its grades in steps of {step}: rounded so, the outcome would be another")
        )
    return out


def _at(limit: Limit, value: float) -> Limit:
    assert limit.passes is not None
    return replace(limit, passes=Bound(value, limit.passes.strict), restricted=None)
