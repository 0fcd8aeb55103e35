"""Tracer-gas ratings as they are usually written: release in L/min, condition, concentration in ppm ('4.0-AM-0.05').

Conditions: AM as manufactured, AI as installed, AU as used. The rating form is that of ANSI/ASHRAE 110.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

import pandas as pd

from auditor.survey.frames import numbers, texts

_SEPARATOR = r"[\s\-–—_/,;:]*"
_RATING = re.compile(
    rf"(?P<release>\d+(?:\.\d+)?)\s*(?:l/min|lpm|l\s*/\s*m)?{_SEPARATOR}(?P<condition>AM|AI|AU){_SEPARATOR}(?P<rest>.+)",
    re.IGNORECASE,
)
_CONCENTRATION = re.compile(r"(?P<less><|≤)?\s*(?P<number>\d*\.?\d+)\s*(?P<unit>ppm|ppb)?(?:\s*sf6)?", re.IGNORECASE)
_NOT_DETECTED = re.compile(r"n\.?d\.?|not\s+detected|non[- ]?detect(?:ed)?|bdl", re.IGNORECASE)


class Tracer(NamedTuple):
    """`ppm` is missing where only an upper bound, or nothing that is certain, was written."""

    release_l_min: float | None = None
    condition: str | None = None
    ppm: float | None = None
    bound_ppm: float | None = None
    not_detected: bool = False


@lru_cache(maxsize=4096)
def parse_tracer(text: str | None) -> Tracer:
    """One rating. 'ND' gives neither figure nor bound; '<0.01' a bound; three digits with a leading zero are ppb.

    A whole number of three digits without unit and without leading zero ('100') may be ppm or ppb: left missing.
    """
    if not text or not text.strip():
        return Tracer()
    body = text.strip()
    rating = _RATING.fullmatch(body)
    release = float(rating["release"]) if rating else None
    condition = rating["condition"].upper() if rating else None
    rest = (rating["rest"] if rating else body).strip()
    if _NOT_DETECTED.fullmatch(rest):
        return Tracer(release, condition, not_detected=True)
    found = _CONCENTRATION.fullmatch(rest)
    if not found:
        return Tracer(release, condition)
    ppm = _ppm(found["number"], found["unit"])
    return Tracer(release, condition, None, ppm) if found["less"] else Tracer(release, condition, ppm)


def _ppm(number: str, unit: str | None) -> float | None:
    if unit:
        return float(number) / (1000 if unit.lower() == "ppb" else 1)
    if len(number) == 3 and number.isdigit():
        return float(number) / 1000 if number[0] == "0" else None
    return float(number)


def tracer_columns(surveys: pd.DataFrame) -> pd.DataFrame:
    """tracer_release_l_min, tracer_condition, tracer_ppm, tracer_bound_ppm of every survey, index as given."""
    parsed = [parse_tracer(str(t)) if t is not None else Tracer() for t in texts(surveys, "tracer")]
    out = pd.DataFrame(parsed, columns=list(Tracer._fields), index=surveys.index)
    return pd.DataFrame(
        {
            "tracer_release_l_min": numbers(out, "release_l_min"),
            "tracer_condition": texts(out, "condition"),
            "tracer_ppm": numbers(out, "ppm"),
            "tracer_bound_ppm": numbers(out, "bound_ppm"),
        },
        index=surveys.index,
    )
