"""What the observations say of things that are tested by looking: the wash-down, the monitor's alarm."""

from __future__ import annotations

import re
from functools import lru_cache

import pandas as pd

from auditor.survey.frames import texts

_SUBJECTS = {"washdown": r"wash[- ]?down", "monitor_alarm": r"alarm"}
_FAILS = re.compile(
    r"\b(?:no|not|never|without|cannot|didn't|did not|doesn't|does not)\b|fail|fault|silent|broken|inoperative|"
    r"out of order|block|clog|leak|defect|disabled|muted|mute",
    re.IGNORECASE,
)
_WORKS = re.compile(
    r"\bworks?\b|working|operat|function|tested|\bok\b|\bokay\b|pass|sound(?:s|ed)|good|correct", re.IGNORECASE
)
_UNTESTED = re.compile(r"not (?:tested|checked|done)|n/?a\b|untested|no (?:test|access)", re.IGNORECASE)


@lru_cache(maxsize=8192)
def observed_grade(text: str | None, subject: str) -> str | None:
    """'works' or 'fails' where a clause about the subject ('washdown', 'monitor_alarm') says so, else None.

    Of several clauses the worst counts; a clause that was not tested, or says neither, counts for nothing."""
    grades = []
    for clause in re.split(r"[.;,\n]|\bbut\b|\band\b", text or "", flags=re.IGNORECASE):
        if not re.search(_SUBJECTS[subject], clause, re.IGNORECASE) or _UNTESTED.search(clause):
            continue
        if _FAILS.search(clause):
            grades.append("fails")
        elif _WORKS.search(clause):
            grades.append("works")
    return ("fails" if "fails" in grades else "works") if grades else None


def observed_columns(surveys: pd.DataFrame) -> pd.DataFrame:
    """washdown_grade and monitor_alarm_grade of every survey; a grade that is already there stays."""
    seen = texts(surveys, "observations")
    out = {}
    for subject in _SUBJECTS:
        known = texts(surveys, f"{subject}_grade")
        grades = [
            k if k is not None else observed_grade(None if s is None else str(s), subject)
            for k, s in zip(known, seen, strict=True)
        ]
        out[f"{subject}_grade"] = pd.Series(grades, index=surveys.index, dtype=object)
    return pd.DataFrame(out, index=surveys.index)
