"""Exact conversions between the units of the trade, on arrays.

Every unit is a ratio of two whole numbers to the base of its kind, and a conversion is one multiplication and one
division by whole numbers, so that what is a round figure in one unit comes out as the closest number in the other.
By definition 1 ft = 0.3048 m (1959 agreement), hence 1 ft/min = 0.00508 m/s and 1 ft2 = 0.09290304 m2 exactly.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

_FOOT_M = Fraction(3048, 10000)
VELOCITY = {  # in ft/min
    "ft/min": Fraction(1),
    "ft/s": Fraction(60),
    "mph": Fraction(88),
    "m/s": 60 / _FOOT_M,
    "m/min": 1 / _FOOT_M,
    "cm/s": 60 / _FOOT_M / 100,
    "mm/s": 60 / _FOOT_M / 1000,
    "km/h": 60 / _FOOT_M * Fraction(10, 36),
}
LENGTH = {  # in inches
    "in": Fraction(1),
    "ft": Fraction(12),
    "mm": Fraction(10, 254),
    "cm": Fraction(100, 254),
    "m": Fraction(10000, 254),
}
AIRFLOW = {  # in ft3/min
    "cfm": Fraction(1),
    "m3/s": 60 / _FOOT_M**3,
    "m3/h": 1 / (60 * _FOOT_M**3),
    "L/s": 60 / _FOOT_M**3 / 1000,
}
AREA = {"ft2": Fraction(1), "in2": Fraction(1, 144), "m2": 1 / _FOOT_M**2}
PRESSURE = {  # in pascals; psia from 0.45359237 kg, 9.80665 m/s2 and 1 in; inHg (conventional) and atm by definition
    "Pa": Fraction(1),
    "hPa": Fraction(100),
    "mbar": Fraction(100),
    "kPa": Fraction(1000),
    "psia": Fraction(45359237, 10**8) * Fraction(980665, 10**5) / (Fraction(254, 10**4) ** 2),
    "inHg": Fraction(3386389, 1000),
    "mmHg": Fraction(133322387415, 10**9),
    "atm": Fraction(101325),
}
_KINDS = (VELOCITY, LENGTH, AIRFLOW, AREA, PRESSURE)


def _ratio(unit: str, target: str) -> Fraction | None:
    for kind in _KINDS:
        if target in kind:
            return kind[unit] / kind[target] if unit in kind else None
    raise ValueError(f"no unit is called {target!r}; known: {', '.join(u for kind in _KINDS for u in kind)}")


def convert(values: ArrayLike, units: str | ArrayLike, target: str) -> FloatArray:
    """Values of shape (n,), each in the unit of the same place in `units` (or all in one), in `target`.

    NaN where the value is missing or its unit is missing, unknown or of another kind. ValueError for an unknown target.
    """
    numbers = np.asarray(values, dtype=float)
    if isinstance(units, str):
        return _scaled(numbers, _ratio(units, target))
    names = np.asarray(units, dtype=object)
    out = np.full(numbers.shape, np.nan)
    for name in {n for n in names.tolist() if isinstance(n, str)}:
        here = names == name
        out[here] = _scaled(numbers[here], _ratio(name, target))
    if not len(names):
        _ratio(target, target)
    return out


def _scaled(numbers: FloatArray, ratio: Fraction | None) -> FloatArray:
    if ratio is None:
        return np.full(numbers.shape, np.nan)
    if ratio == 1:
        return numbers.astype(float)
    return numbers * float(ratio.numerator) / float(ratio.denominator)


def celsius(values: ArrayLike, units: str | ArrayLike) -> FloatArray:
    """Temperatures in degrees Celsius from 'C', 'F' or 'K'; NaN for any other unit."""
    numbers = np.asarray(values, dtype=float)
    names: Any = np.full(numbers.shape, units, dtype=object) if isinstance(units, str) else np.asarray(units, object)
    out = np.full(numbers.shape, np.nan)
    for name, change in (("C", lambda t: t), ("F", lambda t: (t - 32) * 5 / 9), ("K", lambda t: t - 273.15)):
        here = (names == name) | (names == "°" + name)
        out[here] = change(numbers[here])
    return out
