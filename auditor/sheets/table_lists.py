"""Lists of hoods: with averages only, with numbers that are not understood, or without any."""

from __future__ import annotations

from auditor.sheets.model import Problem
from auditor.sheets.scene import Scene
from auditor.sheets.table_header import Column, Header
from auditor.sheets.table_rows import Row
from auditor.workbook.cells import a1


def unread_list(scene: Scene, header: Header, bottom: int, rows: list[Row]) -> Problem | None:
    """A list of tests (dated, or with a sash height) whose numbers are under headers that are not understood."""
    if not (header.of("field", "surveyed_on") or header.of("field", "sash_height")):
        return None
    rows = [r for r in rows if r.kind == "data"]
    unread = [c for c in header.of("skip") if any((r.index, c.index) in scene.numbers for r in rows)]
    if not unread:
        return None
    names = ", ".join(repr(c.text) for c in unread[:6])
    place = f"{a1(header.top, header.columns[0].index)}:{a1(bottom, header.columns[-1].index)}"
    return Problem(
        "layout-not-recognised", place, "readings", "", f"the numbers under these headers are not understood: {names}"
    )


def holds_grid(scene: Scene, areas: list[tuple[int, int]]) -> bool:
    """True where a section of face velocities stands outside the tables (`areas`, first and last row of each): then the
    list is not all of the sheet."""
    rows = {r for top, bottom in areas for r in range(top, bottom + 1)}
    return any(m.section == "face" and s[0] not in rows for s, m in scene.meanings.items())


def means_of(header: Header) -> list[Column]:
    """The columns that give an average, or a single velocity, for each hood."""
    return header.of("derived", "reported_mean") or header.of("value")
