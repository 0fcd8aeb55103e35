"""A profile's limits as rows, for people and for machines."""

from __future__ import annotations

from typing import Any

from auditor.criteria.loading import criteria
from auditor.criteria.profile import MARKS, Bound, Limit, Profile

_INCLUSIVE = {"low": "at least", "high": "at most"}
_STRICT = {"low": "above", "high": "below"}


def describe(profile: Profile) -> list[dict[str, Any]]:
    """One row per limit: criterion, title, condition, grade, limit (in words), value, unit, strict, beyond, required,
    clause, source, mark, mark_means, note. A criterion with a middle grade gives two rows (grades 'pass',
    'restricted'); one that is judged in words has no value, and its `limit` says which words give what."""
    rows = []
    for limit in profile.limits:
        if limit.passes is None:
            said = ", ".join(f"{grade}: {outcome}" for grade, outcome in limit.outcomes.items())
            rows.append(_row(profile, limit, "pass", said, None))
            continue
        after = "restricted" if limit.restricted else limit.beyond
        rows.append(_row(profile, limit, "pass", f"{_in_words(limit, limit.passes)}, else {after}", limit.passes))
        if limit.restricted:
            said = f"{_in_words(limit, limit.restricted)}, else {limit.beyond}"
            rows.append(_row(profile, limit, "restricted", said, limit.restricted))
    return rows


def _in_words(limit: Limit, bound: Bound) -> str:
    words = (_STRICT if bound.strict else _INCLUSIVE)[limit.side]
    of = {"face-point-spread": f" from the {limit.of}"}.get(limit.criterion, "")
    exempt = (
        f", points within {limit.edge_exclusion_in:g} in of the opening's side left out"
        if limit.edge_exclusion_in
        else ""
    )
    place = ", largest mean of a place" if limit.statistic == "place-mean" else ""
    return f"{words} {bound.value:g} {limit.unit}{of}{exempt}{place}"


def _row(profile: Profile, limit: Limit, grade: str, said: str, bound: Bound | None) -> dict[str, Any]:
    return {
        "criterion": limit.criterion,
        "title": criteria()[limit.criterion]["title"],
        "condition": limit.condition,
        "grade": grade,
        "limit": said,
        "value": bound.value if bound else None,
        "unit": limit.unit or None,
        "strict": bound.strict if bound else None,
        "beyond": limit.beyond if bound else None,
        "required": limit.criterion in profile.required,
        "clause": limit.clause,
        "source": limit.source,
        "mark": limit.mark,
        "mark_means": MARKS[limit.mark],
        "note": limit.note,
    }
