"""A form read where its layout says, by the same strict parsers as any sheet."""

from __future__ import annotations

import re

from auditor.sheets.cards.claims import label_contradicts, label_key, says_otherwise, with_order
from auditor.sheets.cards.schema import Card, FieldPlace, Layout
from auditor.sheets.dates import DateOrder
from auditor.sheets.fields import DROP, REACH
from auditor.sheets.forms import name_kind_of_instrument
from auditor.sheets.labels import analyse
from auditor.sheets.model import FIELDS, Field, Problem, Reading, SurveyAsWritten
from auditor.sheets.readings import is_filled, read_reading
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.text import fold, is_blank
from auditor.sheets.units import Unit, find_unit
from auditor.sheets.values import read_value
from auditor.workbook.cells import Cell, Kind, a1

SHORT = 12  # characters of an answer that needs its question
NEEDED = ("hood", "surveyed_on", "sash_height", "unit")


class Contradiction(Exception):
    """The sheet is not as the card says; `problem` tells where."""

    def __init__(self, problem: Problem):
        super().__init__(problem.detail)
        self.problem = problem


def read_form(scene: Scene, order: DateOrder, card: Card, layout: Layout) -> SurveyAsWritten | None:
    """The survey of one form; None where neither its hood nor any reading is filled in (a blank form).

    Readings that no unit governs are left without one: see `words.supply_unit`."""
    order = with_order(order, layout.date_order or card.date_order)
    survey = SurveyAsWritten(scene.sheet.name, place_of(layout))
    read_fields(scene, order, card, layout, survey)
    face = [
        _face(scene, spot, place, grid.pass_number)
        for grid in layout.grids
        for spot, place in grid.cells
    ]  # fmt: skip
    if "hood" not in survey.fields and all(r.outcome == "blank" for r in face):
        return None
    unit = survey.fields.get("unit")
    name = str(unit.value) if unit and unit.value else None
    for reading in face:
        reading.unit = reading.unit or name
    for key in ("reported_mean", "reported_min", "reported_max"):
        if (stated := survey.fields.get(key)) and stated.unit is None and stated.value is not None:
            stated.unit = name
    survey.readings = [*face, *_drafts(scene, layout, card, survey, name)]
    survey.grid_rows, survey.grid_columns = shape_of(survey.readings)
    name_kind_of_instrument(survey)
    return survey


def place_of(layout: Layout) -> str:
    """The area that a form takes up: as the card says, or the smallest that holds its cells."""
    if layout.area:
        return layout.area.name
    spots = [s for g in layout.grids for s, _ in g.cells] + [s for d in layout.drafts for s in d.cells]
    spots += [f.cell for f in layout.fields if f.cell]
    rows, columns = [s[0] for s in spots], [s[1] for s in spots]
    return Region(min(rows), min(columns), max(rows), max(columns)).name


def shape_of(readings: list[Reading]) -> tuple[int | None, int | None]:
    """Rows and columns of the grid as placed; None where the card does not say where its readings lie."""
    face = [r for r in readings if r.kind == "face"]
    rows = [r.row for r in face if r.row]
    columns = [r.column for r in face if r.column]
    whole = len(rows) == len(columns) == len(face)
    return (max(rows), max(columns)) if whole and face else (None, None)


def _face(scene: Scene, spot: Spot, place: tuple[int, int] | None, number: int) -> Reading:
    reading = read_reading(scene, spot, "face", None, pass_number=number)
    if place:
        reading.row, reading.column = place
    return reading


def _drafts(scene: Scene, layout: Layout, card: Card, survey: SurveyAsWritten, unit: str | None) -> list[Reading]:
    found = []
    for place in layout.drafts:
        for spot in place.cells:
            if not is_filled(scene, spot):
                continue
            own = read_reading(scene, spot, "cross-draft", None).unit
            if own and place.unit and own != place.unit:
                detail = f"{a1(*spot)} is in {own}, and {card.name} says {place.unit}"
                survey.problems.append(Problem("unit-mismatch", a1(*spot), "unit", scene.text(spot), detail))
            found.append(read_reading(scene, spot, "cross-draft", place.unit or unit))
    return found


