"""The readings of one survey in a table: from columns named for their points, or from rows that name theirs."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.sheets.context import Environment
from auditor.sheets.fields import Pair
from auditor.sheets.geometry import HORIZONTAL, VERTICAL, place_lines, place_points
from auditor.sheets.labels import analyse
from auditor.sheets.model import Field, Problem, Reading, SurveyAsWritten
from auditor.sheets.orientation import far_axes
from auditor.sheets.positions import Position, parse_position
from auditor.sheets.readings import is_filled, own_units, read_reading
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.table_header import Column, Header
from auditor.sheets.text import fold, words_of
from auditor.sheets.unit_scope import from_notes, notes_in
from auditor.sheets.units import VELOCITY_UNITS, find_unit
from auditor.sheets.vocabulary import vocabulary
from auditor.workbook.cells import a1

NAMES = {"mean": "reported_mean", "min": "reported_min", "max": "reported_max"}


@dataclass(slots=True)
class Row:
    """One row of a table: its hood cell (of a merged area where it lies in one), its filled columns."""

    index: int
    hood: Spot | None
    filled: list[int]
    kind: str = "data"
    inherited: set[int] = field(default_factory=set)


@dataclass(slots=True)
class Survey:
    """The rows of one survey."""

    rows: list[Row]


@dataclass(slots=True)
class Point:
    """A reading with all that its row and column say about its place."""

    reading: Reading
    spot: Spot
    row_label: str = ""
    column_label: str = ""
    position: Position | None = None


def add_readings(
    scene: Scene,
    header: Header,
    group: Survey,
    columns: list[Column],
    survey: SurveyAsWritten,
    pairs: list[Pair],
    around: Region | None,
    env: Environment,
) -> None:
    """Read the face and cross-draft readings of a survey, give them their unit, and place them."""
    faces = [c for c in columns if c.role == "face"] or [c for c in columns if c.role == "value"]
    points: list[Point] = []
    for row in group.rows:
        for column in faces:
            point = _point(scene, header, row, column, survey)
            if point:
                points.append(point)
    spots = [p.spot for p in points if p.reading.kind == "face"]
    unit, problems = _unit(scene, header, faces, spots, survey, pairs, around, env)
    survey.problems.extend(problems)
    if unit:
        survey.fields["unit"] = unit
        survey.problems = [p for p in survey.problems if p.code != "unit-unknown" or unit.value is None]
    name = str(unit.value) if unit and unit.value else None
    for point in points:
        point.reading.unit = point.reading.unit or name
    survey.readings = [p.reading for p in points]
    for field_name in ("reported_mean", "reported_min", "reported_max"):
        if field_name in survey.fields and survey.fields[field_name].unit is None:
            survey.fields[field_name].unit = name
    survey.readings += cross_of_rows(scene, header, group, columns, name)
    _place(scene, header, group, survey, [p for p in points if p.reading.kind == "face"])


def _axis_text(scene: Scene, header: Header, row: Row, role: str) -> str:
    """What a row says in the column of an axis ('' where there is no such column); a merged cell says it for all its
    rows."""
    column = header.axis(role)
    if column is None:
        return ""
    if column.index in scene.filled.get(row.index, ()):
        return scene.text((row.index, column.index))
    for anchor, (bottom, right) in scene.spans.items():
        if anchor[0] <= row.index <= bottom and anchor[1] <= column.index <= right:
            return scene.text(anchor)
    return ""


def _point(scene: Scene, header: Header, row: Row, column: Column, survey: SurveyAsWritten) -> Point | None:
    """One cell of a row as a reading; None where its row says that it is something else."""
    spot = (row.index, column.index)
    kind = _kind(scene, header, row)
    derived = next(
        (
            m
            for role in ("row", "point", "pass", "column", "kind")
            if (m := analyse(_axis_text(scene, header, row, role)).derived)
        ),
        None,
    )
    if derived or kind == "mean":
        name = NAMES.get(derived or "mean")
        if name and spot in scene.numbers and name not in survey.fields:
            value = scene.numbers[spot].value
            survey.fields[name] = Field(a1(*spot), scene.text(spot), value, column.unit.name if column.unit else None)
        return None
    if kind not in ("face", "cross"):
        return None
    own = column.unit.name if column.unit and column.unit.dimension == "velocity" else None
    row_unit = header.one("field", "unit")
    if own is None and row_unit and row_unit.index in row.filled:
        found = find_unit(scene.text((row.index, row_unit.index)))
        own = found.name if found and found.dimension == "velocity" else None
    reading = read_reading(scene, spot, "face" if kind == "face" else "cross-draft", own)
    if kind == "cross" and not is_filled(scene, spot):
        return None
    return _with_place(scene, header, row, column, Point(reading, spot))


def _with_place(scene: Scene, header: Header, row: Row, column: Column, point: Point) -> Point:
    reading = point.reading
    passes = _axis_text(scene, header, row, "pass")
    meaning = analyse(passes) if passes else None
    number = meaning.pass_number if meaning and meaning.pass_number else int(passes) if passes.isdecimal() else None
    reading.pass_number = number or column.pass_number or 1
    row_text, column_text, point_text = (_axis_text(scene, header, row, role) for role in ("row", "column", "point"))
    point.row_label, point.column_label = row_text, column_text
    point.position = column.position or (parse_position(point_text) if point_text else None)
    words = [t for t in (row_text, column_text, point_text, column.text if column.role == "face" else "") if t]
    reading.position = " ".join(words) or None
    direction = _axis_text(scene, header, row, "direction")
    reading.direction = (
        vocabulary().directions.get(" ".join(words_of(fold(direction)))) if direction else column.direction
    )
    return point


def _kind(scene: Scene, header: Header, row: Row) -> str:
    text = _axis_text(scene, header, row, "kind")
    if not text:
        point = analyse(_axis_text(scene, header, row, "point"))
        return "cross" if point.section == "cross" else "face"
    key = " ".join(words_of(fold(text)))
    found = vocabulary().kinds.get(key)
    if found:
        return found
    meaning = analyse(text)
    return "cross" if meaning.section == "cross" else "face" if meaning.section == "face" else "unknown"


def _unit(
    scene: Scene,
    header: Header,
    faces: list[Column],
    spots: list[Spot],
    survey: SurveyAsWritten,
    pairs: list[Pair],
    around: Region | None,
    env: Environment,
) -> tuple[Field | None, list[Problem]]:
    declared: dict[str, tuple[Spot | None, str]] = {}
    for column in faces:
        if column.unit and column.unit.dimension == "velocity":
            spot = next((s for m, s in zip(column.meanings, [column.spot] * 9, strict=False) if m.unit), column.spot)
            declared.setdefault(column.unit.name, (spot, scene.text(spot) if spot else ""))
        elif column.unit and column.unit.dimension != "length":
            spot = column.spot or (header.bottom, column.index)
            detail = f"{column.unit.name} is not a unit of velocity"
            return None, [Problem("unit-unknown", a1(*spot), "unit", scene.text(spot), detail)]
    in_rows = survey.fields.get("unit")
    if in_rows and in_rows.value and header.one("field", "unit"):
        declared.setdefault(str(in_rows.value), (None, in_rows.written))
    if len(declared) > 1:
        detail = f"two units govern one grid: {' and '.join(sorted(declared))}"
        spot = next((s for s, _ in declared.values() if s), None)
        return None, [Problem("unit-mismatch", a1(*spot) if spot else "", "unit", "", detail)]
    own = {u: s for u, s in own_units(scene, spots).items() if u in VELOCITY_UNITS}
    if not declared and not (in_rows and in_rows.written and in_rows.value is None):
        found, problems = _sheet_unit(scene, header, in_rows, env)
        if problems:
            return None, problems
        if found:
            declared[str(found.value)] = (None, found.written)
            in_rows = found
    for unit, cells in own.items():
        if (declared and unit not in declared) or len(own) > 1:
            detail = f"{a1(*cells[0])} is in {unit}, while another unit governs its grid"
            return None, [Problem("unit-mismatch", a1(*cells[0]), "unit", scene.text(cells[0]), detail)]
    if declared:
        unit, (spot, text) = next(iter(declared.items()))
        if in_rows and in_rows.value == unit:
            return in_rows, []
        return Field(a1(*spot) if spot else "", text, unit, unit), []
    numeric = [s for s in spots if s in scene.numbers and scene.numbers[s].value is not None]
    if own and len(next(iter(own.values()))) >= len(numeric):
        unit, cells = next(iter(own.items()))
        return Field(a1(*cells[0]), scene.text(cells[0]), unit, unit), []
    return in_rows, []


def _sheet_unit(
    scene: Scene, header: Header, field_unit: Field | None, env: Environment
) -> tuple[Field | None, list[Problem]]:
    skip = {c.spot for c in header.columns if c.spot} | {c.group for c in header.columns if c.group}
    note = from_notes(scene, notes_in(scene, None, {s for s in skip if s}))
    if note and note.problems:
        return None, note.problems
    if note and note.unit and note.spot:
        if field_unit and field_unit.value and field_unit.value != note.unit:
            detail = f"two units are declared for the same readings: {field_unit.value} and {note.unit}"
            return None, [Problem("unit-mismatch", a1(*note.spot), "unit", note.written, detail)]
        return field_unit or Field(a1(*note.spot), note.written, note.unit, note.unit), []
    if field_unit and field_unit.value:
        return field_unit, []
    if env.workbook_unit:
        unit, sheet, text = env.workbook_unit
        return Field("", f"{text} (sheet {sheet})", unit, unit), []
    return None, []


def cross_of_rows(
    scene: Scene, header: Header, group: Survey, columns: list[Column], unit: str | None
) -> list[Reading]:
    """Cross-drafts in columns of their own; a maximum or mean column only where it stands alone."""
    cross = [c for c in columns if c.role == "cross"]
    plain = [c for c in cross if c.name not in ("mean", "min", "max", "total", "sd", "range")]
    if not plain:
        plain = [c for c in cross if c.name == "max"] or [c for c in cross if c.name == "mean"]
    most = [c for c in plain if any(w in c.text.split() for w in ("max", "maximum", "peak", "highest", "worst"))]
    if most and len(most) < len(plain):
        plain = [c for c in plain if c not in most]
    out = []
    for row in group.rows:
        for column in plain:
            spot = (row.index, column.index)
            if not is_filled(scene, spot):
                continue
            own = column.unit.name if column.unit and column.unit.dimension == "velocity" else unit
            reading = read_reading(scene, spot, "cross-draft", own)
            if reading.outcome == "not-numeric" and fold(reading.written) in ("-", "n/a", "na", "--", "none"):
                continue
            reading.position, reading.direction = column.text or None, column.direction
            out.append(reading)
    return out


def _place(scene: Scene, header: Header, group: Survey, survey: SurveyAsWritten, points: list[Point]) -> None:
    """Place the face readings of a survey where its labels say, if they do."""
    if not points:
        return
    keys = [_keys(p) for p in points]
    if not all(keys):
        if any(keys) or _unread_axis(scene, header, group, points):
            survey.problems.append(_open_place(survey, points))
        return
    known = [k for k in keys if k is not None]
    distinct = list(dict.fromkeys(known))
    _repeats(survey, points, known)
    far, mirrored = far_axes(scene)
    found = _places(distinct, far)
    if found is None or mirrored:
        if not all(k[1] is None and k[0] is not None and _is_bare_number(k[0]) for k in distinct):
            survey.problems.append(_open_place(survey, points))
        return
    places, rows, columns = found
    by_key = dict(zip(distinct, places, strict=True))
    for point, key in zip(points, known, strict=True):
        point.reading.row, point.reading.column = by_key[key]
    if rows * columns == len(distinct) or all(k[1] is not None for k in distinct):
        survey.grid_rows, survey.grid_columns = rows, columns


Key = tuple[Position | None, Position | None]


def _keys(point: Point) -> Key | None:
    """What tells a point's place: (position on both axes, None) or (its row, its column); None where nothing does."""
    row = parse_position(point.row_label) if point.row_label else None
    column = parse_position(point.column_label) if point.column_label else None
    if row and column:
        return row, column
    if point.position and row:
        return row, point.position
    if point.position and column:
        return point.position, column
    if row or column:
        return None
    return (point.position, None) if point.position else None


