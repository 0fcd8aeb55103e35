"""The unit of a form's face grid: the nearest declaration, and the contradictions on the way to it."""

from __future__ import annotations

from auditor.sheets.blocks import Block
from auditor.sheets.context import Environment
from auditor.sheets.fields import Pair
from auditor.sheets.form_parts import Parts, reading_lines
from auditor.sheets.labels import analyse
from auditor.sheets.model import Field, Problem
from auditor.sheets.readings import own_units
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.unit_scope import from_notes, is_note, notes_in
from auditor.sheets.units import VELOCITY_UNITS, find_unit
from auditor.sheets.vocabulary import vocabulary
from auditor.workbook.cells import a1


def face_unit(
    scene: Scene, parts: Parts, region: Region, around: list[Region], pairs: list[Pair], env: Environment
) -> tuple[Field | None, list[Problem]]:
    """The unit of a form's face grid, the nearest declaration first, and the contradictions found on the way."""
    spots = [
        (r.index, c.index) for b in parts.face for rows, columns in [reading_lines(b)] for r in rows for c in columns
    ]
    declared, problems = _declared(scene, parts, region, around, pairs, env)
    if problems:
        return declared, problems
    own = own_units(scene, spots)
    strange = [u for u in own if u not in VELOCITY_UNITS]
    own = {u: s for u, s in own.items() if u in VELOCITY_UNITS}
    if declared and declared.value:
        for unit, cells in own.items():
            if unit != declared.value:
                return declared, [_mismatch(scene, cells[0], unit, str(declared.value))]
        return declared, []
    if len(own) > 1:
        (first, _), (second, cells) = list(own.items())[:2]
        return None, [_mismatch(scene, cells[0], second, first)]
    numeric = [s for s in spots if s in scene.numbers and scene.numbers[s].value is not None]
    if own and not strange:
        unit, cells = next(iter(own.items()))
        if len(cells) >= len(numeric):
            return Field(a1(*cells[0]), scene.text(cells[0]), unit, unit), []
    return declared, []


def _mismatch(scene: Scene, spot: Spot, unit: str, other: str) -> Problem:
    detail = f"{a1(*spot)} is in {unit}, while {other} governs its grid"
    return Problem("unit-mismatch", a1(*spot), "unit", scene.text(spot), detail)


def _declared(
    scene: Scene, parts: Parts, region: Region, around: list[Region], pairs: list[Pair], env: Environment
) -> tuple[Field | None, list[Problem]]:
    lines: dict[str, Spot] = {}
    for block in parts.face:
        for line in (*reading_lines(block)[0], *reading_lines(block)[1]):
            if line.unit and line.unit.dimension == "velocity" and line.label:
                lines.setdefault(line.unit.name, line.label)
            elif line.unit and line.unit.dimension == "velocity":
                lines.setdefault(line.unit.name, (block.rows[0].index - 1, line.index))
    if len(lines) > 1:
        (first, _), (second, spot) = list(lines.items())[:2]
        return None, [_mismatch(scene, spot, second, first)]
    if lines:
        unit, spot = next(iter(lines.items()))
        return Field(a1(*spot), scene.text(spot), unit, unit), []
    heading, problems = _heading_unit(scene, parts)
    if heading or problems:
        return heading, problems
    return _sheet_unit(scene, parts, region, around, pairs, env)


def _heading_unit(scene: Scene, parts: Parts) -> tuple[Field | None, list[Problem]]:
    found: dict[str, Spot] = {}
    for block in parts.face:
        for spot in [*block.titles, *([block.corner] if block.corner else [])]:
            meaning = scene.meaning(spot)
            if is_note(scene.text(spot)):
                continue
            if meaning.unit and meaning.unit.dimension == "velocity":
                found.setdefault(meaning.unit.name, spot)
            elif meaning.unit and meaning.unit.dimension != "length" and meaning.section == "face":
                detail = f"{scene.text(spot)!r}: {meaning.unit.name} is not a unit of velocity"
                return None, [Problem("unit-unknown", a1(*spot), "unit", scene.text(spot), detail)]
        if not found:
            _unit_near_title(scene, block, found)
    if len(found) > 1:
        (first, _), (second, spot) = list(found.items())[:2]
        return None, [_mismatch(scene, spot, second, first)]
    if found:
        unit, spot = next(iter(found.items()))
        return Field(a1(*spot), scene.text(spot), unit, unit), []
    return None, []


def _unit_near_title(scene: Scene, block: Block, found: dict[str, Spot]) -> None:
    """A unit that stands alone in the cell to the right of the block's title."""
    for title in block.titles:
        beside = next(scene.right_of(title, scene.span(title)[1] + 6), None)
        if beside and scene.meaning(beside).is_unit and not scene.meaning(beside).position:
            unit = scene.meaning(beside).unit
            if unit and unit.dimension == "velocity":
                found.setdefault(unit.name, beside)


def _sheet_unit(
    scene: Scene, parts: Parts, region: Region, around: list[Region], pairs: list[Pair], env: Environment
) -> tuple[Field | None, list[Problem]]:
    """The unit of a units field or a governing note; the form's own before those of the area around it."""
    titles = {t for b in (*parts.cross, *parts.rest) for t in b.titles if scene.meaning(t).section != "face"}
    for area in [region, *around, None]:
        fields = [p for p in pairs if p.name == "unit" and (area is None or area.holds(*p.label))]
        declared: dict[str, tuple[Spot, str]] = {}
        for pair in fields:
            text = pair.text if pair.text is not None else scene.text(pair.at)
            unit = find_unit(text)
            if unit and unit.dimension == "velocity":
                declared.setdefault(unit.name, (pair.at, text))
        note = from_notes(scene, notes_in(scene, area, titles)) if area or not around else None
        if note and note.problems:
            return None, note.problems
        if note and note.unit and note.spot:
            declared.setdefault(note.unit, (note.spot, note.written))
        if len(declared) > 1:
            (first, _), (second, (spot, _)) = list(declared.items())[:2]
            return None, [_mismatch(scene, spot, second, first)]
        if declared:
            unit_name, (spot, text) = next(iter(declared.items()))
            return Field(a1(*spot), text, unit_name, unit_name, scene.is_hidden(spot)), []
        if fields:
            return None, []
    if env.workbook_unit:
        unit_name, sheet, text = env.workbook_unit
        return Field("", f"{text} (sheet {sheet})", unit_name, unit_name), []
    strange = _strange_unit(scene, parts)
    return None, [strange] if strange else []


def _strange_unit(scene: Scene, parts: Parts) -> Problem | None:
    """Something in brackets after the grid's title that looks like a unit and is none that is known."""
    for block in parts.face:
        for spot in block.titles:
            word = scene.meaning(spot).strange_unit
            if word is None or scene.meaning(spot).section != "face":
                continue
            unit_like = "/" in word or (len(word) <= 5 and word.isalpha())
            if unit_like and not analyse(word).known and word not in vocabulary().known:
                detail = f"{word!r} is not a unit that is known"
                return Problem("unit-unknown", a1(*spot), "unit", scene.text(spot), detail)
    return None
