"""The layouts of a card: where a form's fields and grids stand, what a table's columns hold."""

from __future__ import annotations

from typing import Any

from auditor.sheets.cards.entries import Entry, cells_of, column_number, spot_of
from auditor.sheets.cards.schema import (
    COLUMN_MEANINGS,
    OPEN,
    ORDERS,
    PLACES,
    TEACHABLE,
    CardError,
    ColumnPlace,
    DraftPlace,
    FieldPlace,
    GridPlace,
    Layout,
    Mark,
)
from auditor.sheets.lengths import parse_length
from auditor.sheets.scene import Spot
from auditor.sheets.values import LENGTHS, VELOCITIES


def mark_of(table: Any, place: str) -> Mark:
    """The mark that a table of a card writes; an empty one where there is none."""
    if table is None:
        return Mark()
    entry = Entry(table, place)
    cells = Entry(entry.take("cells", dict) or {}, f"{place}, cells")
    found: list[tuple[Spot, str]] = []
    for key in list(cells.table):
        found.append((spot_of(key, cells.at(key)), cells.text(key)))
    texts = entry.take("texts", list) or []
    if not all(isinstance(one, str) and one.strip() for one in texts):
        raise entry.bad("texts", "each must be a text", 'write texts = ["Cobalt hood form"]')
    filled = [spot_of(str(one), entry.at("filled")) for one in entry.take("filled", list) or []]
    mark = Mark(entry.text("sheet"), tuple(found), tuple(texts), tuple(filled))
    entry.done()
    if mark.empty or (mark.cells and not any(t for _, t in mark.cells) and not (mark.sheet or mark.texts)):
        raise CardError(f"{place}: it marks nothing; give a sheet name, a cell with its text, or a text")
    return mark


def dimension_of(means: str) -> str:
    """'length' or 'velocity' for a field that is one, else ''."""
    if means in LENGTHS:
        return "length"
    return "velocity" if means in VELOCITIES else ""


def layout_of(table: Any, number: int) -> Layout:
    """One [[layout]] of a card; `number` counts them from 1. CardError says what is amiss, and where."""
    entry = Entry(table, f"layout {number}")
    name = entry.text("name") or f"layout {number}"
    entry.place = f"layout {number} ('{name}')"
    shape = entry.choice("shape", ("form", "table"), "write form (one hood with its grid) or table (rows of hoods)")
    mark = mark_of(entry.take("mark", dict, "write how its sheets are known, such as mark.cells.A1"), entry.at("mark"))
    unit, order = entry.unit("unit", "velocity"), entry.choice("date_order", ORDERS)
    fields = _fields(entry.take("fields", dict) or {}, entry.at("fields"))
    common = {"name": name, "shape": shape, "mark": mark, "unit": unit, "date_order": order, "fields": fields}
    layout = _table(entry, common) if shape == "table" else _form(entry, common)
    entry.done()
    return layout


def _form(entry: Entry, common: dict[str, Any]) -> Layout:
    area = entry.region("area")
    grids = tuple(_grid(g, entry.at(f"grid {i}")) for i, g in enumerate(entry.take("grid", list) or [], start=1))
    drafts = tuple(_draft(d, entry.at(f"cross {i}")) for i, d in enumerate(entry.take("cross", list) or [], start=1))
    ignore = frozenset(
        spot for text in entry.take("ignore", list) or [] for spot in cells_of(str(text), entry.at("ignore"))
    )
    if not grids:
        raise entry.bad("grid", "is missing", "say where the face readings stand, with [[layout.grid]] and a range")
    spots = [(s, g.pass_number) for g in grids for s, _ in g.cells]
    spots += [(s, 0) for d in drafts for s in d.cells]
    seen: set[Spot] = set()
    for spot, _ in spots:
        if spot in seen or spot in ignore:
            raise entry.bad("grid", "a cell stands in two of its ranges", "let each reading be in one range only")
        seen.add(spot)
    return Layout(**common, area=area, grids=grids, drafts=drafts, ignore=ignore)


def _fields(table: dict[str, Any], place: str) -> tuple[FieldPlace, ...]:
    entry = Entry(table, place)
    found = []
    for name in TEACHABLE:
        if (one := entry.take(name, object)) is not None:
            found.append(_field(name, one, entry.at(name)))
    entry.done()
    return tuple(found)


def _field(name: str, table: Any, place: str) -> FieldPlace:
    entry = Entry({"cell": table} if isinstance(table, str) else table, place)
    cell, label = entry.spot("cell"), entry.text("label")
    stands = entry.choice("stands", tuple(PLACES))
    dimension = dimension_of(name)
    unit = entry.unit("unit", dimension) if name != "unit" else None
    after, before = entry.text("after"), entry.text("before")
    in_name = bool(entry.take("sheet_name", bool))
    entry.done()
    if unit and not dimension and name not in ("air_temperature", "air_pressure"):
        raise entry.bad("unit", "this field has no unit", "take it out")
    if in_name and (cell or label or name != "hood"):
        raise entry.bad(
            "sheet_name", "only the hood may be the sheet's name, and then stands nowhere else", "choose one"
        )
    if not in_name and bool(cell) == bool(label and stands):
        raise CardError(
            f"{place}: give either its cell, or its label's words and where the value stands from there "
            f"(stands = {' or '.join(PLACES)})"
        )
    return FieldPlace(name, cell, label, stands, unit, after, before, in_name)


