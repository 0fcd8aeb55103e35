"""What people decided about surveys, in the form in which the audit takes it."""

from __future__ import annotations

from typing import Any

import pandas as pd

from auditor.sheets import parse_field
from auditor.sheets.model import FIELDS

SETTLED = ["survey_id", "field", "value", "unit"]


def typed(name: str, text: str) -> tuple[Any, str | None]:
    """(value, unit) of a fact that a person supplies for field `name`. ValueError says what is amiss and what fits."""
    if name not in FIELDS:
        raise ValueError(f"'{name}' is not a fact of a survey; these are: {', '.join(FIELDS)}")
    parsed = parse_field(name, text)
    if parsed is None or parsed.value is None:
        wanted = {float: "a number with its unit", str: "words that are plain"}.get(
            FIELDS[name], "a date as 2026-03-31"
        )
        raise ValueError(f"{name}: '{text}' cannot be read with certainty; write {wanted}")
    return parsed.value, parsed.unit


def settled_of(decisions: pd.DataFrame) -> pd.DataFrame:
    """One row per fact supplied: the last word on each survey and field."""
    rows = [
        (survey, name, *typed(name, text))
        for survey, kind, detail in decisions[["survey_id", "kind", "detail"]].itertuples(index=False)
        if kind == "settle"
        for name, text in detail["values"].items()
    ]
    frame = pd.DataFrame(rows, columns=SETTLED, dtype=object)
    return frame.drop_duplicates(["survey_id", "field"], keep="last", ignore_index=True)


def released_of(decisions: pd.DataFrame) -> frozenset[str]:
    """The ids of the discrepancies that a person has accepted."""
    details = decisions.loc[decisions["kind"].eq("release"), "detail"]
    return frozenset(one for detail in details for one in detail["discrepancies"])
