"""The one strict parser that takes a number out of a cell: every way it can go has an outcome of its own."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import NamedTuple

from auditor.sheets.text import fold, is_blank
from auditor.sheets.units import Unit, find_unit, unit_in_format
from auditor.workbook.cells import Cell, Kind


class Parsed(NamedTuple):
    """`outcome` is 'number' (it was one), 'coerced' (taken out of text without doubt), 'censored' (an upper `bound`,
    no value), 'not-numeric' (with the `reason`) or 'blank'. `unit` is the one the cell itself carries."""

    outcome: str
    value: float | None = None
    bound: float | None = None
    unit: Unit | None = None
    reason: str = ""


BLANK = Parsed("blank")
PLAIN_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")  # as any program writes it
_PLAIN = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)")
_COMMA = re.compile(r"[+-]?(?:\d*,\d{1,2}|\d*,\d{4,}|0,\d+)")
_THOUSANDS = [
    re.compile(r"[+-]?\d{1,3}(?:,\d{3})+\.\d+"),
    re.compile(r"[+-]?\d{1,3}(?:,\d{3}){2,}"),
    re.compile(r"[+-]?\d{1,3}(?:['\u00a0\u2009\u202f]\d{3})+(?:[.,]\d+)?"),
]
_EUROPEAN = [re.compile(r"[+-]?\d{1,3}(?:\.\d{3})+,\d+"), re.compile(r"[+-]?\d{1,3}(?:\.\d{3}){2,}")]
_DOUBTFUL = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")
_SPLIT = re.compile(r"([+-]?[\d.,'\u00a0\u2009\u202f]*\d[.,]?)\s*(\D.*)?$", re.DOTALL)
_CENSORED = re.compile(r"(?:<=?|\u2264|less than|below|under)\s*(.+)$", re.DOTALL)
NO_VALUE = {"-", "--", "---", "n/a", "na", "n.a.", "nil", "none", "nan", "inf", "-inf", "null", "err", "error"}


def plain_value(text: str) -> float | None:
    """The number that the whole text writes, in any usual grouping; None where it is none or could be two."""
    if _PLAIN.fullmatch(text):
        return float(text)
    if _COMMA.fullmatch(text):
        return float(text.replace(",", "."))
    if any(p.fullmatch(text) for p in _THOUSANDS):
        head = re.sub(r"['\u00a0\u2009\u202f]", "", text)
        return float(head.replace(",", "") if "." in head or head.count(",") > 1 else head.replace(",", "."))
    if any(p.fullmatch(text) for p in _EUROPEAN):
        return float(text.replace(".", "").replace(",", "."))
    return None


def _trim(text: str) -> str:
    """Digits 0-9 and plain minus; blanks at the ends go, non-breaking ones inside stay (they group thousands)."""
    inside = text.strip(
        " \t\r\n\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u200b\u200c"
        "\u200d\u202f\u205f\u2060\u3000\ufeff"
    )
    if inside.isascii():
        return inside.casefold()
    kept = {"\u00a0": "\ue000", "\u2009": "\ue001", "\u202f": "\ue002"}
    for blank, mark in kept.items():
        inside = re.sub(rf"(?<=\d){blank}(?=\d{{3}}(?!\d))", mark, inside)
    inside = fold(inside)
    for blank, mark in kept.items():
        inside = inside.replace(mark, blank)
    return inside


@lru_cache(maxsize=65536)
def parse_number(text: str) -> Parsed:
    """Read one text as a number. Never guesses: '1,234', '95-105', '1_000', '98?', 'nan' are all 'not-numeric'.

    A number in text is 'coerced', with the unit that stands beside it ('98 fpm', '0,51 m/s'); '<20' is 'censored'."""
    if is_blank(text):
        return BLANK
    body = _trim(text)
    if body in NO_VALUE:
        return Parsed("not-numeric", reason="no value")
    censored = _CENSORED.match(body)
    if censored:
        inner = _number_and_unit(censored.group(1))
        if inner.outcome == "coerced" and inner.value is not None and inner.value >= 0:
            return Parsed("censored", bound=inner.value, unit=inner.unit)
        return Parsed("not-numeric", reason="an upper bound that cannot be read")
    return _number_and_unit(body)


def _number_and_unit(body: str) -> Parsed:
    found = _SPLIT.match(body)
    if not found:
        return Parsed("not-numeric", reason="no number")
    digits, rest = found.group(1), (found.group(2) or "").strip()
    unit = None
    if rest:
        unit = find_unit(rest)
        if unit is None:
            return Parsed("not-numeric", reason="other text beside the number")
        if unit.name == "%":
            return Parsed("not-numeric", unit=unit, reason="a percentage")
    if _DOUBTFUL.fullmatch(digits) and not digits.lstrip("+-").startswith("0"):
        return Parsed("not-numeric", unit=unit, reason="a comma that may group thousands or mark decimals")
    value = plain_value(digits)
    if value is None or not math.isfinite(value):
        return Parsed("not-numeric", reason="not written as a number")
    return Parsed("coerced", value=value, unit=unit)


def parse_cell(cell: Cell | None) -> Parsed:
    """Read one cell of any kind as a number; a unit printed by its number format counts as the cell's own."""
    if cell is None:
        return BLANK
    if cell.kind == Kind.NUMBER:
        value = cell.value
        if not isinstance(value, (int, float)) or not math.isfinite(value):
            return Parsed("not-numeric", reason="not a finite number")
        unit = unit_in_format(cell.number_format) if cell.number_format != "General" else None
        return Parsed("number", value=float(value), unit=unit)
    if cell.kind == Kind.TEXT:
        return parse_number(str(cell.value))
    if cell.kind == Kind.ERROR:
        return Parsed("not-numeric", reason=f"an error of the spreadsheet ({cell.value})")
    if cell.kind == Kind.FORMULA:
        return Parsed("not-numeric", reason="a formula whose value was never stored")
    if cell.kind == Kind.BOOLEAN:
        return Parsed("not-numeric", reason="true or false")
    return Parsed("not-numeric", reason="a date")


def written(cell: Cell | None) -> str:
    """A cell's value as text, as a person would see it without its number format."""
    if cell is None or cell.value is None:
        return ""
    value = cell.value
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    if hasattr(value, "isoformat"):
        text = value.isoformat()
        return text.removesuffix("T00:00:00")
    return str(value)
