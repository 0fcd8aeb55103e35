"""The layout of a table, drafted from what its header and its rows were taken for."""

from __future__ import annotations

from collections.abc import Sequence

from auditor.sheets.cards.draft_places import field_places
from auditor.sheets.cards.schema import AXES, ColumnPlace, FieldPlace, Layout, Mark
from auditor.sheets.cards.written import spot_at
from auditor.sheets.model import SurveyAsWritten
from auditor.sheets.scene import Scene
from auditor.sheets.sheet_kinds import corners
from auditor.sheets.table_header import Column
from auditor.sheets.tables import Table
from auditor.sheets.values import LENGTHS


def table_layout(scene: Scene, table: Table, last: bool, surveys: Sequence[SurveyAsWritten], name: str) -> Layout:
    """The layout of one table, of whose columns only those are named that gave something. `last`: nothing of a table
    comes below it."""
    mine = [s for s in surveys if table.header.bottom < corners(s.place)[0] <= table.bottom]
    columns = [place for c in table.header.columns if (place := _place(scene, c, mine))]
    outside: dict[str, FieldPlace] = {}
    for survey in mine:
        rows = range(table.header.bottom + 1, table.bottom + 1)
        places, _ = field_places(scene, survey)
        for key, where in places.items():
            row, column = where.cell or (0, 0)
            inside = row in rows and any(c.index == column for c in columns)
            heads = table.header.top <= row <= table.header.bottom and any(c.index == column for c in columns)
            if row and not inside and not heads:
                outside.setdefault(key, where)
    units = {str(f.value) for s in mine if (f := s.fields.get("unit")) and f.value}
    named = "unit" in outside or any(c.means == "unit" for c in columns)
    return Layout(
        name, "table", Mark(), unit=units.pop() if len(units) == 1 and not named else None,
        fields=tuple(outside.values()), header=(table.header.top, table.header.bottom),
        last_row=None if last else table.bottom, columns=tuple(columns),
    )  # fmt: skip


def _place(scene: Scene, column: Column, surveys: Sequence[SurveyAsWritten]) -> ColumnPlace | None:
    heading = scene.text(column.spot).strip() if column.spot else ""
    heading = heading if len(heading) <= 80 else ""
    face = [r for s in surveys for r in s.readings if r.kind == "face" and spot_at(r.cell)[1] == column.index]
    if column.role == "face" and face:
        rows, columns = {r.row for r in face}, {r.column for r in face}
        point = (next(iter(rows)) if len(rows) == 1 else None, next(iter(columns)) if len(columns) == 1 else None)
        return ColumnPlace(column.index, "point", heading, None, point, column.pass_number, column.sash)
    if column.role == "value":
        return ColumnPlace(column.index, "reading", heading)
    if axis := next((means for means, role in AXES.items() if role == column.role), ""):
        return ColumnPlace(column.index, axis, heading)
    if column.role == "cross":
        used = [r for s in surveys for r in s.readings if r.kind != "face" and spot_at(r.cell)[1] == column.index]
        unit = column.unit.name if column.unit and column.unit.dimension == "velocity" else None
        return ColumnPlace(column.index, "cross-draft", heading, unit) if used else None
    name = "smoke_local" if column.name == "smoke" else column.name
    given = [f for s in surveys if (f := s.fields.get(name)) and f.cell and spot_at(f.cell)[1] == column.index]
    if not given:
        return None
    unit = next((f.unit for f in given if f.unit), None) if name in LENGTHS else None
    return ColumnPlace(column.index, name, heading, unit)
