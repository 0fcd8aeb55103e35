"""Tables: one row per hood, per grid row, per pass or per reading."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.sheets.context import Environment
from auditor.sheets.fields import Pair, pair_fields
from auditor.sheets.forms import field_of, keep_question, name_kind_of_instrument
from auditor.sheets.lengths import parse_length
from auditor.sheets.model import Field, Problem, SurveyAsWritten
from auditor.sheets.scene import Region, Scene, Spot, look_at
from auditor.sheets.table_header import Column, Header, find_headers, refine_by_data, regroup
from auditor.sheets.table_lists import holds_grid, means_of, unread_list
from auditor.sheets.table_rows import Row, Survey, add_readings
from auditor.sheets.table_titles import apply_title, join_cross, turned_away
from auditor.sheets.text import words_of
from auditor.sheets.turning import hoods_across, turn, turn_back
from auditor.sheets.units import find_unit
from auditor.sheets.values import read_value
from auditor.workbook.cells import Kind, a1


@dataclass(slots=True)
class Table:
    """A header with the rows under it, up to the next header or the end of the sheet."""

    header: Header
    bottom: int
    pairs: list[Pair] = field(default_factory=list)  # fields that stand outside and hold for every row
    around: Region | None = None

    @property
    def shape(self) -> str:
        """'points' (readings in columns), 'long' (one reading in a row), 'cross' (no face), 'list' (no readings)."""
        header = self.header
        faces = header.of("face")
        if header.cross_title:
            return "cross"
        if len(faces) >= 2:
            return "points"
        axes = [c for role in ("row", "column", "point", "kind", "direction", "pass") for c in header.of(role)]
        if (header.of("value") or faces) and axes:
            return "long"
        return "list"


def read_tables(scene: Scene, env: Environment) -> tuple[list[SurveyAsWritten] | None, list[Problem]]:
    """The surveys of a sheet of tables, and problems of the sheet; (None, []) where it holds no table."""
    tables = find_tables(scene)
    if not tables:
        if hoods_across(scene):
            return read_turned(scene, env)
        return None, []
    if all(t.shape == "list" for t in tables) and not any(means_of(t.header) for t in tables):
        if holds_grid(scene, [(t.header.top, t.bottom) for t in tables]):
            return None, []
        return [], [p for t in tables if (p := unread_list(scene, t.header, t.bottom, data_rows(scene, t)))]
    surveys: list[SurveyAsWritten] = []
    problems: list[Problem] = []
    for table in tables:
        if table.shape == "cross":
            continue
        found, more = read_table(scene, table, env)
        turned_away(scene, table.header, found)
        surveys.extend(found)
        problems.extend(more)
    for table in tables:
        if table.shape == "cross":
            problems += join_cross(scene, table.header, data_rows(scene, table), surveys)
    return surveys, problems


def read_turned(scene: Scene, env: Environment) -> tuple[list[SurveyAsWritten] | None, list[Problem]]:
    """The surveys of a table with a column per hood: read on its side, addresses turned back."""
    turned = look_at(turn(scene.sheet), scene.order)
    tables = find_tables(turned)
    if not any(t.shape != "list" for t in tables):
        return None, []
    found = [read_table(turned, table, env) for table in tables]
    surveys = [s for some, _ in found for s in some]
    problems = [p for _, some in found for p in some]
    turn_back(surveys, problems)
    return surveys, problems


def find_tables(scene: Scene) -> list[Table]:
    """The tables of a sheet. A header with a single row of values and no readings under it is a form's, not a table."""
    headers = find_headers(scene)
    if not headers:
        return []
    last = max(scene.filled, default=0)
    tables = []
    beside: list[Pair] = []
    floor = 0
    for header, end in zip(headers, [*(h.top - 1 for h in headers[1:]), last], strict=True):
        table = Table(header, end)
        empty = [c for c in header.columns if not _has_data(scene, table, c)]
        header.columns = [c for c in header.columns if c not in empty]
        regroup(header, empty)
        beside += [
            Pair(m.field, c.spot, m, text=m.inline, unit=m.unit)
            for c in empty
            if c.spot and (m := c.meanings[-1]).field and m.inline
        ]
        refine_by_data(scene, header, table.bottom)
        apply_title(scene, header, floor)
        floor = header.bottom
        if len(header.of("face")) > 1 and not header.of("row") and (point := header.one("point")):
            point.role = "row"
        rows = data_rows(scene, table)
        if table.shape == "list" and not _is_list(scene, header, rows):
            continue
        if not rows:
            continue
        tables.append(table)
    if tables:
        pairs = _pairs_around(scene, tables) + beside
        for table in tables:
            table.pairs = pairs
    return tables


