"""Figures as people read them: each kind of value as one line of inert text; velocities in the unit asked for."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import Any

from auditor.codes import inert

MISSING = "–"


@dataclass(frozen=True)
class Unit:
    """`per_fpm`: what one ft/min is in this unit; `digits` after the point."""

    name: str
    per_fpm: float
    digits: int


UNITS = {"ft/min": Unit("ft/min", 1.0, 0), "m/s": Unit("m/s", 0.00508, 2)}  # 1 ft/min = 0.00508 m/s exactly
FPM = UNITS["ft/min"]


def missing(value: Any) -> bool:
    return value is None or value == "" or value != value or str(value) in ("NaT", "<NA>")


def shown(value: Any, kind: str, unit: Unit = FPM) -> str:
    """A value as text. Kinds: text, long (text that may be long), count, number, about (two figures), percent, points
    (a difference of shares, in percentage points), day, p (a probability), velocity and slope (given in ft/min and
    ft/min per year)."""
    if missing(value):
        return MISSING
    if kind in ("text", "long"):
        return inert(str(value), 2000 if kind == "long" else 200)
    if kind == "day":
        return value.isoformat()[:10] if isinstance(value, dt.date) else str(value)[:10]
    if kind == "count":
        return f"{int(value):,}"
    number = float(value)
    if not math.isfinite(number):
        return MISSING
    return _number(number, kind, unit)


def _number(number: float, kind: str, unit: Unit) -> str:
    if kind == "velocity":
        return f"{number * unit.per_fpm:.{unit.digits}f}"
    if kind == "slope":
        return f"{number * unit.per_fpm:+.{unit.digits + 1}f}"
    if kind == "percent":
        return f"{100 * number:.0f}\u00a0%"
    if kind == "points":
        return f"{100 * number:+.1f}"
    if kind == "about":
        return f"{number:.2g}"
    if kind == "p":
        return "<\u00a00.001" if number < 0.001 else f"{number:.3f}"
    return f"{number:,.4g}"


def between(low: Any, high: Any, kind: str, unit: Unit = FPM) -> str:
    """An interval: '74–85 %', '-3.1 to +0.4'; '' where an end is missing."""
    if missing(low) or missing(high):
        return ""
    first, last = shown(low, kind, unit), shown(high, kind, unit)
    if kind == "percent":
        return first.removesuffix("\u00a0%") + "–" + last
    return f"{first} to {last}" if kind in ("points", "slope", "day") else f"{first}–{last}"


def length_in(value: Any) -> str:
    """A length in inches, and in millimetres beside it."""
    return MISSING if missing(value) else f"{float(value):.4g} in ({float(value) * 25.4:.0f} mm)"