def _places(distinct: list[Key], far: frozenset[str]) -> tuple[list[tuple[int, int]], int, int] | None:
    if all(k[1] is not None for k in distinct):
        rows = list(dict.fromkeys(k[0] for k in distinct))
        columns = list(dict.fromkeys(k[1] for k in distinct))
        down, across = place_lines(list(rows), VERTICAL, far), place_lines(list(columns), HORIZONTAL, far)
        if down is None or across is None:
            return None
        row_of, column_of = dict(zip(rows, down.order, strict=True)), dict(zip(columns, across.order, strict=True))
        return [(row_of[r], column_of[c]) for r, c in distinct], len(rows), len(columns)
    positions = [k[0] for k in distinct if k[0]]
    found = place_points(positions)
    if found:
        return found
    return _one_line(positions, far)


def _one_line(positions: list[Position], far: frozenset[str]) -> tuple[list[tuple[int, int]], int, int] | None:
    """Points named along one axis by words ('L', 'C', 'R'): a grid of one row or one column."""
    if any(p.number or p.point for p in positions) or all(p.letter for p in positions):
        return None
    across = place_lines(list(positions), HORIZONTAL, far)
    if across is None or across.kind is None:
        return None
    count = len(positions)
    if across.kind == HORIZONTAL:
        return [(1, i) for i in across.order], 1, count
    return [(i, 1) for i in across.order], count, 1