def read_fields(scene: Scene, order: DateOrder, card: Card, layout: Layout, survey: SurveyAsWritten) -> None:
    """Adds the fields of a layout to a survey, and a problem for each place that is not as the card says."""
    for place in layout.fields:
        if place.in_sheet_name:
            survey.fields[place.name] = Field("", scene.sheet.name, scene.sheet.name.strip())
            continue
        try:
            found = _read_field(scene, order, card, place)
        except Contradiction as trouble:
            survey.problems.append(trouble.problem)
            continue
        if found:
            survey.fields[place.name], problems, label = found
            survey.problems.extend(problems)
            keep_question(survey, place.name, label)


def keep_question(survey: SurveyAsWritten, name: str, label: Field) -> None:
    """A tick, 'Y' or 'OK' says nothing without the words over it: they are kept beside it."""
    question = f"{name}_question"
    if question in FIELDS and label.value and len(survey.fields[name].written) <= SHORT:
        survey.fields[question] = label


def _read_field(
    scene: Scene, order: DateOrder, card: Card, place: FieldPlace
) -> tuple[Field, list[Problem], Field] | None:
    spot, label = _stands_at(scene, card, place)
    if spot is None or not is_filled(scene, spot):
        return None
    text = scene.text(label) if label and label != spot else place.after or place.label
    if other := _contradicts(scene, place, spot, label):
        detail = f"{text!r} says {other}, and {card.name} takes it for {place.name.replace('_', ' ')}"
        raise Contradiction(Problem("layout-ambiguous", a1(*spot), place.name, scene.text(spot), detail))
    cell = _part(scene, card, place, spot, label)
    if cell is None:
        return None
    _not_a_label(scene, card, place, spot, cell)
    unit, problems = _unit_of(scene, card, place, spot, text)
    field, more = read_value(place.name, cell, fold(text), unit, order)
    field.hidden = scene.is_hidden(spot)
    own = find_unit(field.unit) if field.unit else None
    if place.unit and own and own.name != place.unit and not problems:
        problems = [_unit_problem(card, place, spot, scene.text(spot), own.name)]
    return field, [*problems, *more], Field(a1(*(label or spot)), fold(text), fold(text) or None)


def _contradicts(scene: Scene, place: FieldPlace, spot: Spot, label: Spot | None) -> str:
    """What the label of a value says that it is, where that is another thing than the card says; else ''."""
    if label is None or label == spot:
        return label_contradicts(place.after or place.label, place.name)
    return says_otherwise(scene.meaning(label), place.name)


def _stands_at(scene: Scene, card: Card, place: FieldPlace) -> tuple[Spot | None, Spot | None]:
    """(cell of the value, cell of its label) of a field; Contradiction where the card's label is not there."""
    if place.cell:
        near = labels_near(scene, place.cell)
        if not place.label:
            return place.cell, None if place.after else next(iter(near), None)
        hits = [s for s in near if label_key(scene.text(s)) == label_key(place.label)]
        if not hits:
            seen = scene.text(near[0]) if near else ""
            detail = f"{card.name} has the label {place.label!r} beside {a1(*place.cell)}, and the sheet {seen!r}"
            raise Contradiction(Problem("layout-ambiguous", a1(*place.cell), place.name, seen, detail))
        return place.cell, hits[0]
    key = label_key(place.label)
    hits = [s for s, m in scene.meanings.items() if label_key(_head(m.folded, place)) == key]
    if len(hits) != 1:
        if not hits and place.name not in NEEDED:
            return None, None
        what = f"has {len(hits)} cells" if hits else "has no cell"
        detail = f"the sheet {what} that read {place.label!r}, by which {card.name} finds this"
        where = a1(*hits[1]) if hits else ""
        raise Contradiction(Problem("layout-ambiguous", where, place.name, place.label, detail))
    bottom, right = scene.span(hits[0])
    steps = {"right": (hits[0][0], right + 1), "below": (bottom + 1, hits[0][1]), "same": hits[0]}
    return steps[place.stands], hits[0]


