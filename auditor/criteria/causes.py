"""Likely causes and what to do, for every finding outside its pass grade, from the rules of causes.toml."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from auditor.criteria.features import features, rules

if TYPE_CHECKING:
    from auditor.criteria.judging import Result
    from auditor.criteria.measures import Evidence


def explain(e: Evidence, results: Mapping[tuple[str, str], Result]) -> None:
    """Fills `causes` and `action` of the results' columns, for restricted and failed findings only.

    causes: '1. cause (evidence); 2. …', or, where the readings cannot tell one cause from another, what to measure
    next. action: what follows, in the trade's order of cost, each with what to retest after it."""
    if not any((r.applies & r.breached).any() for r in results.values()):
        return
    flags, numbers = features(e)
    figures = {name: numbers[name].to_numpy() for name in numbers}
    standing = {id(rule): _holds(rule, flags) for rule in [*rules()["cause"], *rules()["question"]]}
    for result in results.values():
        where = np.flatnonzero(result.applies & result.breached)
        code = result.limit.criterion
        said = {i: _told(code, i, standing, figures) for i in where}
        for i in where:
            result.columns["causes"][i] = said[i][0]
            result.columns["action"][i] = _action(code, str(result.outcome[i]), said[i][1])


def _holds(rule: Mapping[str, Any], flags: pd.DataFrame) -> np.ndarray:
    hold = np.ones(len(flags), dtype=bool)
    for name in rule["when"]:
        hold &= flags[name].to_numpy()
    for name in rule.get("unless", ()):
        hold &= ~flags[name].to_numpy()
    return hold


def _told(
    code: str, i: np.intp, standing: Mapping[int, np.ndarray], figures: Mapping[str, np.ndarray]
) -> tuple[str, list[str]]:
    """The causes of one finding in words, and the actions that they call for."""
    known = {name: values[i] for name, values in figures.items()}
    mine = [rule for rule in rules()["cause"] if code in rule["for"] and standing[id(rule)][i]]
    if mine:
        words = [f"{n}. {r['cause']} ({r['evidence'].format(**known)})" for n, r in enumerate(mine, 1)]
        return "; ".join(words), [a for r in mine for a in r["actions"]]
    for rule in rules()["question"]:
        if code in rule["for"] and standing[id(rule)][i]:
            return f"the readings do not tell the cause. Next: {rule['ask'].format(**known)}", []
    return "", []


def _action(code: str, outcome: str, called_for: list[str]) -> str:
    known, sentences = rules()["actions"], rules()["sentences"]
    chosen = dict.fromkeys(called_for or rules()["follows"].get(code, []))
    steps = sorted(chosen, key=lambda a: known[a]["cost"])
    if code == "cross-draft-relative" and not called_for:
        steps = list(chosen)
    lead = [sentences["fail" if outcome == "fail" else "restricted"]]
    if code == "face-point-low" and outcome == "fail":
        lead.append(sentences["point"])
    if code in sentences:
        lead.append(sentences[code])
    numbered = [f"{n}. {known[a]['text']} (retest: {known[a]['retest']})" for n, a in enumerate(steps, 1)]
    return " ".join([*lead, "; ".join(numbered)]).strip()