def _open_place(survey: SurveyAsWritten, points: list[Point]) -> Problem:
    labels = list(dict.fromkeys(p.reading.position or "" for p in points))
    detail = f"the labels do not say where the readings lie on the opening: {', '.join(labels[:8])}"
    return Problem("layout-ambiguous", survey.place, "readings", "", detail)


def _unread_axis(scene: Scene, header: Header, group: Survey, points: list[Point]) -> bool:
    """True where a column that is not understood differs from row to row of one survey: it may say where they lie."""
    if len(group.rows) < 2:
        return len({p.spot[1] for p in points}) > 1 and any(p.position is None for p in points)
    return any(len({scene.text((r.index, c.index)) for r in group.rows}) > 1 for c in header.of("skip"))


def _is_bare_number(position: Position) -> bool:
    """A point's number without a word about where it lies."""
    if position.row_rank is not None or position.column_rank is not None:
        return False
    return bool(position.point) or bool(position.number and not position.letter)


def _repeats(survey: SurveyAsWritten, points: list[Point], keys: list[Key]) -> None:
    seen: set[tuple[Key, int]] = set()
    for point, key in zip(points, keys, strict=True):
        mark = (key, point.reading.pass_number)
        if mark in seen:
            detail = f"two readings stand for the same place ({point.reading.position}), and nothing says which holds"
            survey.problems.append(
                Problem("layout-ambiguous", point.reading.cell, "readings", point.reading.written, detail)
            )
            return
        seen.add(mark)
