"""A table read by the columns that its layout names: from there on as any table."""

from __future__ import annotations

from auditor.sheets.cards.claims import label_key, says_otherwise
from auditor.sheets.cards.form_reading import read_fields
from auditor.sheets.cards.schema import AXES, Card, ColumnPlace, Layout
from auditor.sheets.context import Environment
from auditor.sheets.labels import Meaning
from auditor.sheets.model import Problem, SurveyAsWritten
from auditor.sheets.positions import Position
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.table_header import Column, Header
from auditor.sheets.tables import Table, read_table
from auditor.sheets.units import find_unit
from auditor.workbook.cells import a1

_ROLE = {"point": "face", "reading": "value", "cross-draft": "cross", "skip": "skip"}


def read_by_columns(
    scene: Scene, env: Environment, card: Card, layout: Layout
) -> tuple[list[SurveyAsWritten], list[Problem]]:
    """The surveys of a table, and what stands on the sheet otherwise than the card says: that is of each of them."""
    problems: list[Problem] = []
    header = Header(*layout.header)
    for place in layout.columns:
        header.columns.append(_column(scene, header, place, card, problems))
    bottom = min(layout.last_row or scene.extent.bottom, scene.extent.bottom)
    surveys, more = read_table(scene, Table(header, bottom), env)
    if beside := _left_out(scene, header, bottom, layout):
        problems.append(beside)
    for survey in surveys:
        outside = SurveyAsWritten(scene.sheet.name, survey.place)
        read_fields(scene, env.order, card, layout, outside)
        survey.fields = {**outside.fields, **survey.fields}
        survey.problems += [*problems, *outside.problems]
    return surveys, more


def _column(scene: Scene, header: Header, place: ColumnPlace, card: Card, problems: list[Problem]) -> Column:
    stack = _headings(scene, header, place.index)
    meanings = [scene.meaning(s) for s in stack] or [Meaning("")]
    column = Column(place.index, _role(place.means), spot=stack[-1] if stack else None, meanings=tuple(meanings))
    column.name = place.means if column.role in ("field", "derived") else ""
    column.unit = next((m.unit for m in reversed(meanings) if m.unit), None)
    column.direction = next((m.direction for m in reversed(meanings) if m.direction), None)
    column.pass_number = place.pass_number
    column.sash = place.sash
    column.group = stack[0] if len(stack) > 1 else None
    if place.means == "point" and not any(place.point):
        column.position = Position(point=len(header.of("face")) + 1)  # one of several, nobody says where
    elif any(place.point):
        column.position = Position(row_number=place.point[0], column_number=place.point[1])
    _check_heading(scene, header, place, stack, card, problems)
    if place.unit and column.unit is None and place.means not in ("point", "reading"):
        column.unit = find_unit(place.unit)
    elif place.unit and column.unit and column.unit.name != place.unit:
        text, where = (scene.text(stack[-1]), a1(*stack[-1])) if stack else ("", "")
        detail = f"{text!r} is in {column.unit.name}, and {card.name} says {place.unit}"
        problems.append(Problem("unit-mismatch", where, "unit", text, detail))
    return column


def _role(means: str) -> str:
    if means in AXES:
        return AXES[means]
    if means.startswith("reported_m"):
        return "derived"
    return _ROLE.get(means, "field")


def _headings(scene: Scene, header: Header, index: int) -> list[Spot]:
    return [(r, index) for r in range(header.top, header.bottom + 1) if index in scene.filled.get(r, ())]


def _check_heading(
    scene: Scene, header: Header, place: ColumnPlace, stack: list[Spot], card: Card, problems: list[Problem]
) -> None:
    text = " ".join(scene.text(s) for s in stack)
    where = a1(*(stack[-1] if stack else (header.bottom, place.index)))
    if place.heading and label_key(place.heading) not in {label_key(text), *(label_key(scene.text(s)) for s in stack)}:
        detail = f"{card.name} has the heading {place.heading!r} over this column, and the sheet {text!r}"
        problems.append(Problem("layout-ambiguous", where, place.means, text, detail))
        return
    words = [m for s in stack if not (m := scene.meaning(s)).is_unit or m.position]  # a unit may stand under them
    head = words[-1] if words else Meaning("")
    results = place.means == "reading" and head.field == "reported_verdict"  # 'Result' over one number to a row
    other = "" if results or place.means in (*AXES, "skip", "unit") else says_otherwise(head, place.means)
    if other:
        detail = f"{text!r} says {other}, and {card.name} takes the column for {place.means.replace('_', ' ')}"
        problems.append(Problem("layout-ambiguous", where, place.means, text, detail))


def _left_out(scene: Scene, header: Header, bottom: int, layout: Layout) -> Problem | None:
    """A column of numbers between or right beside the points of which neither the card nor its heading speaks."""
    points = [c.index for c in header.of("face")]
    if not points:
        return None
    named = {c.index for c in layout.columns}
    for index in range(max(1, min(points) - 1), max(points) + 2):
        head = next((scene.meaning(s) for s in reversed(_headings(scene, header, index))), Meaning(""))
        if index in named or head.field or head.derived or head.flip or head.section == "cross" or head.direction:
            continue
        numbers = [(r, index) for r in range(header.bottom + 1, bottom + 1) if (r, index) in scene.numbers]
        if numbers:
            where = f"{a1(*numbers[0])}:{a1(*numbers[-1])}"
            detail = "a column of numbers stands among the points of which the card does not speak"
            return Problem("layout-ambiguous", where, "readings", scene.text(numbers[0]), detail)
    return None
