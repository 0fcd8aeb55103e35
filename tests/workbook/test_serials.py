"""Serial day numbers (ECMA-376 part 1, 18.17.4.1 and 18.17.4.3) and ISO 8601 texts."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

from auditor.workbook.serials import from_iso, from_serial


@pytest.mark.parametrize(
    ("serial", "date1904", "moment"),
    [
        # The examples of the standard: 1 January 1900 is 1 (1900 system); 1 January 1904 is 0 (1904 system);
        # 31 December 9999 is 2,958,465 and 2,957,003.
        (1, False, dt.datetime(1900, 1, 1)),
        (59, False, dt.datetime(1900, 2, 28)),
        (61, False, dt.datetime(1900, 3, 1)),
        (25569, False, dt.datetime(1970, 1, 1)),
        (2_958_465, False, dt.datetime(9999, 12, 31)),
        (2_957_003, True, dt.datetime(9999, 12, 31)),
        (1, True, dt.datetime(1904, 1, 2)),
        (0.5, False, dt.time(12)),
        (0, True, dt.time(0)),
    ],
)
def test_known_days(serial: float, date1904: bool, moment: dt.datetime | dt.time) -> None:
    assert from_serial(serial, date1904=date1904) == moment


@pytest.mark.parametrize("serial", [-1, -0.25, 60, 60.5, 2_958_466, 1e300])
def test_numbers_that_are_no_day(serial: float) -> None:
    assert from_serial(serial) is None


@given(st.one_of(st.integers(61, 2_900_000), st.floats(61, 2_900_000)), st.booleans())
def test_openpyxl_agrees(serial: float, date1904: bool) -> None:
    epoch = CALENDAR_MAC_1904 if date1904 else CALENDAR_WINDOWS_1900
    assert from_serial(serial, date1904=date1904) == from_excel(serial, epoch)


@given(st.floats(0, 10_000))
def test_openpyxl_agrees_on_elapsed_time(serial: float) -> None:
    ours, theirs = from_serial(serial, elapsed=True), from_excel(serial, timedelta=True)
    assert isinstance(ours, dt.timedelta)
    assert abs(ours - theirs) <= dt.timedelta(milliseconds=1)  # theirs keeps microseconds


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-03-05", dt.datetime(2026, 3, 5)),
        ("2026-03-05T14:30:00Z", dt.datetime(2026, 3, 5, 14, 30)),
        ("14:30:00", dt.time(14, 30)),
        ("soon", None),
        ("2026-13-05", None),
        ("", None),
    ],
)
def test_iso_texts(text: str, moment: object) -> None:
    assert from_iso(text) == moment