def _grid(table: Any, place: str) -> GridPlace:
    entry = Entry(table, place)
    number = entry.number("pass") or 1
    points = entry.take("points", dict)
    text = entry.text("range", "" if points else "write the range of its readings, such as B10:F12")
    rows = entry.choice("rows", ("top first", "bottom first")) or "top first"
    columns = entry.choice("columns", ("left first", "right first")) or "left first"
    turned = bool(entry.take("turned", bool))
    unplaced = bool(entry.take("unplaced", bool))
    entry.done()
    if points and text:
        raise entry.bad("points", "a range stands beside it", "give the one or the other")
    if points:
        return GridPlace(_points(points, entry.at("points")), number)
    spots = cells_of(text, entry.at("range"))
    if unplaced:
        return GridPlace(tuple((s, None) for s in spots), number)
    return GridPlace(tuple(placed(spots, rows == "bottom first", columns == "right first", turned)), number)


def placed(spots: list[Spot], from_bottom: bool, from_right: bool, turned: bool) -> list[tuple[Spot, tuple[int, int]]]:
    """Places on the opening. `turned`: down the sheet runs across the opening."""
    top, left = spots[0]
    bottom, right = spots[-1]
    out = []
    for row, column in spots:
        down, across = row - top + 1, column - left + 1
        high, wide = bottom - top + 1, right - left + 1
        if turned:
            down, across, high, wide = across, down, wide, high
        if from_bottom:
            down = high + 1 - down
        if from_right:
            across = wide + 1 - across
        out.append(((row, column), (down, across)))
    return out


def _points(points: dict[str, Any], place: str) -> tuple[tuple[Spot, tuple[int, int] | None], ...]:
    out: dict[Spot, tuple[int, int] | None] = {}
    for key, value in points.items():
        if not (isinstance(value, list) and len(value) == 2 and all(type(v) is int and 1 <= v <= 99 for v in value)):
            raise CardError(f"{place}, {key}: write its row and column on the opening, such as {key} = [1, 2]")
        spot = spot_of(key, place)
        if spot in out or (value[0], value[1]) in out.values():
            raise CardError(f"{place}, {key}: this cell, or this place on the opening, stands there twice; mend one")
        out[spot] = (value[0], value[1])
    return tuple(out.items())


def _draft(table: Any, place: str) -> DraftPlace:
    entry = Entry(table, place)
    cells = cells_of(entry.text("range", "write the range of its readings, such as B15:D15"), entry.at("range"))
    unit = entry.unit("unit", "velocity")
    entry.done()
    return DraftPlace(tuple(cells), unit)


def _table(entry: Entry, common: dict[str, Any]) -> Layout:
    top = entry.number("header", "write the row of the column headings, such as 4")
    bottom = entry.number("header_to") or top
    last = entry.number("last_row")
    assert top is not None
    assert bottom is not None
    if bottom < top or bottom - top > 9:
        raise entry.bad("header_to", f"{bottom} does not fit", "write the last row of the headings")
    table = Entry(entry.take("columns", dict, "say what its columns hold, such as columns.A"), entry.at("columns"))
    columns = tuple(_column(key, one, table.at(key)) for key, one in table.table.items())
    means = [c.means for c in columns]
    if "hood" not in means:
        raise entry.bad("columns", "none of them is the hood", 'write the column of the hoods, such as A = "hood"')
    if not {"point", "reading"} & set(means):
        raise entry.bad("columns", "none holds readings", "write means = point (or reading, with one to a row)")
    for axis in (0, 1):
        said = {bool(c.point[axis]) for c in columns if c.means == "point"}
        if len(said) > 1:
            raise entry.bad("columns", "some points have a row or column on the opening and some have not", "give all")
    return Layout(**common, header=(top, bottom), last_row=last, columns=columns)


def _column(key: str, value: Any, place: str) -> ColumnPlace:
    if not (key.isascii() and key.isalpha() and key.isupper() and len(key) <= 3):
        raise CardError(f"{place}: '{key}' is not a column; write its letter, such as C")
    if value == OPEN:
        raise CardError(f"{place}: the draft left this open; write what the column holds")
    entry = Entry({"means": value} if isinstance(value, str) else value, place)
    means = entry.choice("means", COLUMN_MEANINGS, "write what the column holds, such as hood")
    heading = entry.text("heading")
    dimension = "velocity" if means in ("point", "reading", "cross-draft") else dimension_of(means)
    unit = entry.unit("unit", dimension)
    row, column, number, sash = entry.number("row"), entry.number("column"), entry.number("pass"), entry.text("sash")
    entry.done()
    if unit and not dimension:
        raise entry.bad("unit", f"'{means}' has no unit", "take it out")
    if means != "point" and (row or column or number or sash):
        raise entry.bad("means", f"'{means}' has no place on the opening", "take row, column, pass and sash out")
    length = parse_length(sash) if sash else None
    if sash and (length is None or length.unit is None):
        raise entry.bad("sash", f"'{sash}' is not a length with its unit", 'write it as "18 in"')
    return ColumnPlace(column_number(key), means, heading, unit, (row, column), number, sash or None)
