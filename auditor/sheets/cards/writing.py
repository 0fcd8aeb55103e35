"""A card as TOML, with what a person should know of it as comments."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field

from auditor.sheets.cards.layouts import placed
from auditor.sheets.cards.schema import OPEN, ColumnPlace, DraftPlace, FieldPlace, GridPlace, Layout, Mark
from auditor.sheets.scene import Spot
from auditor.workbook.cells import a1


@dataclass(slots=True)
class Draft:
    """A layout that was drafted, and what is to be said about it."""

    layout: Layout
    remarks: list[str] = field(default_factory=list)  # over the layout
    missing: list[str] = field(default_factory=list)  # lines to fill in, written as comments


def quoted(text: str) -> str:
    """A text as a TOML string, on one line whatever is in it."""
    return "".join(ch if ch.isprintable() else f"\\U{ord(ch):08x}" for ch in json.dumps(text, ensure_ascii=False))


def comment(text: str) -> str:
    """One comment line; what a sheet says may stand in it and stays inert."""
    return "# " + " ".join("".join(ch if ch.isprintable() else " " for ch in text).split())


def write_card(contractor: str, drafts: Iterable[Draft], remarks: Iterable[str]) -> str:
    """The text of a card for a contractor ('' leaves the name open)."""
    lines = [*map(comment, remarks), "card = 1", f"contractor = {quoted(contractor or OPEN)}"]
    if not contractor:
        lines[-1] += "  # the firm's name, as its sheets have it"
    for draft in drafts:
        lines += ["", *_layout(draft)]
    return "\n".join(lines) + "\n"


def _layout(draft: Draft) -> list[str]:
    layout = draft.layout
    lines = ["[[layout]]", *map(comment, draft.remarks), f"name = {quoted(layout.name)}", f'shape = "{layout.shape}"']
    if layout.area:
        lines.append(f'area = "{layout.area.name}"')
    if layout.unit:
        lines.append(f'unit = "{layout.unit}"  # where the sheet gives none; another one on the sheet holds it')
    if layout.date_order:
        lines.append(f'date_order = "{layout.date_order}"')
    if layout.shape == "table":
        lines += _header(layout)
    lines += draft.missing
    lines += _mark(layout.mark)
    if layout.fields:
        lines += ["", "[layout.fields]", *(f"{f.name} = {_place(f)}" for f in layout.fields)]
    if layout.columns:
        lines += ["", "[layout.columns]", *(_column(c) for c in layout.columns)]
    for grid in layout.grids:
        lines += ["", "[[layout.grid]]", *_grid(grid)]
    for place in layout.drafts:
        lines += ["", "[[layout.cross]]", *_cross(place)]
    return lines


def _header(layout: Layout) -> list[str]:
    top, bottom = layout.header
    lines = [f"header = {top}", *([f"header_to = {bottom}"] if bottom != top else [])]
    return lines + ([f"last_row = {layout.last_row}"] if layout.last_row else [])


def _mark(mark: Mark) -> list[str]:
    lines = [f"mark.sheet = {quoted(mark.sheet)}"] if mark.sheet else []
    lines += [f"mark.cells.{a1(*spot)} = {quoted(text)}" for spot, text in mark.cells]
    if mark.filled:
        lines.append(f"mark.filled = [{', '.join(quoted(a1(*spot)) for spot in mark.filled)}]")
    if mark.texts:
        lines.append(f"mark.texts = [{', '.join(map(quoted, mark.texts))}]")
    return lines or [f"mark.sheet = {quoted(OPEN)}  # how its sheets are known"]


def _place(place: FieldPlace) -> str:
    if place.in_sheet_name:
        return "{ sheet_name = true }"
    parts = [f'cell = "{a1(*place.cell)}"'] if place.cell else []
    for key in ("label", "stands", "unit", "after", "before"):
        if value := getattr(place, key):
            parts.append(f"{key} = {quoted(value)}")
    return "{ " + ", ".join(parts) + " }"


def _column(place: ColumnPlace) -> str:
    parts = [f'means = "{place.means}"']
    parts += [f"{key} = {number}" for key, number in zip(("row", "column"), place.point, strict=True) if number]
    if place.pass_number:
        parts.append(f"pass = {place.pass_number}")
    for key in ("sash", "unit", "heading"):
        if value := getattr(place, key):
            parts.append(f"{key} = {quoted(value)}")
    letters = a1(1, place.index).rstrip("1")
    return f"{letters} = {{ {', '.join(parts)} }}"


def _range(spots: list[Spot]) -> str:
    return a1(*spots[0]) if len(spots) == 1 else f"{a1(*spots[0])}:{a1(*spots[-1])}"


def _grid(grid: GridPlace) -> list[str]:
    number = [f"pass = {grid.pass_number}"] if grid.pass_number > 1 else []
    if not grid.cells:
        return [f'range = "{OPEN}"  # where the face readings stand, such as "B10:F12"']
    spots = [s for s, _ in grid.cells]
    if all(place is None for _, place in grid.cells):
        return [f'range = "{_range(spots)}"', "unplaced = true  # the sheet does not say where they lie", *number]
    how = _orientation(grid)
    if how is None:
        points = [f"points.{a1(*s)} = [{p[0]}, {p[1]}]" for s, p in grid.cells if p]
        return [*number, *points]
    from_bottom, from_right, turned = how
    lines = [f'range = "{_range(spots)}"', f'rows = "{"bottom" if from_bottom else "top"} first"']
    lines.append(f'columns = "{"right" if from_right else "left"} first"')
    return [*lines, *(["turned = true  # down the sheet runs across the opening"] if turned else []), *number]


def _orientation(grid: GridPlace) -> tuple[bool, bool, bool] | None:
    """(from the bottom, from the right, turned) of a grid that is a whole rectangle, else None."""
    spots = [s for s, _ in grid.cells]
    (top, left), (bottom, right) = spots[0], spots[-1]
    whole = [(r, c) for r in range(top, bottom + 1) for c in range(left, right + 1)]
    if spots != whole:
        return None
    for turned in (False, True):
        for from_bottom in (False, True):
            for from_right in (False, True):
                if tuple(placed(spots, from_bottom, from_right, turned)) == grid.cells:
                    return from_bottom, from_right, turned
    return None


def _cross(place: DraftPlace) -> list[str]:
    unit = [f'unit = "{place.unit}"'] if place.unit else []
    return [f'range = "{_range(list(place.cells))}"', *unit]
