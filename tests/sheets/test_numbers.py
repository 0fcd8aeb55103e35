"""The one strict number parser: a table of what people write, and properties."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.sheets.numbers import parse_cell, parse_number
from auditor.workbook.cells import Cell, Kind

# What a person reads from each text. Digits of other scripts by the Unicode standard's decimal values; 'no value' words
# and the two grouping styles as field sheets have them.
WRITTEN = [
    ("98", "coerced", 98.0, None),
    ("98 fpm", "coerced", 98.0, "ft/min"),
    ("0,51 m/s", "coerced", 0.51, "m/s"),
    ("98,4", "coerced", 98.4, None),
    (" 98\u00a0", "coerced", 98.0, None),
    ("\u22125", "coerced", -5.0, None),
    ("\u2013 5", "not-numeric", None, None),
    ("\u0669\u0668", "coerced", 98.0, None),
    ("\uff11\uff10\uff12", "coerced", 102.0, None),
    ("1,234.5", "coerced", 1234.5, None),
    ("1.234,5", "coerced", 1234.5, None),
    ("1\u202f234", "coerced", 1234.0, None),
    ("0,510", "coerced", 0.51, None),
    (".5", "coerced", 0.5, None),
    ("1,234", "not-numeric", None, None),
    ("1 234", "not-numeric", None, None),
    ("98 104", "not-numeric", None, None),
    ("1_000", "not-numeric", None, None),
    ("95-105", "not-numeric", None, None),
    ("98/102", "not-numeric", None, None),
    ("98?", "not-numeric", None, None),
    ("98*", "not-numeric", None, None),
    ("~98", "not-numeric", None, None),
    ("(98)", "not-numeric", None, None),
    ("98%", "not-numeric", None, "%"),
    ("1e2", "not-numeric", None, None),
    ("1O2", "not-numeric", None, None),
    ("18\u00bd", "not-numeric", None, None),
    ("nan", "not-numeric", None, None),
    ("inf", "not-numeric", None, None),
    ("N/A", "not-numeric", None, None),
    ("-", "not-numeric", None, None),
    ("ERR", "not-numeric", None, None),
    ("#VALUE!", "not-numeric", None, None),
    ("blocked", "not-numeric", None, None),
    (">500", "not-numeric", None, None),
    ("", "blank", None, None),
    (" \u00a0\u200b\u3000", "blank", None, None),
]


@pytest.mark.parametrize(("text", "outcome", "value", "unit"), WRITTEN)
def test_what_is_written(text: str, outcome: str, value: float | None, unit: str | None) -> None:
    parsed = parse_number(text)
    assert (parsed.outcome, parsed.value, parsed.unit.name if parsed.unit else None) == (outcome, value, unit)


@pytest.mark.parametrize(
    ("text", "bound"), [("<20", 20.0), ("< 0,1 m/s", 0.1), ("\u2264 20 fpm", 20.0), ("less than 20", 20.0)]
)
def test_a_censored_reading_is_a_bound_and_never_a_number(text: str, bound: float) -> None:
    parsed = parse_number(text)
    assert (parsed.outcome, parsed.value, parsed.bound) == ("censored", None, bound)


@given(st.decimals(min_value=-9999, max_value=9999, places=2))
def test_a_plain_decimal_reads_as_itself_with_point_and_comma(number) -> None:
    text = f"{number:.2f}"
    assert parse_number(text).value == float(text)
    assert parse_number(text.replace(".", ",")).value == float(text)


@given(st.text(max_size=12))
def test_any_text_has_an_outcome_and_only_whole_ones_have_a_value(text: str) -> None:
    parsed = parse_number(text)
    assert parsed.outcome in {"coerced", "censored", "not-numeric", "blank"}
    assert (parsed.value is not None) == (parsed.outcome == "coerced")
    assert (parsed.bound is not None) == (parsed.outcome == "censored")
    if parsed.outcome == "coerced":
        assert any(ch.isdecimal() for ch in text)


@given(st.integers(0, 9999), st.sampled_from(["fpm", "m/s", " ft/min", " km/h", "cm/s", " MPH"]))
def test_a_unit_beside_a_number_changes_no_number(number: int, unit: str) -> None:
    parsed = parse_number(f"{number}{unit}")
    assert parsed.value == number
    assert parsed.unit is not None
    assert parsed.unit.dimension == "velocity"


@pytest.mark.parametrize(
    ("cell", "outcome", "unit"),
    [
        (Cell(1, 1, Kind.NUMBER, 98), "number", None),
        (Cell(1, 1, Kind.NUMBER, 0.5, '0.00" m/s"'), "number", "m/s"),
        (Cell(1, 1, Kind.NUMBER, 0.98, "0%"), "number", "%"),
        (Cell(1, 1, Kind.NUMBER, float("nan")), "not-numeric", None),
        (Cell(1, 1, Kind.ERROR, "#REF!"), "not-numeric", None),
        (Cell(1, 1, Kind.FORMULA, None), "not-numeric", None),
        (Cell(1, 1, Kind.BOOLEAN, True), "not-numeric", None),
        (None, "blank", None),
    ],
)
def test_cells_of_every_kind(cell: Cell | None, outcome: str, unit: str | None) -> None:
    parsed = parse_cell(cell)
    assert (parsed.outcome, parsed.unit.name if parsed.unit else None) == (outcome, unit)
