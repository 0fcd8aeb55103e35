"""Which number formats show dates (ECMA-376 part 1, 18.8.30 and 18.8.31)."""

from __future__ import annotations

import pytest
from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format, is_timedelta_format

from auditor.workbook.styles import BUILTIN, Shows, shows

DATES = [
    "yyyy-mm-dd", "dd/mm/yyyy", "m/d/yy h:mm", "[$-409]d\\-mmm\\-yy;@", "[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy",
    "h:mm AM/PM",
    "mmss.0", "hh:mm:ss.000", 'yyyy"年"m"月"d"日"', "[Red]d.m.yy", "DD.MM.YYYY", "mmm", '"week of "d mmm',
]  # fmt: skip
ELAPSED = ["[h]:mm:ss", "[hh]:mm", "[mm]:ss", "[ss].00", "[H]:MM"]
NUMBERS = [
    "General", "0", "0.00", "#,##0", "0%", "0.00E+00", "@", '0.0" fpm"', '0" m/s"', "0.0\\ \\m\\/\\s", "[Red]0.0",
    "# ?/?",
    '_("$"* #,##0.00_)', '0.0;[Red]-0.0;"day"', "[>100]0;0.0", '"mean "0', "[$-409]0", "0_d", 'General" ft/min"', "",
    "0*m", "0.00 m/s", "0 fpm/day",  # the last two: quotes forgotten, no valid date format
]  # fmt: skip


@pytest.mark.parametrize("code", DATES)
def test_dates(code: str) -> None:
    assert shows(code) is Shows.DATE


@pytest.mark.parametrize("code", ELAPSED)
def test_elapsed_time(code: str) -> None:
    assert shows(code) is Shows.ELAPSED


@pytest.mark.parametrize("code", NUMBERS)
def test_numbers(code: str) -> None:
    assert shows(code) is Shows.NUMBER


@pytest.mark.parametrize("code", DATES + ELAPSED + NUMBERS[:-3])
def test_openpyxl_agrees(code: str) -> None:
    assert (shows(code) is not Shows.NUMBER) == bool(is_date_format(code))
    assert (shows(code) is Shows.ELAPSED) == bool(is_timedelta_format(code))


def test_builtin_codes_are_those_of_openpyxl() -> None:
    assert {
        number: code for number, code in BUILTIN.items() if not (27 <= number <= 36 or number >= 50)
    } == BUILTIN_FORMATS


def test_builtin_dates_are_those_of_the_standard() -> None:
    dates = {number for number, code in BUILTIN.items() if shows(code) is not Shows.NUMBER}
    assert dates == {*range(14, 23), *range(27, 37), 45, 46, 47, *range(50, 59)}
