"""One cell of a register to a typed value, strictly: what could be read in two ways is refused."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from auditor.register_file.words import factor, fold, meaning, unit_of
from auditor.workbook import Cell, Kind

DATES = {"installed_on", "valid_from", "calibrated_on", "calibration_due", "happened_on"}
_NUMBER = re.compile(r"([+-]?[0-9]+(?:\.[0-9]+)?)\s*([A-Za-z\"%].*)?")
_THOUSANDS = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")
_NAMED = re.compile(r"(\d{1,2})[ .-]+([A-Za-z]{3,9})\.?[ ,-]+(\d{4})")
_MONTHS = ["january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
           "november", "december"]  # fmt: skip
_SHORT = 60  # characters of a cell that a message repeats


@dataclass(slots=True)
class Wrong(Exception):
    """A cell that cannot be taken: why, and how to mend it."""

    reason: str
    remedy: str


def read(column: str, cell: Cell, scale: float) -> object:
    """The value of a cell for `column`; numbers times `scale`, the factor of the heading's unit. None where there is
    nothing but blanks. Raises Wrong."""
    if cell.kind == Kind.ERROR:
        raise Wrong(f"the cell holds the error {cell.value}", "Mend the formula, or type the value.")
    if cell.kind == Kind.FORMULA:
        raise Wrong(
            "the cell holds a formula whose value was not stored",
            "Open the file in a spreadsheet program and save it, or type the value.",
        )
    text = _text(cell)
    if not text:
        return None
    if column in DATES:
        return _date(cell, text)
    if meaning(column):
        return _word(column, text)
    if unit_of(column) is not None:
        return _quantity(column, cell, text, scale)
    if cell.kind == Kind.DATE:
        raise Wrong(
            f"a date ({text}) stands where text is due; spreadsheet programs make dates of tags such as 3-1",
            "Format the cell as text and type it again.",
        )
    return text


def _text(cell: Cell) -> str:
    """The cell as a person reads it, blanks at the ends and in a row left out."""
    value = cell.value
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        return value.date().isoformat()
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    if isinstance(value, int) and not isinstance(value, bool) and re.fullmatch("0+", cell.number_format):
        return str(value).zfill(len(cell.number_format))
    return " ".join(str(value).split())


def short(text: str) -> str:
    return text if len(text) <= _SHORT else text[: _SHORT - 1] + "…"


def _date(cell: Cell, text: str) -> dt.date:
    if cell.kind == Kind.DATE:
        if isinstance(cell.value, dt.datetime):
            return cell.value.date()
        if isinstance(cell.value, dt.date):
            return cell.value
    try:
        if found := _ISO.fullmatch(text):
            return dt.date(*(int(part) for part in found.groups()))
        if found := _NAMED.fullmatch(text):
            month = [number for number, name in enumerate(_MONTHS, 1) if name.startswith(found[2].casefold())]
            if len(month) == 1:
                return dt.date(int(found[3]), month[0], int(found[1]))
    except ValueError:
        raise Wrong(f"there is no such day as '{short(text)}'", "Write the date as 2026-03-31.") from None
    raise Wrong(
        f"'{short(text)}' is not a date that can be read in one way only",
        "Write it as 2026-03-31, or format the cell as a date.",
    )


def _word(column: str, text: str) -> object:
    value = meaning(column).get(fold(text))
    if value is None:
        known = list(dict.fromkeys(meaning(column).values()))
        if column == "kind":
            return text.casefold()  # an instrument of a kind that has no name here
        raise Wrong(f"'{short(text)}' is not a known {column.replace('_', ' ')}", f"Write {', '.join(known)}.")
    return value == "yes" if column == "in_service" else value


def _quantity(column: str, cell: Cell, text: str, scale: float) -> float | int:
    unit = unit_of(column)
    assert unit is not None
    name = column.removesuffix(f"_{unit}").replace("_", " ")
    remedy = f"Write the {name} as a plain number in {unit}."
    if cell.kind in (Kind.DATE, Kind.BOOLEAN):
        raise Wrong(f"'{short(text)}' is not a number", remedy)
    if _THOUSANDS.fullmatch(text):
        raise Wrong(f"the comma in '{text}' can be read in two ways", remedy)
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise Wrong(f"'{short(text)}' is not a number", remedy)
    if found[2]:
        own = factor(unit, found[2].strip().casefold().rstrip("."))
        if own is None:
            raise Wrong(f"'{short(text)}': '{short(found[2])}' is not a unit for the {name}", remedy)
        scale = own
    value = (float(cell.value) if cell.kind == Kind.NUMBER else float(found[1])) * scale  # type: ignore[arg-type]
    if (value < 0 and unit != "ft") or (value == 0 and unit in ("in", "months")):
        raise Wrong(f"the {name} cannot be {short(text)}", remedy)
    if column == "interval_months":
        if value != int(value):
            raise Wrong(f"'{short(text)}' is not a whole number of months", remedy)
        return int(value)
    return value


def accuracy(text: str) -> dict[str, object]:
    """The figures in an instrument's statement such as '3 % of reading or 3 ft/min, the larger'; what it does not
    say is left out."""
    found: dict[str, object] = {}
    if percent := re.search(r"(\d+(?:\.\d+)?)\s*%", text):
        found["accuracy_percent"] = float(percent[1])
    if fixed := re.search(r"(\d+(?:\.\d+)?)\s*(ft/min|fpm|m/s)", text, re.IGNORECASE):
        scale = factor("fpm", fixed[2].casefold())
        assert scale is not None
        found["accuracy_fpm"] = float(fixed[1]) * scale
    if len(found) == 2:
        if re.search(r"larger|greater|higher|whichever", text, re.IGNORECASE):
            found["accuracy_rule"] = "larger"
        elif re.search(r"\+(?!\s*[-/])|\bplus\b|\band\b|\bsum\b", text, re.IGNORECASE):
            found["accuracy_rule"] = "sum"
    return found