def _pairs_around(scene: Scene, tables: list[Table]) -> list[Pair]:
    """Fields that stand above the first table or below the last row of hoods: they hold for every row."""
    extent = scene.extent
    last = max((r.index for t in tables for r in data_rows(scene, t)), default=extent.bottom)
    areas = [
        Region(1, extent.left, tables[0].header.top - 1, extent.right),
        Region(last + 1, extent.left, extent.bottom, extent.right),
    ]
    return [p for area in areas if area.top <= area.bottom for p in pair_fields(scene, area)]


def _is_list(scene: Scene, header: Header, rows: list[Row]) -> bool:
    """True for two or more rows of hoods right under the header; one row of values is a form with its labels above."""
    hoods = [r for r in rows if r.hood and r.hood[0] == r.index]
    if len(hoods) < 2 or hoods[0].index != header.bottom + 1:
        return False
    named = [r for r in hoods if r.hood and not scene.meaning(r.hood).section and not scene.meaning(r.hood).field]
    return len(named) >= 2 and named[1].index <= named[0].index + 2 and all(len(r.filled) > 1 for r in named[:2])


def _has_data(scene: Scene, table: Table, column: Column) -> bool:
    """A text in the header row without anything under it is a note beside the table, not a column (an empty column of
    points is one: its readings are missing)."""
    if column.role in ("face", "cross"):
        return True
    return any(column.index in scene.filled.get(r, ()) for r in range(table.header.bottom + 1, table.bottom + 1))


def data_rows(scene: Scene, table: Table) -> list[Row]:
    """The rows under a header that hold something of a survey."""
    header = table.header
    hood = header.one("field", "hood")
    if hood is None:
        return []
    readings = {c.index for role in ("face", "value", "cross") for c in header.of(role)}
    columns = {c.index for c in header.columns}
    rows: list[Row] = []
    for index in range(header.bottom + 1, table.bottom + 1):
        filled = [c for c in scene.filled.get(index, ()) if c in columns]
        if table.shape == "list" and rows and hood.index not in filled:
            break
        if not filled:
            continue
        row = Row(index, _anchored(scene, (index, hood.index)), filled)
        row.kind = _row_kind(scene, row, readings, hood)
        if row.kind != "other":
            rows.append(row)
    return rows


def _anchored(scene: Scene, spot: Spot) -> Spot | None:
    """The cell itself if filled, or the anchor of the merged area that it lies in."""
    if spot[1] in scene.filled.get(spot[0], ()):
        return spot
    for anchor, (bottom, right) in scene.spans.items():
        if anchor[0] <= spot[0] <= bottom and anchor[1] <= spot[1] <= right and anchor in scene.cells:
            return anchor
    return None


def _row_kind(scene: Scene, row: Row, readings: set[int], hood: Column) -> str:
    """'data', 'derived' (totals, averages), 'example', or 'other' (headings, notes, repeated headers)."""
    texts = [scene.meaning((row.index, c)) for c in row.filled if (row.index, c) in scene.meanings]
    first = scene.meaning(row.hood) if row.hood else (scene.meaning((row.index, row.filled[0])))
    if any(m.example and len(m.folded) < 40 for m in texts[:2]) or first.example:
        return "example"
    own_hood = row.hood and row.hood[0] == row.index
    if (
        (first.derived or first.flip in ("limit", "design", "previous"))
        and not first.position
        and (own_hood or not row.hood)
    ):
        return "derived"
    if first.field == "hood" and first.inline is None:
        return "other"
    numbers = [c for c in row.filled if c in readings and (row.index, c) in scene.numbers]
    if not numbers and len(row.filled) < 3 and not (row.hood and len(row.filled) >= 2):
        return "other"
    if not row.hood and not numbers:
        return "other"
    if all((row.index, c) in scene.meanings and scene.meaning((row.index, c)).is_unit for c in row.filled):
        return "other"
    return "data"


