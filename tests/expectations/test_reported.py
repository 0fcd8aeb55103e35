"""The sheet's own figures: what rounding explains is never a fault, what it does not explain always is.

Reference: the decimal arithmetic of the standard library (General Decimal Arithmetic, ROUND_HALF_UP and
ROUND_HALF_EVEN); 1 ft/min = 0.00508 m/s exactly (trade-facts E01, NIST SP 811 appendix B).
"""

from __future__ import annotations

import random
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from expectations.prepare import prepare_surveys
from expectations.readings import prepare_readings, span
from expectations.reported import decimals_written
from tests.expectations.frames import TODAY, Batch, draft_readings, face_readings


@pytest.mark.parametrize(
    ("written", "value", "decimals"),
    [
        ("98", 98.0, 0), ("98.0", 98.0, 1), ("98.40", 98.4, 2), ("98,4", 98.4, 1), ("98.4 fpm", 98.4, 1),
        ("Mean: 98.4", 98.4, 1), ("0.50", 0.5, 2), ("9.84E+01", 98.4, 1), ("1e2", 100.0, 0), ("−0.5", -0.5, 1),
        ("3 of 9: 98.4", 98.4, 1), ("1,234", 1234.0, 0), ("", 98.4, 1), (None, 98.4, 1), ("about a hundred", 98.25, 2),
        ("97.8333333333333", 97.8333333333333, 12), (None, 100.0, 0),
    ],
)  # fmt: skip
def test_decimals_are_those_of_the_figure_as_written(written: Any, value: float, decimals: int) -> None:
    assert decimals_written(written, value) == decimals


@settings(deadline=None)
@given(st.integers(-10_000, 10_000), st.integers(0, 6), st.booleans())
def test_decimals_of_any_decimal_number(digits: int, decimals: int, comma: bool) -> None:
    exact = Decimal(digits).scaleb(-decimals)
    text = f"{exact:.{decimals}f}"
    assert decimals_written(text.replace(".", ",") if comma else text, float(exact)) == decimals


def excess_of(surveys: list[dict[str, Any]]) -> pd.DataFrame:
    batch = Batch()
    for kwargs in surveys:
        batch.add(**kwargs)
    s, r, _ = batch.frames()
    return prepare_surveys(s, prepare_readings(r, s), None, TODAY, (None, None))


def survey(grid: list[list[Any]], figure: Decimal, unit: str | None = None, own: str | None = None) -> dict[str, Any]:
    return {
        "readings": face_readings(grid, unit or "ft/min") + draft_readings([9, 8]),
        "facts": {"reported_mean": (float(figure), str(figure), "B17")},
        "units": {"reported_mean": own},
    }


def random_grid(chance: random.Random, unit: str) -> list[list[Any]]:
    low, high, digits = (60, 140, 0) if unit == "ft/min" else (0.3, 0.7, 2)
    return [[round(chance.uniform(low, high), digits) for _ in range(chance.randint(2, 6))] for _ in range(2)]


def exact_mean(grid: list[list[Any]]) -> Decimal:
    values = [Decimal(str(value)) for line in grid for value in line]
    return sum(values, Decimal(0)) / len(values)


@pytest.mark.parametrize("rounding", [ROUND_HALF_UP, ROUND_HALF_EVEN])
def test_a_rounded_mean_is_never_a_fault_and_two_last_digits_off_always(rounding: str) -> None:
    chance = random.Random(7)
    right, wrong = [], []
    for _ in range(150):
        unit = chance.choice(["ft/min", "m/s"])
        grid, decimals = random_grid(chance, unit), chance.randint(0, 3) + (2 if unit == "m/s" else 0)
        step = Decimal(1).scaleb(-decimals)
        mean = exact_mean(grid).quantize(step, rounding)
        right.append(survey(grid, mean, unit))
        wrong.append(survey(grid, mean + chance.choice([-2, 2]) * step, unit))
    assert (excess_of(right)["reported_mean_excess"] <= 0).all()
    assert (excess_of(wrong)["reported_mean_excess"] > 0).all()


def test_a_mean_in_the_other_unit_is_compared_in_its_own() -> None:
    chance = random.Random(8)
    right, wrong = [], []
    for _ in range(60):
        grid = random_grid(chance, "ft/min")
        mean = (exact_mean(grid) * Decimal("0.00508")).quantize(Decimal("0.0001"), ROUND_HALF_UP)
        right.append(survey(grid, mean, "ft/min", "m/s"))
        wrong.append(survey(grid, mean + Decimal("0.0002"), "ft/min", "m/s"))
    assert (excess_of(right)["reported_mean_excess"] <= 0).all()
    assert (excess_of(wrong)["reported_mean_excess"] > 0).mean() > 0.5  # the mean of rounded readings may explain some


def test_the_mean_of_rounded_readings_is_accepted() -> None:
    grid = [[98.5, 99.5, 97.5], [98.5, 96.5, 98.5]]  # mean 98.1667; of rounded ones, 98.6667: written 99
    p = excess_of([survey(grid, Decimal("99")), survey(grid, Decimal("98")), survey(grid, Decimal("100"))])
    assert (p["reported_mean_excess"] <= 0).tolist() == [True, True, False]


@pytest.mark.parametrize("outcome", ["blank", "not-numeric", "censored"])
def test_no_whole_grid_no_comparison(outcome: str) -> None:
    kwargs = survey([[98, 99], [97, 98]], Decimal("50"))
    kwargs["readings"][0] |= {"outcome": outcome, "value": None, "bound": 20.0}
    assert excess_of([kwargs])["reported_mean_excess"].isna().all()


def test_scaling_unit_and_figure_together_changes_nothing() -> None:
    """The same survey in m/s and in cm/s: what is explained in one is explained in the other."""
    grid = [[0.51, 0.49, 0.5], [0.52, 0.48, 0.47]]
    hundredfold = [[round(v * 100, 6) for v in line] for line in grid]
    figures = [Decimal("0.495"), Decimal("0.49"), Decimal("0.50"), Decimal("0.47"), Decimal("0.497")]
    one = excess_of([survey(grid, f, "m/s") for f in figures])["reported_mean_excess"]
    other = excess_of([survey(hundredfold, f * 100, "cm/s") for f in figures])["reported_mean_excess"]
    # f * 100 keeps the exponent of f: '0.50' becomes '50.00', which claims two decimals more.
    other_same = excess_of(
        [survey(hundredfold, (f * 100).quantize(Decimal(1).scaleb(f.as_tuple().exponent + 2)), "cm/s") for f in figures]
    )["reported_mean_excess"]
    assert (one > 0).tolist() == (other_same > 0).tolist()
    assert ((other > 0) | (one <= 0)).all()


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(1, 60), st.integers(1, 200)), min_size=1, max_size=12))
def test_a_span_holds_its_cells_and_no_smaller_one_does(places: list[tuple[int, int]]) -> None:
    from openpyxl.utils import get_column_letter, range_boundaries

    text = span([f"{get_column_letter(column)}{row}" for column, row in places])
    columns, rows = [c for c, _ in places], [r for _, r in places]
    assert range_boundaries(text) == (min(columns), min(rows), max(columns), max(rows))


def test_a_span_of_what_is_no_address_is_its_first_cell() -> None:
    assert span(["somewhere", "B2"]) == "somewhere"
    assert span(["", "x"]) == "x"
    assert span([]) == ""
