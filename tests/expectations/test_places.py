"""Spelling does not move a hood; another number does."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from expectations.places import same_place


def same(sheet: object, register: object, building: object = "Alder Building") -> bool:
    one = [pd.Series([value], dtype=object) for value in (sheet, register, building)]
    return bool(same_place(*one).item())


@pytest.mark.parametrize(
    ("sheet", "register"),
    [
        ("Alder", "Alder Building"), ("ALDER BLDG.", "Alder Building"), ("  alder   hall ", "Alder Building"),
        ("the Alder Bldg", "Alder"), ("Rm 110", "110"), ("room 110", "110"), ("110", "0110"), ("A-110", "A110"),
        ("a 110", "A110"), ("1st floor", "1"), ("Floor 1", "1"), ("1.0", "1"), (1.0, "1"), ("2nd", "2"),
        ("Second", "2"), ("Level 12", "12"), ("Ground", "G"), ("Basement", "B"), ("Alder 110", "110"),
        ("Lab 110", "Laboratory 110"), (None, "110"), ("110", None), (None, None),
    ],
)  # fmt: skip
def test_the_same_place(sheet: object, register: object) -> None:
    assert same(sheet, register)


@pytest.mark.parametrize(
    ("sheet", "register"),
    [
        ("Bryony Building", "Alder Building"), ("Alder Annex", "Alder Building"), ("101", "110"), ("110A", "110"),
        ("110-1", "110"), ("2", "1"), ("1", "G"), ("11", "1"), ("B110", "110"), ("10", "100"),
        ("Bryony 110", "110"), ("2-04", "24"),
    ],
)  # fmt: skip
def test_another_place(sheet: object, register: object) -> None:
    assert not same(sheet, register)


@settings(deadline=None)
@given(st.integers(0, 9999), st.integers(0, 9999))
def test_room_numbers_agree_only_with_themselves(a: int, b: int) -> None:
    assert same(f"Room {a}", f"{b:04d}") == (a == b)


@settings(deadline=None)
@given(st.text(max_size=30))
def test_every_text_is_the_same_as_itself_in_other_case_and_blanks(text: str) -> None:
    assert same(text, text)
    assert same(f" {text} ", text)
