"""What the smoke did, from the words of the sheet: good, lazy, reverse, escape, or unclear."""

from __future__ import annotations

import re
import tomllib
from functools import cache, lru_cache
from importlib import resources
from typing import Any

import pandas as pd

from auditor.survey.frames import texts

GRADES = ("good", "lazy", "reverse", "escape")  # from best to worst
_QUESTION = re.compile(r"[?:]|\b(?:was|is|the|all|smoke|test|any|y/n|yes/no)\b")
_BREAK = re.compile(
    r"[.;!\n]+\s|[;\n]|,|\bbut\b|\bhowever\b|\bexcept\b|\bthough\b|\balthough\b|\bwith\b", re.IGNORECASE
)


@cache
def _vocabulary() -> dict[str, Any]:
    data = tomllib.loads((resources.files("auditor.survey") / "smoke.toml").read_text(encoding="utf-8"))
    no = data["negation"]
    words = {grade: "|".join(patterns) for grade, patterns in data["grades"].items()}
    before = rf"\b{no}\b(?:\s+(?:[\w'-]+)){{0,4}}?\s+"
    after = (
        r"\W{0,3}\s*(?:none|nil|no|n|false|not|✗|✘|0)"
        r"(?:\s+(?:seen|observed|noted|visible|detected|found))?\W*$"
    )
    return {
        "plain": {g: re.compile(rf"(?<!\w)(?:{w})(?!\w)", re.IGNORECASE) for g, w in words.items()},
        "denied": {
            g: re.compile(rf"{before}(?:\w+\s+or\s+)?(?:{w})(?!\w)|(?<!\w)(?:{w}){after}", re.IGNORECASE)
            for g, w in words.items()
        },
        "unfilled": re.compile(data["unfilled"], re.IGNORECASE),
        "absent": re.compile(data["absent"], re.IGNORECASE),
        "hedge": re.compile(rf"(?<!\w)(?:{data['hedge']})", re.IGNORECASE),
        "yes": frozenset(data["bare"]["yes"]),
        "no": frozenset(data["bare"]["no"]),
    }


@lru_cache(maxsize=8192)
def smoke_grade(text: str | None, question: str | None = None) -> str | None:
    """The grade of one text; None where nothing was written or the test was not done; 'unclear' where the words do not
    say whether the smoke was captured. `question` is the label over the answer ('Smoke captured?'), where known."""
    words = _vocabulary()
    body = re.sub(r"\s+", " ", (text or "").replace("’", "'")).strip(" \t:")
    if not body or words["absent"].fullmatch(body) or words["unfilled"].fullmatch(body):
        return None
    bare = body.casefold().strip(".!")
    if bare in words["yes"] | words["no"]:
        return _answer(bare in words["yes"], question, bare in ("ok", "okay"))
    found = [g for clause in _BREAK.split(body) for g in _grades_in(clause)]
    if not found:
        return "unclear"
    worst = max(found, key=GRADES.index)
    if worst in ("good", "lazy") and (words["hedge"].search(body) or body.endswith("?")):
        return "unclear"
    return worst


def _answer(yes: bool, question: str | None, approves: bool) -> str:
    """A tick or a 'yes' means what its question asks; 'OK' under a smoke question approves, whatever it asks."""
    asked = smoke_grade(_QUESTION.sub(" ", question.casefold())) if question else None
    if asked in (None, "unclear"):
        return "unclear"
    if yes and approves:
        return "good"
    if asked in ("good", "lazy"):
        return "good" if yes else "escape"
    return asked if yes else "good"


def _grades_in(clause: str) -> list[str]:
    words = _vocabulary()
    out = []
    for grade in GRADES:
        denials = list(words["denied"][grade].finditer(clause))
        spans = [m.span() for m in denials]
        if grade == "good":  # 'no loss of containment' denies the loss and not the containment
            denials = [m for m in denials if not any(words["plain"][g].search(m[0]) for g in ("escape", "reverse"))]
        if denials:
            out.append("escape" if grade == "good" else "good")
        if any(not any(a <= m.start() < b for a, b in spans) for m in words["plain"][grade].finditer(clause)):
            out.append(grade)
    return out


def smoke_columns(surveys: pd.DataFrame) -> pd.DataFrame:
    """smoke_local_grade and smoke_gross_grade of every survey; reads `smoke_local_question` too where it is there."""
    out = {}
    for name in ("smoke_local", "smoke_gross"):
        pairs = zip(texts(surveys, name), texts(surveys, f"{name}_question"), strict=True)
        out[f"{name}_grade"] = pd.Series(
            [smoke_grade(None if t is None else str(t), None if q is None else str(q)) for t, q in pairs],
            index=surveys.index,
            dtype=object,
        )
    return pd.DataFrame(out, index=surveys.index)
