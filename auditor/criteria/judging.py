"""Judging: each survey by the profile of its hood, criterion by criterion, and the verdict of the whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.criteria.causes import explain
from auditor.criteria.doubts import Doubts, doubts_of
from auditor.criteria.grading import grade_numbers, margin_inside
from auditor.criteria.hood_types import hood_types
from auditor.criteria.loading import combine, criteria
from auditor.criteria.measures import MEASURES, Evidence, Measured
from auditor.criteria.profile import Limit, Profile
from auditor.criteria.remarks import remarks_of, with_remarks
from auditor.criteria.rollup import verdicts_of
from auditor.criteria.sentences import breach_sentences
from auditor.criteria.uncertainty import COVERAGE, guarded
from auditor.survey.columns import FINDINGS, VERDICTS
from auditor.survey.frames import texts

REMARKS = ["survey_id", "criterion", "remark"]
_SAME_FACE = ("face-", "cross-draft-relative", "monitor-error", "airflow-design")


@dataclass
class Judgement:
    """`findings` (FINDINGS): one row per survey and criterion of its profile; `verdicts` (VERDICTS): one per survey;
    `remarks` (survey_id, criterion, remark): what should be read beside a finding that it does not change; the reasons
    of the verdicts end with them."""

    findings: pd.DataFrame
    verdicts: pd.DataFrame
    remarks: pd.DataFrame


def judge(
    surveys: pd.DataFrame,
    readings: pd.DataFrame,
    profiles: Mapping[str, Profile],
    default: str = "common-practice",
    *,
    by_type: Mapping[str, str] | None = None,
    instruments: pd.DataFrame | None = None,
) -> Judgement:
    """Judges every survey given, on the readings given (those without velocity_fpm are places without a number).

    Surveys come from `compute`, readings from `normalise`. The profile is that of the hood's row in the register
    (register_profile), else that of its type in `by_type` (names of hood_types.toml; where none is given, that of the
    default profile), else `default`. KeyError where
    `default` is no profile. A profile that the register names and that is unknown, switched off or only an overlay
    judges nothing, and the reason says so. `instruments`: see `auditor.criteria.uncertainty.Instruments`."""
    campus = combine(profiles, default)
    if campus is None:
        raise KeyError(f"the default profile {default!r} is not known; known: {', '.join(sorted(profiles))}")
    chosen = profile_names(surveys, default, campus.by_type if by_type is None else by_type)
    parts = []
    for name in dict.fromkeys(chosen):
        here = surveys[chosen == name]
        # an own frame for each profile, in the order of the surveys
        mine = readings[readings["survey_id"].isin(here["survey_id"])] if len(here) < len(surveys) else readings
        parts.append(_judge_by(name, combine(profiles, str(name)), here, mine, instruments))
    return _joined(surveys, parts)


def profile_names(surveys: pd.DataFrame, default: str, by_type: Mapping[str, str]) -> np.ndarray:
    """The name of each survey's profile, shape (n,): the hood's own, else its type's, else the default."""
    own = texts(surveys, "register_profile")
    kinds = [k.name for k in hood_types(surveys)] if by_type else [""] * len(surveys)
    names = [
        str(o).strip() if o is not None and str(o).strip() else by_type.get(k, default)
        for o, k in zip(own, kinds, strict=True)
    ]
    return np.array(names, dtype=object)


def _judge_by(
    name: str, profile: Profile | None, surveys: pd.DataFrame, readings: pd.DataFrame, instruments: pd.DataFrame | None
) -> Judgement:
    unusable = _unusable(name, profile)
    if profile is None or unusable:
        return _not_judged(name, profile, surveys, unusable)
    evidence = Evidence(surveys, readings, instruments)
    doubts = doubts_of(evidence.surveys, profile)
    results = {limit.key: _apply(evidence, limit, doubts) for limit in profile.limits}
    explain(evidence, results)
    findings = _findings(list(results.values()))
    remarks = remarks_of(evidence, doubts, results)
    verdicts = with_remarks(verdicts_of(evidence, profile, doubts, results), remarks)
    return Judgement(findings, verdicts, remarks)


def _unusable(name: str, profile: Profile | None) -> str:
    if profile is None:
        return f"the register names the profile '{name}', which is not known"
    if not profile.enabled:
        return f"the profile '{name}' is unconfirmed and switched off"
    return f"the profile '{name}' is only a part of one, to be joined to another" if profile.overlay else ""


def _not_judged(name: str, profile: Profile | None, surveys: pd.DataFrame, reason: str) -> Judgement:
    verdicts = surveys.reindex(columns=["survey_id", "hood_id"]).assign(
        profile=name,
        profile_version=profile.version if profile else None,
        verdict="not judged",
        guarded_verdict="not judged",
        reason=f"not judged: {reason}",
    )
    return Judgement(pd.DataFrame(columns=FINDINGS), verdicts[VERDICTS], pd.DataFrame(columns=REMARKS))


