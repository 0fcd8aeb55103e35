"""Why a survey, or its face velocities, cannot be judged though it was made."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.criteria.hood_types import hood_types, is_setback
from auditor.criteria.profile import Profile
from auditor.survey.frames import numbers, texts

SASH_TOLERANCE_IN = 1.0
NO_SASH = ("none", "horizontal")


@dataclass
class Doubts:
    """Sentences per survey, '' where there is no doubt. `nothing`: nothing may be judged. `face`: of what depends on
    the face velocity only a failure counts. `remark`: judged, with this remark."""

    nothing: np.ndarray
    face: np.ndarray
    remark: np.ndarray


def doubts_of(surveys: pd.DataFrame, profile: Profile) -> Doubts:
    kinds = hood_types(surveys)
    routed = np.array([k.routed for k in kinds], dtype=object)
    setback = is_setback(surveys)
    if profile.mode == "normal":
        mode = np.where(setback, "it was surveyed in setback, which shows nothing of the hood in use", "")
    else:
        mode = np.where(setback, "", "the profile is for setback, and the survey was not made in setback")
    nothing = np.where(routed != "", routed, mode).astype(object)
    variable = np.array([k.variable_volume for k in kinds], dtype=bool)
    face, remark = _sash(surveys, profile, variable)
    return Doubts(nothing, face, remark)


def _sash(surveys: pd.DataFrame, profile: Profile, variable: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    n = len(surveys)
    face, remark = np.full(n, "", dtype=object), np.full(n, "", dtype=object)
    if not profile.sash_applies:
        return face, remark
    sash = numbers(surveys, "sash_height_in")
    own = numbers(surveys, "register_working_sash_in")
    fallback = np.nan if profile.sash_height_in is None else profile.sash_height_in
    working = np.where(np.isnan(own), fallback, own)
    vertical = ~np.isin(texts(surveys, "register_sash_type").astype(str), NO_SASH)
    face[np.isnan(sash) & vertical] = "the sash height at the test is not known"
    low = (sash < working - SASH_TOLERANCE_IN - 1e-9) & vertical
    high = (sash > working + SASH_TOLERANCE_IN + 1e-9) & vertical
    for where, out, sentence in (
        (
            low & ~variable,
            face,
            "the sash stood at {:.4g} in, below the working height of {:.4g} in: a low sash flatters",
        ),
        (low & variable, remark, "the sash stood at {:.4g} in, below the working height of {:.4g} in"),
        (high, remark, "the sash stood at {:.4g} in, above the working height of {:.4g} in"),
    ):
        for i in np.flatnonzero(where):
            out[i] = sentence.format(sash[i], working[i])
    return face, remark
