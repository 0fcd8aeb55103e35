"""Cells of a grid as readings: outcome, unit and place."""

from __future__ import annotations

from auditor.sheets.model import Reading
from auditor.sheets.numbers import BLANK, Parsed, parse_cell
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.units import VELOCITY_UNITS
from auditor.workbook.cells import Kind, a1


def read_reading(scene: Scene, spot: Spot, kind: str, unit: str | None, **place: object) -> Reading:
    """One cell as a reading, whatever is in it. `unit` is the one that governs it; its own goes before."""
    cell = scene.cells.get(spot)
    parsed: Parsed = scene.numbers.get(spot) or (parse_cell(cell) if cell else BLANK)
    own = parsed.unit.name if parsed.unit else None
    outcome, value = parsed.outcome, parsed.value
    if own and own not in VELOCITY_UNITS:
        outcome, value = "not-numeric", None
    reading = Reading(a1(*spot), kind, scene.text(spot), value, outcome, own if own in VELOCITY_UNITS else unit)
    reading.bound = parsed.bound if outcome == "censored" else None
    reading.hidden = scene.is_hidden(spot)
    for name, thing in place.items():
        setattr(reading, name, thing)
    return reading


def own_units(scene: Scene, spots: list[Spot]) -> dict[str, list[Spot]]:
    """The units that cells themselves carry -> those cells."""
    found: dict[str, list[Spot]] = {}
    for spot in spots:
        parsed = scene.numbers.get(spot)
        if parsed and parsed.unit:
            found.setdefault(parsed.unit.name, []).append(spot)
    return found


def is_filled(scene: Scene, spot: Spot) -> bool:
    cell = scene.cells.get(spot)
    return cell is not None and (cell.kind != Kind.TEXT or spot[1] in scene.filled.get(spot[0], ()))
