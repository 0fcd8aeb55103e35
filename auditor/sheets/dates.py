"""Dates: a true date cell is certain, a text date only where its day and month cannot be swapped."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from auditor.sheets.text import fold
from auditor.sheets.vocabulary import months
from auditor.workbook.cells import Cell, Kind

_TIME = r"(?:[ t,]+\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?: ?[ap]\.?m\.?)?(?:z|[+-]\d{2}:?\d{2})?)?"
_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})" + _TIME)
_BASIC = re.compile(r"(20\d{2})(\d{2})(\d{2})")
_NUMERIC = re.compile(r"(\d{1,2})\s?([-/.])\s?(\d{1,2})\s?\2\s?(\d{4}|\d{2})" + _TIME)
_DAY_NAME = r"(?:[^\W\d]+day,? |(?:mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun)\.?,? )?"
_DAY_MONTH = re.compile(_DAY_NAME + r"(\d{1,2})(?:st|nd|rd|th)?[ .,/-]*([^\W\d]+)\.?,?[ ./,'-]*(\d{4}|\d{2})" + _TIME)
_MONTH_DAY = re.compile(_DAY_NAME + r"([^\W\d]+)\.?[ -]*(\d{1,2})(?:st|nd|rd|th)?,?[ -]+(\d{4})" + _TIME)
_YEAR_MONTH = re.compile(r"(\d{4})[ -]([^\W\d]+)\.?[ -](\d{1,2})" + _TIME)
_FORMAT = re.compile(r"\b(d{1,2}([-/. ])m{1,4}\2y{2,4}|m{1,2}([-/. ])d{1,2}\3y{2,4})\b")


class ParsedDate(NamedTuple):
    """`value` where certain. `ambiguous` where only the order of day and month is missing: then `parts` holds the two
    numbers and the year, `separator` the style."""

    value: dt.date | None
    ambiguous: bool = False
    separator: str = ""
    parts: tuple[int, int, int] = (0, 0, 0)


NONE = ParsedDate(None)


def _date(year: int, month: int, day: int) -> ParsedDate:
    try:
        return ParsedDate(dt.date(year, month, day)) if 1900 <= year <= 2199 else NONE
    except ValueError:
        return NONE


@lru_cache(maxsize=16384)
def parse_date_text(text: str, order: str = "") -> ParsedDate:
    """Read a text as a date. `order` is 'dmy', 'mdy' or '' where nothing settles it.

    ISO dates and dates with a month's name are certain; '24/05/2026' is, since no month is 24; '06/07/2026' is
    `ambiguous` without an order. A two-digit year is taken as 20yy where the separator leaves no other reading."""
    body = fold(text)
    iso = _ISO.fullmatch(body)
    if iso:
        return _date(int(iso[1]), int(iso[3]), int(iso[4]))
    basic = _BASIC.fullmatch(body)
    if basic:
        return _date(int(basic[1]), int(basic[2]), int(basic[3]))
    numeric = _NUMERIC.fullmatch(body)
    if numeric:
        return _numeric(numeric, order)
    return _named(body)


def _named(body: str) -> ParsedDate:
    for pattern, day, month, year in ((_DAY_MONTH, 1, 2, 3), (_MONTH_DAY, 2, 1, 3), (_YEAR_MONTH, 3, 2, 1)):
        found = pattern.fullmatch(body)
        if found and found[month] in months():
            return _date(_year(found[year]), months()[found[month]], int(found[day]))
    return NONE


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)


def _numeric(found: re.Match[str], order: str) -> ParsedDate:
    first, separator, second = int(found[1]), found[2], int(found[3])
    if len(found[4]) == 2 and separator == "-":
        return NONE  # '26-05-12' may start with its year
    year = _year(found[4])
    if first == second:
        return _date(year, first, second)
    if first > 12 or second > 12:
        return _date(year, second, first) if first > 12 else _date(year, first, second)
    if order:
        return _date(year, second, first) if order == "dmy" else _date(year, first, second)
    return ParsedDate(None, ambiguous=True, separator=separator, parts=(first, second, year))


def declared_order(text: str) -> str:
    """'dmy' or 'mdy' where a text declares a format such as 'dd/mm/yyyy' or 'm/d/yy', else ''."""
    if "d" not in text.casefold():
        return ""
    found = _FORMAT.search(fold(text))
    return ("dmy" if found[1].startswith("d") else "mdy") if found else ""


class DateOrder(NamedTuple):
    """What a workbook proves about the order of day and month: by separator, and as declared for all of it."""

    by_separator: dict[str, str]
    declared: str = ""

    def of(self, separator: str) -> str:
        """The order that holds for dates with this separator, '' where nothing settles it or proofs differ."""
        shown = self.by_separator.get(separator, "")
        if shown == "both":
            return ""
        if shown and self.declared and shown != self.declared:
            return ""
        return shown or self.declared


def prove_order(texts: Iterable[str]) -> DateOrder:
    """Collect what text dates with a part over 12, and declared formats, prove about the order of day and month."""
    proofs: dict[str, str] = {}
    declared: set[str] = set()
    for text in texts:
        if len(text) > 80:
            continue
        found = _NUMERIC.fullmatch(fold(text)) if text[:1].isdigit() or text[:1].isspace() else None
        if found:
            first, second = int(found[1]), int(found[3])
            if (first > 12) != (second > 12) and not (len(found[4]) == 2 and found[2] == "-"):
                order = "dmy" if first > 12 else "mdy"
                known = proofs.setdefault(found[2], order)
                if known != order:
                    proofs[found[2]] = "both"
        elif (order := declared_order(text)) != "":
            declared.add(order)
    return DateOrder(proofs, declared.pop() if len(declared) == 1 else "")


def parse_date_cell(cell: Cell, order: DateOrder, label: str = "") -> ParsedDate:
    """Read a cell under a date label. The label's own format ('Date (dd/mm/yyyy)') is nearer than the workbook's."""
    value = cell.value
    if cell.kind == Kind.DATE:
        if isinstance(value, dt.datetime):
            return ParsedDate(value.date())
        return ParsedDate(value) if isinstance(value, dt.date) else NONE
    if cell.kind == Kind.NUMBER and isinstance(value, (int, float)) and float(value).is_integer():
        found = _BASIC.fullmatch(str(int(value)))
        return _date(int(found[1]), int(found[2]), int(found[3])) if found else NONE
    if cell.kind != Kind.TEXT:
        return NONE
    text = str(value)
    parsed = parse_date_text(text)
    if not parsed.ambiguous:
        return parsed
    near = declared_order(label) or declared_order(cell.number_format)
    proven = order.by_separator.get(parsed.separator, "")
    if near and proven and proven != near:
        return parsed
    settled = near or order.of(parsed.separator)
    return parse_date_text(text, settled) if settled else parsed


def join_date(parts: list[Cell]) -> str:
    """Day, month and year of three cells as one text ('14 May 2026', '14/5/2026'); '' where they are no such three."""
    texts = [_plain(c) for c in parts if c.kind in (Kind.NUMBER, Kind.TEXT)]
    if len(texts) != 3 or not re.fullmatch(r"20\d\d", texts[2]):
        return ""
    numbers = [t for t in texts[:2] if re.fullmatch(r"\d{1,2}", t)]
    if len(numbers) == 2:
        return "/".join(texts)
    return " ".join(texts) if len(numbers) == 1 and {fold(t) for t in texts[:2]} & set(months()) else ""


def _plain(cell: Cell) -> str:
    value = cell.value
    return str(int(value)) if isinstance(value, (int, float)) and float(value).is_integer() else str(value).strip()
