"""Units in all spellings, and lengths as people write them (1 ft = 12 in, by definition)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.sheets.lengths import parse_length, parse_size
from auditor.sheets.units import find_unit, unit_in_format, velocity_unit

SPELLINGS = {
    "ft/min": [
        "fpm",
        " FPM ",
        "ft/min",
        "ft / min",
        "Ft./Min.",
        "f.p.m.",
        "feet per minute",
        "LFPM",
        "(fpm)",
        "ft·min⁻¹",
    ],
    "m/s": ["m/s", "M/S", "m / s", "m/sec.", "metres per second", "m·s-1", "[m/s]", "m s⁻¹"],
    "cm/s": ["cm/s", "cm/sec"],
    "mm/s": ["mm/s", "mm per second"],
    "km/h": ["km/h", "kph", "km/hr"],
    "mph": ["mph", "miles per hour"],
}


@pytest.mark.parametrize(("unit", "text"), [(u, t) for u, texts in SPELLINGS.items() for t in texts])
def test_spellings_of_velocity(unit: str, text: str) -> None:
    assert velocity_unit(text) == unit


@pytest.mark.parametrize("text", ["cfm", "Pa", "knots", "ft", "m", "fps?", "", "98 fpm", "velocity"])
def test_what_is_no_velocity_unit(text: str) -> None:
    assert velocity_unit(text) is None


def test_dimension_tells_units_apart() -> None:
    found = [find_unit(t) for t in ("cfm", "in", '"', "ppm", "°F", "%")]
    assert [u.dimension for u in found if u] == ["airflow", "length", "length", "concentration", "temperature", "other"]


@pytest.mark.parametrize(
    ("code", "unit"), [('0" fpm"', "ft/min"), ("0.00", None), ("0.0%", "%"), ('0.00" m/s";-0', "m/s")]
)
def test_a_unit_printed_by_a_number_format(code: str, unit: str | None) -> None:
    found = unit_in_format(code)
    assert (found.name if found else None) == unit


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("18", 18.0, None),
        ("18 in", 18.0, "in"),
        ('18"', 18.0, "in"),
        ("18 inches", 18.0, "in"),
        ("18½ in", 18.5, "in"),
        ('18 1/2"', 18.5, "in"),
        ("18-1/2 in", 18.5, "in"),
        ("1'6\"", 18.0, "in"),
        ("1 ft 6 in", 18.0, "in"),
        ("2' 0\"", 24.0, "in"),
        ("1.5 ft", 1.5, "ft"),
        ("457 mm", 457.0, "mm"),
        ("45,7 cm", 45.7, "cm"),
        ("0.457 m", 0.457, "m"),
        ("18 in open", 18.0, "in"),
        ('full open (28")', 28.0, "in"),
    ],
)
def test_lengths(text: str, value: float, unit: str | None) -> None:
    assert parse_length(text) == (value, unit)


@pytest.mark.parametrize(
    "text", ["fully open", "18?", "17-19 in", "1 ft 14 in", "18 fpm", "", "about 18 in", "18 in / 457 mm"]
)
def test_lengths_that_are_not_certain(text: str) -> None:
    assert parse_length(text) is None


@given(st.integers(1, 9), st.integers(0, 11))
def test_feet_and_inches_are_inches(feet: int, inches: int) -> None:
    for text in (f"{feet}' {inches}\"", f"{feet} ft {inches} in", f"{feet}'-{inches}\""):
        assert parse_length(text) == (12 * feet + inches, "in")


@given(st.integers(1, 5000))
def test_a_unit_in_the_text_goes_before_the_labels(number: int) -> None:
    assert parse_length(f"{number} mm", "in") == (number, "mm")
    assert parse_length(str(number), "in") == (number, "in")


def test_sizes() -> None:
    assert parse_size("72 x 18 in") == ((72.0, "in"), (18.0, "in"))
    assert parse_size("72 in by 457 mm") == ((72.0, "in"), (457.0, "mm"))
    assert parse_size("72") is None