@dataclass
class Result:
    """One limit over the n surveys of its profile. `applies` is False where the criterion is not for that hood."""

    limit: Limit
    measured: Measured
    applies: np.ndarray
    outcome: np.ndarray
    guarded: np.ndarray
    reason: np.ndarray  # why it is not judged; '' where it is
    sentence: np.ndarray  # about a value outside the pass grade; '' where it is inside
    columns: dict[str, np.ndarray]  # FINDINGS, one row per survey, also where the criterion does not apply

    @property
    def breached(self) -> np.ndarray:
        return (self.outcome == "restricted") | (self.outcome == "fail")


def _apply(e: Evidence, limit: Limit, doubts: Doubts) -> Result:
    m = MEASURES[limit.criterion](e, limit, str(criteria()[limit.criterion]["needs"]))
    outcome = _words_outcome(limit, m) if limit.outcomes else grade_numbers(limit, m.value)
    if limit.with_smoke_escaping:
        outcome[(outcome == "restricted") & e.smoke_escapes] = limit.with_smoke_escaping
    raw = outcome.copy()
    reason = m.needs.copy()
    outcome, reason = _doubted(limit, m, outcome, reason, doubts)
    outcome[m.needs != ""] = "not judged"
    margin = margin_inside(limit, m.value)
    guard = guarded(margin, COVERAGE * m.u)
    unguarded = np.isnan(m.u)
    guard[unguarded] = np.where(outcome[unguarded] == "pass", "pass", "fail")
    guard[outcome == "not judged"] = "not judged"
    applies = _applies(e, limit, outcome, raw)
    sentence = breach_sentences(limit, m, outcome)
    columns = _columns(e, limit, m, outcome, guard, margin)
    return Result(limit, m, applies, outcome, guard, reason, sentence, columns)


def _words_outcome(limit: Limit, m: Measured) -> np.ndarray:
    assert m.grade is not None
    return np.array(
        [limit.outcomes.get(g, "not judged") if g is not None else "not judged" for g in m.grade], dtype=object
    )


def _doubted(
    limit: Limit, m: Measured, outcome: np.ndarray, reason: np.ndarray, doubts: Doubts
) -> tuple[np.ndarray, np.ndarray]:
    """Takes back what the evidence cannot bear: everything, all but failures, or all but breaches."""
    outcome, reason = outcome.copy(), reason.copy()

    def take_back(where: np.ndarray, why: np.ndarray) -> None:
        reason[where & (reason == "")] = why[where & (reason == "")]
        outcome[where] = "not judged"

    take_back(doubts.nothing != "", doubts.nothing)
    if limit.criterion.startswith(_SAME_FACE):
        doubt = doubts.face != ""
        spares = limit.criterion not in ("face-mean-high", "face-point-high", "monitor-error", "airflow-design")
        take_back(doubt & ((outcome != "fail") | (not spares)), doubts.face)
    partial = m.partial != ""
    take_back(partial & ((outcome == "pass") | ((outcome == "restricted") & (not m.monotone))), m.partial)
    return outcome, reason


def _applies(e: Evidence, limit: Limit, outcome: np.ndarray, raw: np.ndarray) -> np.ndarray:
    if limit.criterion == "washdown":
        return np.array([k.name == "perchloric" for k in hood_types(e.surveys)], dtype=bool)
    if limit.condition:  # a limit for one rating condition applies to ratings of that condition
        return texts(e.surveys, "tracer_condition") == limit.condition
    return np.ones(e.n, dtype=bool)


def _columns(
    e: Evidence, limit: Limit, m: Measured, outcome: np.ndarray, guard: np.ndarray, margin: np.ndarray
) -> dict[str, np.ndarray]:
    def same(value: object) -> np.ndarray:
        return np.full(e.n, value, dtype=object)

    return {
        "survey_id": e.surveys["survey_id"].to_numpy(dtype=object),
        "hood_id": texts(e.surveys, "hood_id"),
        "criterion": same(limit.criterion),
        "cell": np.where(pd.isna(m.cell), same(""), m.cell),
        "outcome": outcome,
        "measured": m.value,
        "limit": np.full(e.n, limit.passes.value if limit.passes else np.nan),
        "unit": same(limit.unit or None),
        "margin": margin,
        "expanded_uncertainty": COVERAGE * m.u,
        "guarded_outcome": guard,
        "source": same(limit.cited),
        "causes": same(""),
        "action": same(""),
    }


def _findings(results: list[Result]) -> pd.DataFrame:
    """FINDINGS of all criteria, for the surveys that each applies to."""
    whole = {c: np.concatenate([r.columns[c][r.applies] for r in results]) for c in FINDINGS}
    return pd.DataFrame(whole, columns=FINDINGS)


def _joined(surveys: pd.DataFrame, parts: list[Judgement]) -> Judgement:
    """All parts in the order of the surveys."""
    if not parts:
        return Judgement(*(pd.DataFrame(columns=c) for c in (FINDINGS, VERDICTS, REMARKS)))
    order = pd.Index(surveys["survey_id"])
    frames = []
    for name in ("findings", "verdicts", "remarks"):
        whole = pd.concat([getattr(p, name) for p in parts], ignore_index=True)
        place = np.argsort(order.get_indexer(pd.Index(whole["survey_id"])), kind="stable")
        frames.append(whole.iloc[place].reset_index(drop=True))
    return Judgement(*frames)
