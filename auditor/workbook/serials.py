"""Serial day numbers and ISO texts to dates and times.

Serial numbers: ECMA-376 part 1, 18.17.4.1. In the 1900 system day 60 is 29 February 1900, which never was; days before
it are one off against the calendar. In the 1904 system day 0 is 1 January 1904."""

from __future__ import annotations

import datetime as dt

_EPOCH_1900 = dt.datetime(1899, 12, 30)
_EPOCH_1904 = dt.datetime(1904, 1, 1)
_LAST_1900 = 2_958_466  # the day after 31 December 9999
_LAST_1904 = 2_957_004
_DAY_MS = 86_400_000

DateValue = dt.datetime | dt.time | dt.timedelta


def from_serial(serial: int | float, elapsed: bool = False, date1904: bool = False) -> DateValue | None:
    """The moment that `serial` (days) stands for: a time of day below 1, a timedelta where the format shows elapsed
    time, else a datetime; to the millisecond. None where it stands for none (negative, beyond the year 9999, or the
    day that never was)."""
    if not 0 <= serial < (_LAST_1904 if date1904 else _LAST_1900):
        return None
    days, fraction = divmod(serial, 1)
    milliseconds = round(fraction * _DAY_MS)
    if elapsed:
        return dt.timedelta(days=days, milliseconds=milliseconds)
    if serial < 1:
        return (dt.datetime.min + dt.timedelta(milliseconds=milliseconds % _DAY_MS)).time()
    if date1904:
        epoch = _EPOCH_1904
    elif days == 60:
        return None
    else:
        epoch = _EPOCH_1900 + dt.timedelta(days=1 if days < 60 else 0)
    try:
        return epoch + dt.timedelta(days=days, milliseconds=milliseconds)
    except OverflowError:
        return None


def from_iso(text: str) -> dt.datetime | dt.time | None:
    """A date, date and time, or time of day in ISO 8601, without zone; None if it is none of these."""
    text = text.strip()
    if text.endswith("Z"):
        text = text[:-1]
    for kind in (dt.datetime, dt.time):
        try:
            value = kind.fromisoformat(text)
        except ValueError:
            continue
        return value.replace(tzinfo=None)
    return None