def read_table(scene: Scene, table: Table, env: Environment) -> tuple[list[SurveyAsWritten], list[Problem]]:
    """All surveys of one table, and the problems that belong to none of them."""
    rows = data_rows(scene, table)
    problems = [_example(scene, r, table) for r in rows if r.kind == "example"]
    rows = [r for r in rows if r.kind == "data"]
    if table.shape == "list":
        return _list_surveys(scene, table, rows, env), problems
    surveys = [read_group(scene, table, group, env) for group in _groups(scene, table, rows, env)]
    return [s for group in surveys for s in group], problems


def _example(scene: Scene, row: Row, table: Table) -> Problem:
    place = f"{a1(row.index, row.filled[0])}:{a1(row.index, row.filled[-1])}"
    written = scene.text((row.index, row.filled[0]))
    return Problem("example-left-in", place, "", written, "a template's example row was left in; it is not counted")


def _groups(scene: Scene, table: Table, rows: list[Row], env: Environment) -> list[Survey]:
    """Rows of one survey together: every row by itself, or those of the same hood, date and sash where a column says
    which part of the survey a row holds."""
    header = table.header
    grouped = table.shape == "long" or any(header.of(role) for role in ("row", "pass", "kind", "column", "direction"))
    if not grouped:
        return [Survey([row]) for row in rows]
    keys = [c for name in ("hood", "surveyed_on", "sash_height") for c in header.of("field", name)]
    groups: dict[tuple[str, ...], Survey] = {}
    last: dict[int, str] = {}
    for row in rows:
        key = []
        for column in keys:
            spot = _anchored(scene, (row.index, column.index))
            text = scene.text(spot) if spot else ""
            if column.name == "hood" and text and text != last.get(column.index):
                last = {}
            if not text:
                text = last.get(column.index, "")
                row.inherited.add(column.index)
            last[column.index] = text
            key.append(text.strip().casefold())
        groups.setdefault(tuple(key), Survey([])).rows.append(row)
    return list(groups.values())


def read_group(scene: Scene, table: Table, group: Survey, env: Environment) -> list[SurveyAsWritten]:
    """The survey of a group of rows; several where its columns hold several sash settings."""
    settings: list[str] = []
    for column in table.header.of("face"):
        if column.sash and column.sash not in settings:
            settings.append(column.sash)
    return [_read_one(scene, table, group, env, setting) for setting in (settings if settings else [None])]


def _read_one(scene: Scene, table: Table, group: Survey, env: Environment, setting: str | None) -> SurveyAsWritten:
    header = table.header
    columns = [c for c in header.columns if setting is None or c.sash in (None, setting)]
    used = [c.index for c in columns if setting is None or c.sash] or [c.index for c in columns]
    first, last = group.rows[0].index, group.rows[-1].index
    survey = SurveyAsWritten(scene.sheet.name, f"{a1(first, min(used))}:{a1(last, max(used))}")
    _row_fields(scene, table, group, columns, survey, env)
    if setting:
        column = next(c for c in columns if c.sash == setting)
        spot = column.group or column.spot or (header.top, column.index)
        length = parse_length(setting)
        if length:
            survey.fields["sash_height"] = Field(a1(*spot), scene.text(spot), length.value, length.unit)
    add_readings(scene, header, group, columns, survey, table.pairs, table.around, env)
    return survey


def _row_fields(
    scene: Scene, table: Table, group: Survey, columns: list[Column], survey: SurveyAsWritten, env: Environment
) -> None:
    best: dict[str, Column] = {}
    hoods = {c.index for c in table.header.of("field", "hood")}
    for column in columns:
        if column.role in ("field", "derived") and column.name not in ("other", "opening_size"):
            if column.role == "derived" and len(group.rows) > 1 and _of_one_row(column):
                continue
            known = best.get(column.name)
            newer = known is not None and (_year(column) or 9999) > (_year(known) or 9999)
            if known is None or newer or (_weight(column) > _weight(known) and _year(column) is None):
                best[column.name] = column
    for name in sorted(best, key=lambda n: n != "surveyed_on"):
        column = best[name]
        if column.role == "derived" and (not name.startswith("reported_") or _of_other_year(column, survey)):
            continue
        _row_field(scene, group, column, "smoke_local" if name == "smoke" else name, survey, env, hoods)
    for pair in table.pairs:
        name = "smoke_local" if pair.name == "smoke" else pair.name
        if name in ("other", "opening_size") or name in survey.fields or name.startswith("reported_m"):
            continue
        survey.fields[name], more = field_of(scene, pair, env)
        survey.problems.extend(more)
    name_kind_of_instrument(survey)


