"""From units as written to ft/min and inches, exactly; what was written stays beside it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.survey.columns import LENGTH_FIELDS, VELOCITY_FIELDS
from auditor.survey.extras import extra_columns
from auditor.survey.frames import numbers, texts
from auditor.survey.observed import observed_columns
from auditor.survey.smoke import smoke_columns
from auditor.survey.tracer import tracer_columns
from auditor.survey.units import convert

NUMERIC = ("number", "coerced")  # outcomes of a reading that is a number


def normalise(surveys: pd.DataFrame, readings: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Both frames, copied, with the NORMALISED and READINGS_NORMALISED columns.

    Lengths need a unit of their own. A reported mean, minimum or maximum without one is in the unit of the survey's
    readings (`unit`); a monitor without one stays missing. NaN wherever a unit is missing or unknown. Adds besides
    `tracer_release_l_min`, `tracer_condition`, `tracer_bound_ppm`, and `smoke_local_grade`, `smoke_gross_grade`
    ('good', 'lazy', 'reverse', 'escape', 'unclear', missing where nothing was written), `washdown_grade` and
    `monitor_alarm_grade` ('works', 'fails') where the observations speak of them, and `sash_movement_ppm`,
    `vav_response_s`.
    """
    new: dict[str, np.ndarray] = {}
    for name in LENGTH_FIELDS:
        new[f"{name}_in"] = convert(numbers(surveys, name), texts(surveys, f"{name}_unit"), "in")
    governing = texts(surveys, "unit")
    for name in VELOCITY_FIELDS:
        own = texts(surveys, f"{name}_unit")
        if name.startswith("reported_"):
            own = np.where(pd.isna(own), governing, own)
        new[f"{name}_fpm"] = convert(numbers(surveys, name), own, "ft/min")
    wide = surveys.drop(columns=[c for c in new if c in surveys]).assign(**new)
    for extra in (f(surveys) for f in (tracer_columns, smoke_columns, observed_columns, extra_columns)):
        wide = wide.drop(columns=[c for c in extra if c in wide]).join(extra)
    return wide, normalise_readings(readings)


def normalise_readings(readings: pd.DataFrame) -> pd.DataFrame:
    """Adds velocity_fpm (of readings that are numbers) and bound_fpm (of censored ones)."""
    units = texts(readings, "unit")
    outcome = texts(readings, "outcome")
    velocity = convert(numbers(readings, "value"), units, "ft/min")
    bound = convert(numbers(readings, "bound"), units, "ft/min")
    return readings.assign(
        velocity_fpm=np.where(np.isin(outcome.astype(str), NUMERIC), velocity, np.nan),
        bound_fpm=np.where(outcome == "censored", bound, np.nan),
    )
