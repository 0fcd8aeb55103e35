"""The value of a field, from a cell or a text, by the same strict parsers wherever it comes from."""

from __future__ import annotations

import re

from auditor.sheets.dates import DateOrder, parse_date_cell
from auditor.sheets.lengths import Length, parse_length, parse_size
from auditor.sheets.model import FIELDS, Field, FieldValue, Problem
from auditor.sheets.numbers import parse_cell, written
from auditor.sheets.text import fold, words_of
from auditor.sheets.units import LENGTH_UNITS, VELOCITY_UNITS, Unit, find_unit
from auditor.sheets.vocabulary import vocabulary
from auditor.workbook.cells import Cell, Kind

DATES = ("surveyed_on", "calibrated_on", "calibration_due")
LENGTHS = ("sash_height", "opening_width", "opening_height")
VELOCITIES = ("monitor", "reported_mean", "reported_min", "reported_max")
NO_ORDER = DateOrder({})
_NOTHING_SAID = {
    "-",
    "--",
    "---",
    "n/a",
    "na",
    "n.a.",
    "none",
    "tbc",
    "tbd",
    "?",
    "unknown",
    "not recorded",
    "nil",
    "x",
    "xx",
    "xxx",
    "not known",
    "missing",
    "to follow",
    "pending",
    "_",
    "__",
    "___",
    "____",
    "/",
}


def read_value(name: str, cell: Cell, label: str, unit: Unit | None, order: DateOrder) -> tuple[Field, list[Problem]]:
    """Read a cell as the field `name`, whose label read `label` and carried `unit`.

    The field's value is None where the cell does not say it with certainty."""
    text = written(cell)
    field = Field(cell.address, text, None)
    problems: list[Problem] = []
    if name in DATES:
        problems = _read_date(field, name, cell, label, order)
    elif name in LENGTHS:
        _read_length(field, cell, unit)
    elif name in VELOCITIES:
        problems = _read_velocity(field, name, cell, unit)
    elif name in ("air_temperature", "air_pressure"):
        parsed = parse_cell(cell)
        field.value = parsed.value
        own = parsed.unit or unit
        field.unit = own.name if own else None
    elif name == "unit":
        problems = _read_unit(field, cell)
    elif cell.kind not in (Kind.ERROR, Kind.FORMULA):
        field.value = _read_text(name, text)
    return field, problems


def _read_date(field: Field, name: str, cell: Cell, label: str, order: DateOrder) -> list[Problem]:
    parsed = parse_date_cell(cell, order, label)
    field.value = parsed.value
    if not parsed.ambiguous:
        return []
    first, second, year = parsed.parts
    detail = f"{field.written!r} may be day {first} of month {second} or day {second} of month {first} of {year}, and nothing in the workbook settles it"  # noqa: E501
    return [Problem("date-ambiguous", field.cell, name, field.written, detail)]


def _read_length(field: Field, cell: Cell, unit: Unit | None) -> None:
    default = unit.name if unit and unit.name in LENGTH_UNITS else None
    length: Length | None = None
    if cell.kind == Kind.NUMBER:
        parsed = parse_cell(cell)
        own = parsed.unit.name if parsed.unit and parsed.unit.name in LENGTH_UNITS else default
        if parsed.value is not None and own != "ft-in":
            length = Length(parsed.value, own)
    elif cell.kind == Kind.TEXT:
        length = parse_length(str(cell.value), default)
    if length:
        field.value, field.unit = length


def _read_velocity(field: Field, name: str, cell: Cell, unit: Unit | None) -> list[Problem]:
    parsed = parse_cell(cell)
    field.value = parsed.value
    own = parsed.unit or unit
    field.unit = own.name if own and own.name in VELOCITY_UNITS else None
    if own and own.name not in VELOCITY_UNITS:
        field.value = None
    if name == "reported_mean" and field.value is None and fold(field.written) not in _NOTHING_SAID:
        detail = f"the sheet's own average reads {field.written!r}: {parsed.reason or 'not a velocity'}"
        if cell.kind == Kind.FORMULA:
            detail = "the sheet's own average is a formula whose value was never stored"
        return [Problem("reported-mean-unreadable", field.cell, name, field.written, detail)]
    return []


def _read_unit(field: Field, cell: Cell) -> list[Problem]:
    unit = find_unit(field.written) or _ticked_unit(field.written)
    if unit and unit.dimension == "velocity":
        field.value = field.unit = unit.name
        return []
    if fold(field.written) in _NOTHING_SAID or cell.kind not in (Kind.TEXT,):
        return []
    what = "is not a unit of velocity" if unit else "is not a unit that is known"
    return [Problem("unit-unknown", field.cell, "unit", field.written, f"{field.written!r} {what}")]


def _ticked_unit(text: str) -> Unit | None:
    """The one unit with a tick before it: '☒ fpm ☐ m/s', '[x] fpm [ ] m/s'."""
    folded = fold(text)
    for tick, empty in (("\u2612", "\u2610"), ("\u2611", "\u2610"), ("[x]", "[ ]"), ("(x)", "( )")):
        if tick in folded and empty in folded and folded.count(tick) == 1:
            after = folded.split(tick, 1)[1].split(empty, 1)[0]
            return find_unit(after)
    return None


def _read_text(name: str, text: str) -> FieldValue:
    plain = " ".join(text.split())
    if fold(plain) in _NOTHING_SAID:
        return None
    v = vocabulary()
    tables = {"occasion": v.occasions, "instrument_kind": v.instruments}
    if name in tables:
        return tables[name].get(" ".join(words_of(fold(plain))), plain)
    return plain or None


_WIDTH_FIRST = re.compile(r"\bw(?:idth)?\b.*\bh(?:eight|t)?\b|\bwxh\b")
_HEIGHT_FIRST = re.compile(r"\bh(?:eight|t)?\b.*\bw(?:idth)?\b|\bhxw\b")


def read_size(cell: Cell, label: str, unit: Unit | None) -> dict[str, Field]:
    """Opening width and height from a text such as '72 x 18 in', if the label says which comes first ('W x H')."""
    default = unit.name if unit and unit.name in LENGTH_UNITS else None
    size = parse_size(str(cell.value), default) if cell.kind == Kind.TEXT else None
    folded = fold(label).replace(" x ", " x ")
    order = bool(_WIDTH_FIRST.search(folded)), bool(_HEIGHT_FIRST.search(folded))
    if size is None or order[0] == order[1]:
        return {}
    names = ("opening_width", "opening_height") if order[0] else ("opening_height", "opening_width")
    return {
        name: Field(cell.address, written(cell), part.value, part.unit) for name, part in zip(names, size, strict=True)
    }


def parse_field(name: str, text: str, unit: str | None = None) -> Field | None:
    """Read what a person supplies for a field (`hoodaudit settle`), as strictly as a sheet is read.

    `unit` is that of a quantity, in any spelling; the text may carry its own ('18 in', '0.51 m/s'). Returns None where
    the text is not a certain value of that field; a quantity without any unit is returned with `unit` None.
    Raises KeyError for a name that is not in FIELDS."""
    if name not in FIELDS:
        raise KeyError(name)
    declared = find_unit(unit) if unit else None
    if unit and declared is None:
        return None
    cell = Cell(0, 0, Kind.TEXT, text)
    field, problems = read_value(name, cell, "", declared, NO_ORDER)
    field.cell = ""
    if problems or field.value is None or field.value == "":
        return None
    wanted = FIELDS[name]
    return field if isinstance(field.value, wanted) else None
