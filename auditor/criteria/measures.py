"""What each criterion judges: the value, in the limit's unit, at its worst place, and how sure it is.

A measure looks at all surveys of one profile at once. It says for each survey the value, the cell it stands in, the
standard uncertainty, and why nothing (or nothing good) can be said: `needs` where it was not measured, `partial` where
the value may be worse than what was read, so that only a breach is certain.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from auditor.criteria.profile import Limit
from auditor.criteria.uncertainty import Instruments, combined
from auditor.survey.cross_draft import draft_figures, draft_readings
from auditor.survey.face import edge_distance_in, face_cells, face_figures
from auditor.survey.frames import (
    at,
    codes_of,
    group_argmax,
    group_argmin,
    group_mean,
    numbers,
    texts,
)
from auditor.survey.units import FloatArray, convert

NOTHING = "no face velocity was measured"
INCOMPLETE = "the grid has places without a number"
CENSORED = "a reading is only known to lie below a bound, so that there is no mean"
_JUST_BELOW = 1 - 1e-8  # of a bound: what lies below it, further than the noise of conversions (see grading)
DRAFT_INCOMPLETE = "cross-draft places without a number"


class Evidence:
    """The surveys of one profile with the figures of the readings given (which may be fewer than the surveys' own)."""

    def __init__(self, surveys: pd.DataFrame, readings: pd.DataFrame, instruments: pd.DataFrame | None = None):
        self.surveys = surveys.reset_index(drop=True)
        self.n = len(surveys)
        self.cells = face_cells(readings)
        self.drafts = draft_readings(readings)
        self.cell_of = codes_of(self.cells["survey_id"], self.surveys["survey_id"])
        self.draft_of = codes_of(self.drafts["survey_id"], self.surveys["survey_id"])
        self.face = face_figures(self.surveys, self.cells)
        self.draft = draft_figures(self.surveys, self.drafts)
        self.instruments = Instruments(self.surveys, instruments)

    @cached_property
    def mean(self) -> FloatArray:
        return self.face["face_mean_fpm"].to_numpy(float)

    @cached_property
    def u_mean(self) -> FloatArray:
        points = np.maximum(self.face["face_points"].to_numpy(float), 1)
        spread = self.face["face_sd_fpm"].to_numpy(float)
        return combined(self.instruments.standard(self.mean), spread, points, self.instruments.resolution)

    @cached_property
    def design(self) -> FloatArray:
        return numbers(self.surveys, "register_design_face_velocity_fpm")

    @cached_property
    def edges(self) -> FloatArray:
        return edge_distance_in(self.surveys, self.cells)

    @cached_property
    def smoke_escapes(self) -> np.ndarray:
        grades = [texts(self.surveys, f"smoke_{k}_grade") for k in ("local", "gross")]
        return (grades[0] == "escape") | (grades[1] == "escape")

    def face_gaps(self) -> np.ndarray:
        """Why the grid's figures are not whole, '' where they are."""
        complete = self.face["face_complete"].to_numpy(bool)
        censored = self.face["face_censored"].to_numpy(bool)
        empty = (self.face["face_points"].to_numpy() == 0) & ~censored
        said = np.where(censored, CENSORED, np.where(complete, "", INCOMPLETE))
        return np.where(empty, NOTHING, said).astype(object)


@dataclass
class Measured:
    """One criterion over n surveys. `value` and `u` are in the limit's unit; `cell` where it stands; `grade` for words.

    `needs`: why there is no value; `partial`: why only a breach is certain; `monotone`: what was not read can only make
    it worse, so that every breach is certain (else only a failure counts)."""

    value: FloatArray
    cell: np.ndarray
    u: FloatArray
    needs: np.ndarray
    partial: np.ndarray
    monotone: bool = True
    grade: np.ndarray | None = None


def _blank(n: int, fill: object = "") -> np.ndarray:
    return np.full(n, fill, dtype=object)


def _needs(value: FloatArray, sentence: str | np.ndarray) -> np.ndarray:
    return np.where(np.isnan(value), sentence, "").astype(object)


def face_mean(e: Evidence, limit: Limit, missing: str) -> Measured:
    velocity = e.cells["velocity_fpm"].to_numpy(float)
    used = (e.cell_of >= 0) & ~np.isnan(velocity)
    worst = group_argmin if limit.side == "low" else group_argmax
    cell = at(texts(e.cells, "cell")[used], worst(e.cell_of[used], velocity[used], e.n), None)
    gaps = e.face_gaps()
    needs = _needs(e.mean, gaps)
    return Measured(
        convert(e.mean, "ft/min", limit.unit),
        cell,
        convert(e.u_mean, "ft/min", limit.unit),
        needs,
        gaps,
        monotone=False,
    )


def face_point(e: Evidence, limit: Limit, missing: str) -> Measured:
    """The worst cell; on the low side a censored one counts as just below its bound."""
    velocity = e.cells["velocity_fpm"].to_numpy(float)
    bound = e.cells["bound_fpm"].to_numpy(float)
    if limit.side == "low":
        velocity = np.where(np.isnan(bound), velocity, np.fmin(bound * _JUST_BELOW, velocity))
    exempt = e.edges <= limit.edge_exclusion_in if limit.edge_exclusion_in else np.zeros(len(velocity), bool)
    used = (e.cell_of >= 0) & ~np.isnan(velocity) & ~exempt
    worst = group_argmin if limit.side == "low" else group_argmax
    where = worst(e.cell_of[used], velocity[used], e.n)
    value = at(velocity[used], where)
    u = e.instruments.of_reading(value)
    partial = e.face_gaps()
    return Measured(
        convert(value, "ft/min", limit.unit), at(texts(e.cells, "cell")[used], where, None),
        convert(u, "ft/min", limit.unit), _needs(value, missing), partial,
    )  # fmt: skip


def face_spread(e: Evidence, limit: Limit, missing: str) -> Measured:
    """The cell furthest from the mean of the grid (or the design velocity), per cent of that reference.

    Its uncertainty is that of the single reading; what the instrument does to all points alike is counted in full."""
    reference = e.mean if limit.of == "mean" else e.design
    velocity = e.cells["velocity_fpm"].to_numpy(float)
    of = np.where(e.cell_of >= 0, reference[e.cell_of], np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        away = np.where(of > 0, np.abs(velocity - of) / of * 100, np.nan)
    used = (e.cell_of >= 0) & ~np.isnan(away)
    where = group_argmax(e.cell_of[used], away[used], e.n)
    value = at(away[used], where)
    with np.errstate(invalid="ignore", divide="ignore"):
        u = e.instruments.of_reading(at(velocity[used], where)) / reference * 100
    gaps = e.face_gaps()
    points = e.face["face_points"].to_numpy()
    if limit.of == "mean":  # one point is its own mean, and shows nothing of the spread
        value = np.where(points == 1, np.nan, value)
        gaps = np.where((points == 1) & (gaps == ""), "a single point shows no spread", gaps)
    lacking = np.where(points > 0, "the hood's design face velocity is not in the register", missing)
    if limit.of == "mean":
        lacking = np.where((points > 0) | (gaps == CENSORED), np.where(gaps == "", "the mean is zero", gaps), missing)
    cell = at(texts(e.cells, "cell")[used], where, None)
    return Measured(value, cell, u, _needs(value, lacking), gaps, monotone=limit.of == "design")


def _worst_draft(e: Evidence, limit: Limit) -> tuple[FloatArray, np.ndarray, FloatArray]:
    """Largest reading (or largest mean of a place), its cell, and the largest bound, ft/min."""
    velocity = e.drafts["velocity_fpm"].to_numpy(float)
    used = (e.draft_of >= 0) & ~np.isnan(velocity)
    of, v, cells = e.draft_of[used], velocity[used], texts(e.drafts, "cell")[used]
    if limit.statistic == "place-mean" and used.any():
        places = pd.DataFrame({"of": of, "place": texts(e.drafts, "place")[used]})
        place = places.groupby(["of", "place"], sort=False).ngroup().to_numpy()
        v = group_mean(place, v, int(place.max()) + 1)[place]
    where = group_argmax(of, v, e.n)
    return at(v, where), at(cells, where, None), e.draft["cross_draft_bound_fpm"].to_numpy(float)


def _draft_gaps(e: Evidence, limit: Limit, value: FloatArray, bound: FloatArray, limit_fpm: FloatArray) -> np.ndarray:
    """Why a cross-draft may be larger than what was read, '' where it cannot matter."""
    complete = e.draft["cross_draft_complete"].to_numpy(bool)
    open_bound = ~np.isnan(bound) & (bound > limit_fpm) & ~(bound <= value)
    gaps = np.where(open_bound, "a cross-draft is only known to lie below a bound above the limit", "")
    return np.where(complete, gaps, DRAFT_INCOMPLETE).astype(object)


def cross_draft(e: Evidence, limit: Limit, missing: str) -> Measured:
    value, cell, bound = _worst_draft(e, limit)
    assert limit.passes is not None
    at_limit = np.full(e.n, convert([limit.passes.value], limit.unit, "ft/min")[0])
    partial = _draft_gaps(e, limit, value, bound, at_limit)
    value = np.where(np.isnan(value), np.where(partial == "", bound * _JUST_BELOW, np.nan), value)
    u = e.instruments.of_reading(value)
    lacking = np.where(partial == "", missing, np.where(e.draft["cross_draft_points"] > 0, partial, missing))
    return Measured(
        convert(value, "ft/min", limit.unit), cell, convert(u, "ft/min", limit.unit), _needs(value, lacking), partial
    )


def cross_draft_share(e: Evidence, limit: Limit, missing: str) -> Measured:
    """Largest cross-draft, per cent of the mean face velocity."""
    value, cell, bound = _worst_draft(e, limit)
    assert limit.passes is not None
    mean = np.where(e.mean > 0, e.mean, np.nan)
    gaps = _draft_gaps(e, limit, value, bound, np.nan_to_num(mean * limit.passes.value / 100))
    face = e.face_gaps()
    partial = np.where(gaps == "", face, gaps)
    value = np.where(np.isnan(value), np.where(gaps == "", bound * _JUST_BELOW, np.nan), value)
    share = value / mean * 100
    with np.errstate(invalid="ignore", divide="ignore"):
        relative = np.sqrt((e.instruments.of_reading(value) / value) ** 2 + (e.u_mean / mean) ** 2)
        u = np.where(value > 0, share * relative, e.instruments.of_reading(value) / mean * 100)
    no_draft = e.draft["cross_draft_points"].to_numpy() == 0
    no_mean = np.where(face == "", "there is no mean face velocity to compare it with", face)
    lacking = np.where(no_draft, missing, np.where(np.isnan(mean), no_mean, partial))
    return Measured(share, cell, u, _needs(share, lacking), partial, monotone=False)


def words(e: Evidence, limit: Limit, missing: str) -> Measured:
    """Criteria judged by what somebody saw: smoke, alarm, wash-down."""
    column = {"smoke-local": "smoke_local", "smoke-gross": "smoke_gross"}.get(
        limit.criterion, limit.criterion.replace("-", "_")
    )
    grade = texts(e.surveys, f"{column}_grade")
    known = np.isin(grade.astype(str), list(limit.outcomes))
    unclear = "the words do not say whether the smoke was captured"
    needs = np.where(known, "", np.where(grade == "unclear", unclear, missing)).astype(object)
    nothing = np.full(e.n, np.nan)
    return Measured(
        nothing,
        texts(e.surveys, f"{column}_cell"),
        nothing,
        needs,
        _blank(e.n),
        grade=np.where(known, grade, _blank(e.n, None)),
    )


def column_value(name: str, field: str) -> Callable[[Evidence, Limit, str], Measured]:
    """A criterion whose value stands in one column of the surveys, in the limit's unit."""

    def measure(e: Evidence, limit: Limit, missing: str) -> Measured:
        value = numbers(e.surveys, name)
        return Measured(
            value, texts(e.surveys, f"{field}_cell"), np.full(e.n, np.nan), _needs(value, missing), _blank(e.n)
        )

    return measure


def tracer(e: Evidence, limit: Limit, missing: str) -> Measured:
    """Parts per million; a limit for one condition (AM, AI, AU) looks at ratings of that condition alone."""
    ppm, bound = numbers(e.surveys, "tracer_ppm"), numbers(e.surveys, "tracer_bound_ppm")
    assert limit.passes is not None
    value = np.where(np.isnan(ppm) & (bound <= limit.passes.value), bound, ppm)
    other = np.zeros(e.n, bool)
    if limit.condition:
        other = texts(e.surveys, "tracer_condition") != limit.condition
    value = np.where(other, np.nan, value)
    return Measured(value, texts(e.surveys, "tracer_cell"), np.full(e.n, np.nan), _needs(value, missing), _blank(e.n))


def monitor_error(e: Evidence, limit: Limit, missing: str) -> Measured:
    mean = np.where(e.mean > 0, e.mean, np.nan)
    monitor = numbers(e.surveys, "monitor_fpm")
    value = np.abs(monitor - mean) / mean * 100
    gaps = e.face_gaps()
    lacking = np.where(np.isnan(monitor), missing, np.where(gaps == "", "there is no mean face velocity", gaps))
    u = e.u_mean / mean * 100
    return Measured(value, texts(e.surveys, "monitor_cell"), u, _needs(value, lacking), gaps, monotone=False)


def airflow_design(e: Evidence, limit: Limit, missing: str) -> Measured:
    """Airflow (open area times mean), per cent off the register's design airflow."""
    area = numbers(e.surveys, "opening_area_ft2")
    design = numbers(e.surveys, "register_design_airflow_cfm")
    design = np.where(design > 0, design, np.nan)
    value = np.abs(area * e.mean - design) / design * 100
    gaps = e.face_gaps()
    u = area * e.u_mean / design * 100
    return Measured(value, _blank(e.n, None), u, _needs(value, missing), gaps, monotone=False)


MEASURES: dict[str, Callable[[Evidence, Limit, str], Measured]] = {
    "face-mean-low": face_mean,
    "face-mean-high": face_mean,
    "face-point-low": face_point,
    "face-point-high": face_point,
    "face-point-spread": face_spread,
    "cross-draft-absolute": cross_draft,
    "cross-draft-relative": cross_draft_share,
    "smoke-local": words,
    "smoke-gross": words,
    "tracer-gas": tracer,
    "sash-movement": column_value("sash_movement_ppm", "sash_movement"),
    "monitor-error": monitor_error,
    "monitor-alarm": words,
    "airflow-design": airflow_design,
    "vav-response": column_value("vav_response_s", "vav_response"),
    "washdown": words,
}
