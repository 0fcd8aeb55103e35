"""What a form itself states about its grid: its mean, minimum and maximum."""

from __future__ import annotations

from auditor.sheets.blocks import Block
from auditor.sheets.derived import compare_lines
from auditor.sheets.fields import GRID_FIELDS, Pair
from auditor.sheets.form_parts import Parts, reading_lines
from auditor.sheets.model import Field, Problem
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.units import Unit
from auditor.sheets.values import NO_ORDER, read_value
from auditor.workbook.cells import Cell, Kind

NAMES = {"mean": "reported_mean", "min": "reported_min", "max": "reported_max"}


def reported_values(
    scene: Scene, region: Region, parts: Parts, pairs: list[Pair], unit: str | None
) -> tuple[dict[str, Field], list[Problem]]:
    """The stated mean, minimum and maximum of a form, and where its derived rows or columns contradict its readings."""
    found: dict[str, Field] = {}
    problems: list[Problem] = []
    for kind, spot, line_unit in _stated(scene, parts):
        _take(scene, found, problems, NAMES[kind], scene.cells[spot], line_unit, spot)
    for pair in pairs:
        if pair.name in GRID_FIELDS and pair.text is not None:
            cell = Cell(pair.label[0], pair.label[1], Kind.TEXT, pair.text)
            _take(scene, found, problems, pair.name, cell, pair.unit, pair.label)
    if "reported_mean" not in found:
        _text_instead(scene, region, found, problems)
    for block in parts.face:
        rows, columns = reading_lines(block)
        problems += compare_lines(scene, block, [r.index for r in rows], [c.index for c in columns])
    for value in found.values():
        value.unit = value.unit or unit
    return found, problems


def _take(
    scene: Scene, found: dict[str, Field], problems: list[Problem], name: str, cell: Cell, unit: Unit | None, spot: Spot
) -> None:
    if name in found:
        return
    field, more = read_value(name, cell, "", unit, NO_ORDER)
    field.hidden = scene.is_hidden(spot)
    if field.value is not None or more:
        found[name] = field
        problems.extend(more)


def _stated(scene: Scene, parts: Parts) -> list[tuple[str, Spot, Unit | None]]:
    """(kind, cell, unit) of every value that states something about a whole grid, the most certain first."""
    whole: list[tuple[str, Spot, Unit | None]] = []
    for block in (*parts.face, *parts.rest):
        if block.flip or block.section == "cross":
            continue
        whole.extend(_of_block(scene, block, block in parts.face))
    return whole


def _of_block(scene: Scene, block: Block, is_face: bool) -> list[tuple[str, Spot, Unit | None]]:
    rows, columns = reading_lines(block)
    out: list[tuple[str, Spot, Unit | None]] = []
    for line in block.rows:
        if any(m.year for m in line.meanings):
            continue  # the mean of some year, perhaps not of this survey
        cells = [c for c in block.columns if (line.index, c.index) in scene.numbers]
        if line.derived in NAMES and (len(cells) == 1 or (len(columns) == 1 and cells)):
            out.append((line.derived, (line.index, cells[0].index), line.unit))
        elif line.derived == "mean":
            out += [("mean", (line.index, c.index), line.unit) for c in cells if c.derived == "mean"]
    for line in block.columns:
        spots = [(r.index, line.index) for r in block.rows if (r.index, line.index) in scene.numbers]
        if line.derived in NAMES and (len(spots) == 1 or (len(rows) == 1 and spots and is_face)):
            out.append((line.derived, spots[0], line.unit))
    return out


def _text_instead(scene: Scene, region: Region, found: dict[str, Field], problems: list[Problem]) -> None:
    """A label of the mean whose value is some text: kept, and said to be unreadable."""
    for spot in scene.in_region(region):
        meaning = scene.meanings.get(spot)
        if meaning is None or meaning.field != "reported_mean" or meaning.inline is not None:
            continue
        beside = next(scene.right_of(spot, min(region.right, scene.span(spot)[1] + 6)), None)
        if beside is None or beside in scene.numbers or scene.meaning(beside).known:
            continue
        _take(scene, found, problems, "reported_mean", scene.cells[beside], meaning.unit, beside)
