"""Lengths as people write them: '18', '18 in', '1 ft 6 in', '18 1/2\"', '457 mm', '72 x 18 in'."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from auditor.sheets.numbers import parse_number, plain_value
from auditor.sheets.text import fold
from auditor.sheets.units import LENGTH_UNITS, length_unit


class Length(NamedTuple):
    """A length: `value` in `unit` (canonical, feet and inches already joined to 'in'; None where none was written)."""

    value: float
    unit: str | None


_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_MIXED = re.compile(r"(?:(\d+)[ -]+)?(\d+)\s*/\s*(\d+)\s*(\D*)$")
_FEET = re.compile(r"(\d+)\s*(?:'|ft\.?|feet|foot)[\s,-]*(?:(\S.*?)\s*(\"|''|in\.?|ins|inch|inches)?)$")
_REMARKS = re.compile(r"\s*(?:\((?:open|working|nominal|as used|sill to sash|normal|test)\)|open|above sill)$")


# 'full open (28")', 'working height - 18 in': a name for the setting, then the setting
_NAMED = re.compile(
    r"(?:full(?:y)? open|open|working(?: height)?|closed|half open|operating|normal)\s*[-:(,=]\s*(\d[^()]*?)\)?$"
)


def _fractions(text: str) -> str:
    for sign, plain in _FRACTIONS.items():
        text = re.sub(rf"(?<=\d){sign}", f" {plain}", text).replace(sign, plain)
    return text.replace("\u2044", "/")


@lru_cache(maxsize=16384)
def parse_length(text: str, default_unit: str | None = None) -> Length | None:
    """The length that a text writes, or None where it is not written with certainty.

    `default_unit` (canonical) is what a bare number is in; a unit in the text itself goes before it."""
    body = _REMARKS.sub("", fold(_fractions(text)))
    feet = _FEET.match(body)
    if feet and feet.group(2):
        inches = _inches(feet.group(2))
        return Length(12 * float(feet.group(1)) + inches, "in") if inches is not None and inches < 12 else None
    named = _NAMED.match(body)
    if named:
        inner = parse_length(named.group(1))
        return inner if inner and inner.unit else None
    mixed = _MIXED.match(body)
    if mixed:
        return _mixed(mixed, default_unit)
    parsed = parse_number(body)
    if parsed.outcome != "coerced" or parsed.value is None:
        return None
    if parsed.unit is None:
        return Length(parsed.value, None if default_unit == "ft-in" else default_unit)
    return Length(parsed.value, parsed.unit.name) if parsed.unit.name in LENGTH_UNITS else None


def _mixed(found: re.Match[str], default_unit: str | None) -> Length | None:
    unit = length_unit(found.group(4).strip()) if found.group(4).strip() else default_unit
    below = float(found.group(3))
    if not below or (found.group(4).strip() and unit is None):
        return None
    return Length(float(found.group(1) or 0) + float(found.group(2)) / below, unit)


def _inches(text: str) -> float | None:
    found = _MIXED.match(text)
    if found and not found.group(4):
        return float(found.group(1) or 0) + float(found.group(2)) / float(found.group(3) or 1)
    return plain_value(text)


_BY = re.compile(r"^(.*?\S)\s*(?:x|×|by|\*)\s*(\S.*)$")


def parse_size(text: str, default_unit: str | None = None) -> tuple[Length, Length] | None:
    """Two lengths written as 'A x B', in the order written; a unit that only the second carries is that of both."""
    found = _BY.match(fold(text))
    if not found:
        return None
    second = parse_length(found.group(2), default_unit)
    first = parse_length(found.group(1), second.unit if second and second.unit else default_unit)
    return (first, second) if first and second else None