def _weight(column: Column) -> int:
    return max(m.weight for m in column.meanings)


def _of_one_row(column: Column) -> bool:
    """'Row mean' in a table with several rows to a hood: a mean of each row, not of the hood."""
    return any(words_of(m.folded)[:1] in (("row",), ("line",), ("level",)) for m in column.meanings)


def _year(column: Column) -> int | None:
    return next((m.year for m in column.meanings if m.year), None)


def _of_other_year(column: Column, survey: SurveyAsWritten) -> bool:
    """'2025 average' is not the average of a survey of 2026."""
    date = survey.fields.get("surveyed_on")
    year = _year(column)
    return bool(year and date and date.value and getattr(date.value, "year", year) != year)


def _row_field(
    scene: Scene,
    group: Survey,
    column: Column,
    name: str,
    survey: SurveyAsWritten,
    env: Environment,
    hoods: set[int],
) -> None:
    """A field from its column: the same in all rows of the group, or a contradiction."""
    spots: list[Spot] = []
    for row in group.rows:
        spot = _anchored(scene, (row.index, column.index))
        if spot and spot not in spots:
            spots.append(spot)
    if not spots and group.rows[0].inherited:
        spots = _written_above(scene, group.rows[0].index, column.index, hoods)
    if not spots:
        return
    if name == "unit" and len(group.rows) > 1:
        units = {u.name if (u := find_unit(scene.text(s))) else scene.text(s) for s in spots}
        if len(units) > 1:
            detail = f"two units govern one grid: {' and '.join(sorted(units))}"
            survey.problems.append(Problem("unit-mismatch", a1(*spots[-1]), "unit", scene.text(spots[-1]), detail))
            return
    text = " ".join(m.folded for m in column.meanings)
    field, problems = read_value(name, scene.cells[spots[0]], text, column.unit, env.order)
    field.hidden = scene.is_hidden(spots[0])
    if field.value is None and not problems and scene.cells[spots[0]].kind == Kind.TEXT and not field.written.strip():
        return
    survey.fields[name] = field
    survey.problems.extend(problems)
    keep_question(survey, name, a1(*column.spot) if column.spot else "", text)
    distinct = {scene.text(s).strip() for s in spots}
    if len(distinct) > 1 and name in ("hood", "surveyed_on", "sash_height", "calibration_due", "reported_mean"):
        detail = f"the rows of one survey differ in it: {' and '.join(sorted(distinct)[:3])}"
        survey.problems.append(Problem("layout-ambiguous", a1(*spots[1]), name, scene.text(spots[1]), detail))


def _written_above(scene: Scene, row: int, column: int, hoods: set[int]) -> list[Spot]:
    """The cell above that holds for a row too, since the rows of a hood repeat nothing: never past the row that names
    the hood, so that no value is carried from one hood to another."""
    while row > 1 and not hoods & set(scene.filled.get(row, ())):
        row -= 1
        if column in scene.filled.get(row, ()):
            return [(row, column)]
    return []


def _list_surveys(scene: Scene, table: Table, rows: list[Row], env: Environment) -> list[SurveyAsWritten]:
    """Surveys of a list that gives averages only: each lacks its readings. A list without averages gives none."""
    means = means_of(table.header)
    if not means:
        return []
    surveys = []
    for row in rows:
        if means[0].index not in row.filled or not row.hood:
            continue
        means[0].role, means[0].name = "derived", "reported_mean"
        survey = _read_one(scene, table, Survey([row]), env, None)
        survey.readings = []
        spot = (row.index, means[0].index)
        code, detail = "readings-missing", "the sheet gives an average without the readings behind it"
        if spot not in scene.numbers:
            code, detail = (
                "layout-not-recognised",
                f"{scene.text(spot)!r} cannot be taken apart into readings with certainty",
            )
            survey.fields.pop("reported_mean", None)
            survey.problems = [p for p in survey.problems if p.code != "reported-mean-unreadable"]
        survey.problems.append(Problem(code, a1(*spot), "readings", scene.text(spot), detail))
        surveys.append(survey)
    return surveys