def _head(folded: str, place: FieldPlace) -> str:
    return folded[: len(fold(place.label))] if place.stands == "same" else folded


def labels_near(scene: Scene, spot: Spot) -> list[Spot]:
    """Texts that may label a cell: the nearest filled one to its left, the one above it, and the cell itself."""
    left = next((s for s in scene.left_of(spot, max(1, spot[1] - REACH)) if not scene.meaning(s).is_unit), None)
    above = next(
        (s for r in range(spot[0] - 1, max(0, spot[0] - DROP - 1), -1) if is_filled(scene, s := (r, spot[1]))
         and not scene.meaning(s).is_unit), None,
    )  # fmt: skip
    near = [s for s in (left, above) if s and s in scene.meanings and s not in scene.numbers]
    return [s for s in near if scene.meaning(s).inline is None and not scene.meaning(s).pairs]


def _part(scene: Scene, card: Card, place: FieldPlace, spot: Spot, label: Spot | None) -> Cell | None:
    """The cell of a value, or the part of its text that is the value; None where that part is blank."""
    cell = scene.cells[spot]
    after = place.after or (place.label if label == spot else "")
    if not after and not place.before:
        return cell
    text, start = scene.text(spot), 0
    if after:
        found = _words(after).search(text)
        if found is None:
            detail = f"{card.name} has {after!r} before the value in {a1(*spot)}, and the sheet has not"
            raise Contradiction(Problem("layout-ambiguous", a1(*spot), place.name, text, detail))
        start = found.end()
    behind = _words(place.before).search(text, start) if place.before else None
    end = behind.start() if behind else len(text)
    value = text[start:end].strip(" \t\r\n:=;|,")
    return None if is_blank(value) else Cell(spot[0], spot[1], Kind.TEXT, value)


def _words(text: str) -> re.Pattern[str]:
    """The words of a text in their order, whatever blanks and capitals."""
    return re.compile(r"\s*".join(map(re.escape, text.split())), re.IGNORECASE)


def _not_a_label(scene: Scene, card: Card, place: FieldPlace, spot: Spot, cell: Cell) -> None:
    meaning = analyse(str(cell.value)) if cell.kind == Kind.TEXT else None
    if place.name != "hood" or meaning is None or meaning.inline is not None or not meaning.field:
        return
    detail = f"{card.name} has the hood in {a1(*spot)}, where the sheet has the label {scene.text(spot)!r}"
    raise Contradiction(Problem("layout-ambiguous", a1(*spot), place.name, scene.text(spot), detail))


def _unit_of(scene: Scene, card: Card, place: FieldPlace, spot: Spot, label: str) -> tuple[Unit | None, list[Problem]]:
    """The unit of a field's bare number: what the label or the cell beside it says, else the card; two that differ are
    a contradiction."""
    said = [analyse(label).unit] if label else []
    beside = (spot[0], scene.span(spot)[1] + 1)
    said.append(scene.meaning(beside).unit if scene.meaning(beside).is_unit else None)
    own = [u for u in said if u]
    taught = find_unit(place.unit) if place.unit else None
    for unit in own:
        if taught and unit.name != taught.name and unit.dimension == taught.dimension:
            return unit, [_unit_problem(card, place, spot, scene.text(spot), unit.name)]
    return (own[0] if own else taught), []


def _unit_problem(card: Card, place: FieldPlace, spot: Spot, text: str, unit: str) -> Problem:
    detail = f"the sheet says {unit} here, and {card.name} says {place.unit}"
    return Problem("unit-mismatch", a1(*spot), "unit" if place.name == "unit" else place.name, text, detail)
