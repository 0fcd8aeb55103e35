"""From criteria to a verdict: any fail gives fail, else any restricted restricted, else a required criterion that is
not judged gives not judged, else pass. Without smoke or cross-draft a hood is never passed, whatever the profile
says."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from auditor.criteria.profile import DRAFT, SMOKE, Profile
from auditor.criteria.uncertainty import GUARDED
from auditor.survey.columns import VERDICTS
from auditor.survey.frames import texts

if TYPE_CHECKING:
    from auditor.criteria.doubts import Doubts
    from auditor.criteria.judging import Result
    from auditor.criteria.measures import Evidence


def verdicts_of(
    e: Evidence, profile: Profile, doubts: Doubts, results: Mapping[tuple[str, str], Result]
) -> pd.DataFrame:
    """VERDICTS, one row per survey of the evidence."""
    any_of = {k: _any(results, e.n, k) for k in ("fail", "restricted")}
    lacking = _lacking(e, profile, doubts, results)
    verdict = np.select(
        [any_of["fail"], any_of["restricted"], lacking != ""], ["fail", "restricted", "not judged"], "pass"
    ).astype(object)
    return pd.DataFrame(
        {
            "survey_id": e.surveys["survey_id"],
            "hood_id": texts(e.surveys, "hood_id"),
            "profile": profile.name,
            "profile_version": profile.version,
            "verdict": verdict,
            "guarded_verdict": _guarded(results, lacking, e.n),
            "reason": _reasons(verdict, lacking, results),
        },
        columns=VERDICTS,
    )


def _any(results: Mapping[tuple[str, str], Result], n: int, outcome: str) -> np.ndarray:
    hit = np.zeros(n, dtype=bool)
    for r in results.values():
        hit |= r.applies & (r.outcome == outcome)
    return hit


def _lacking(e: Evidence, profile: Profile, doubts: Doubts, results: Mapping[tuple[str, str], Result]) -> np.ndarray:
    """What stands between a survey and a pass: each reason once, '' where nothing does."""
    missing: list[np.ndarray] = [doubts.nothing, doubts.face]
    for r in results.values():
        if r.limit.criterion in profile.required:
            # a required criterion that is not for this hood (another rating condition) is met by its sister
            missing.append(np.where(r.applies & (r.outcome == "not judged"), r.reason, ""))
    missing += _conditions(profile, results, e.n)
    missing += [_never_without(results, codes, e.n) for codes in (SMOKE, DRAFT)]
    out = np.full(e.n, "", dtype=object)
    for i in np.flatnonzero(np.any([m != "" for m in missing], axis=0)):
        out[i] = "; ".join(dict.fromkeys(str(m[i]) for m in missing if m[i]))
    return out


def _never_without(results: Mapping[tuple[str, str], Result], codes: tuple[str, ...], n: int) -> np.ndarray:
    """Why none of these criteria is judged, '' where one is. No profile passes a survey without one of them."""
    mine = [r for r in results.values() if r.limit.criterion in codes]
    judged = np.any([r.outcome != "not judged" for r in mine], axis=0)
    return np.where(judged, "", mine[0].reason).astype(object)


def _conditions(profile: Profile, results: Mapping[tuple[str, str], Result], n: int) -> list[np.ndarray]:
    """A required criterion with a limit per condition has to be judged under one of them."""
    out = []
    for code in profile.required:
        mine = [r for r in results.values() if r.limit.criterion == code and r.limit.condition]
        if mine and len(mine) == sum(r.limit.criterion == code for r in results.values()):
            judged = np.any([r.applies for r in mine], axis=0)
            needs = (
                f"no rating under a condition that the profile judges ({', '.join(r.limit.condition for r in mine)})"
            )
            out.append(np.where(judged, "", needs).astype(object))
    return out


def _guarded(results: Mapping[tuple[str, str], Result], lacking: np.ndarray, n: int) -> np.ndarray:
    """The worst guarded outcome; 'not judged' where something required is missing and nothing else is beyond its
    limit."""
    rank = np.zeros(n, dtype=int)
    for r in results.values():
        for place, grade in enumerate(GUARDED):
            rank[r.applies & (r.guarded == grade)] = np.maximum(rank[r.applies & (r.guarded == grade)], place)
    worst = np.array(GUARDED, dtype=object)[rank]
    worst[(rank < 2) & (lacking != "")] = "not judged"
    return worst


def _reasons(verdict: np.ndarray, lacking: np.ndarray, results: Mapping[tuple[str, str], Result]) -> np.ndarray:
    out = np.full(len(verdict), "", dtype=object)
    for i in np.flatnonzero(verdict != "pass"):
        said = [str(r.sentence[i]) for r in _worst_first(results, i) if r.sentence[i]]
        if lacking[i]:
            said.append(f"not judged: {lacking[i]}")
        out[i] = "; ".join(dict.fromkeys(said))
    return out


def _worst_first(results: Mapping[tuple[str, str], Result], i: np.intp) -> list[Result]:
    mine = [r for r in results.values() if r.applies[i]]
    return sorted(mine, key=lambda r: r.outcome[i] != "fail")
