"""The velocity units that a sheet itself writes for the readings of a survey, wherever they stand."""

from __future__ import annotations

from collections.abc import Iterator

from auditor.sheets.labels import Meaning
from auditor.sheets.model import SurveyAsWritten
from auditor.sheets.numbers import parse_cell
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.sheet_kinds import corners
from auditor.sheets.unit_scope import notes_in
from auditor.sheets.units import VELOCITY_UNITS
from auditor.workbook.cells import a1

_NOT_THE_READINGS = ("monitor", "reported_mean", "reported_min", "reported_max")


def spot_at(cell: str) -> Spot:
    """(row, column) of an A1 address."""
    top, left, _, _ = corners(cell)
    return top, left


def unit_written_for_readings(survey: SurveyAsWritten, scene: Scene) -> Iterator[tuple[str, str, str]]:
    """(cell, text, canonical unit) of every place that gives the readings of a survey a unit: its own field, the cells
    themselves, headings, unit cells and notes on its part of the sheet (notes: on all of it)."""
    found = survey.fields.get("unit")
    if found and found.value:
        yield found.cell, found.written, str(found.value)
    for reading in survey.readings:
        parsed = parse_cell(scene.cells.get(spot_at(reading.cell)))
        if reading.kind == "face" and parsed.unit and parsed.unit.name in VELOCITY_UNITS:
            yield reading.cell, reading.written, parsed.unit.name
    for spot, units in notes_in(scene, None):
        for unit in units:
            yield a1(*spot), scene.text(spot), unit
    yield from _headings(survey, scene)


def _headings(survey: SurveyAsWritten, scene: Scene) -> Iterator[tuple[str, str, str]]:
    _, left, bottom, right = corners(survey.place)
    other = {spot_at(f.cell) for n, f in survey.fields.items() if n in _NOT_THE_READINGS and f.cell}
    other |= {spot_at(r.cell) for r in survey.readings if r.kind == "cross-draft"}
    for spot, meaning in scene.meanings.items():
        unit = meaning.unit
        inside = spot[0] <= bottom and left <= spot[1] <= right  # a table's headings stand above its rows
        if not inside or unit is None or unit.name not in VELOCITY_UNITS or spot in scene.numbers:
            continue
        if _of_something_else(meaning) or (meaning.is_unit and _beside(spot, other)):
            continue
        yield a1(*spot), scene.text(spot), unit.name


def _of_something_else(meaning: Meaning) -> bool:
    return bool(
        meaning.field not in (None, "unit") or meaning.flip or meaning.derived or meaning.section not in (None, "face")
    )


def _beside(spot: Spot, others: set[Spot]) -> bool:
    """True for a unit cell to the right of another value, or between its label and it."""
    row, column = spot
    return any(r == row and abs(c - column) <= 2 for r, c in others)
