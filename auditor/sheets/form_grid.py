"""The readings of a form: its face grid placed on the opening, its cross-drafts, and the unit that governs them."""

from __future__ import annotations

import re

from auditor.sheets.blocks import NOT_READINGS, Block, Line
from auditor.sheets.derived import unlabelled_means
from auditor.sheets.form_parts import Parts, pass_of, reading_lines
from auditor.sheets.geometry import place_grid, place_points
from auditor.sheets.model import Problem, Reading, SurveyAsWritten
from auditor.sheets.numbers import parse_number
from auditor.sheets.orientation import far_axes
from auditor.sheets.positions import Position
from auditor.sheets.readings import is_filled, read_reading
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.unit_scope import velocity_units_in
from auditor.sheets.units import VELOCITY_UNITS
from auditor.workbook.cells import Kind, a1


def _position(line_meanings: tuple, section_ok: bool = True) -> Position | None:
    return next((m.position for m in line_meanings if m.position), None)


def face_readings(scene: Scene, survey: SurveyAsWritten, parts: Parts, unit: str | None) -> None:
    """Add the readings of every face block (each a pass) to a survey, placed where their labels say."""
    for block in parts.face:
        rows, columns = reading_lines(block)
        placed = place_block(scene, block)
        number = pass_of(scene, block) or 1
        for r in rows:
            for c in columns:
                spot = (r.index, c.index)
                place = placed.get(spot) if placed else None
                passes = next((m.pass_number for m in (*c.meanings, *r.meanings) if m.pass_number), None) or number
                reading = read_reading(scene, spot, "face", unit, pass_number=passes)
                if place:
                    reading.row, reading.column = place
                reading.position = " ".join(x for x in (r.text, c.text) if x) or None
                survey.readings.append(reading)
        if placed:
            survey.grid_rows = max(r for r, _ in placed.values())
            survey.grid_columns = max(c for _, c in placed.values())


def place_block(scene: Scene, block: Block) -> dict[Spot, tuple[int, int]] | None:
    """(row, column) of the opening for every reading cell of a block; None where its labels leave that open."""
    rows, columns = reading_lines(block)
    if _pass_lines(columns) and all(_position(c.meanings) is None for c in columns):
        first = _place_lines(scene, rows, columns[:1])
        return first and {(r, c.index): place for (r, _), place in first.items() for c in columns}
    return _place_lines(scene, rows, columns)


def _place_lines(scene: Scene, rows: list[Line], columns: list[Line]) -> dict[Spot, tuple[int, int]] | None:
    down, across = [_position(r.meanings) for r in rows], [_position(c.meanings) for c in columns]
    if _is_list(down, across):
        return _place_list(rows, columns, down if len(across) == 1 else across)
    if any(r.meanings and not p for r, p in zip(rows, down, strict=True)):
        return None
    if any(
        c.meanings and not p and not any(m.pass_number for m in c.meanings)
        for c, p in zip(columns, across, strict=True)
    ):
        return None
    far, mirrored = far_axes(scene)
    found = place_grid(down, across, far)
    if found is None or mirrored:
        return None
    first, second, transposed = found
    return {
        (r.index, c.index): ((j, i) if transposed else (i, j))
        for r, i in zip(rows, first.order, strict=True)
        for c, j in zip(columns, second.order, strict=True)
    }


def _pass_lines(columns: list) -> bool:
    return len(columns) > 1 and all(any(m.pass_number for m in c.meanings) for c in columns)


def _is_list(down: list[Position | None], across: list[Position | None]) -> bool:
    """True for one line of points that are named on both axes, or numbered without a shape."""
    line = down if len(across) == 1 else across if len(down) == 1 else None
    if line is None or len(line) < 2:
        return False
    known = [p for p in line if p]
    if len(known) != len(line):
        return not known
    return all(
        p.point
        or p.number
        or (p.row_number and p.column_number)
        or (p.row_rank is not None and p.column_rank is not None and p.letter is None)
        for p in known
    )


def _place_list(rows: list, columns: list, line: list[Position | None]) -> dict[Spot, tuple[int, int]] | None:
    known = [p for p in line if p]
    if len(known) != len(line):
        return None
    found = place_points(known)
    if found is None:
        return None
    spots = [(r.index, c.index) for r in rows for c in columns]
    return dict(zip(spots, found[0], strict=True)) if len(spots) == len(found[0]) else None


def ambiguous_geometry(
    scene: Scene, survey: SurveyAsWritten, parts: Parts, taken: set[Spot] | frozenset[Spot] = frozenset()
) -> Problem | None:
    """A problem where labels are there but do not say where their lines lie, or where the last line looks computed.
    `taken` are cells of fields: what stands over a grid there is no heading of its columns."""
    for block in parts.face:
        rows, columns = reading_lines(block)
        at_rows, at_columns = [r.index for r in rows], [c.index for c in columns]
        if not any(c.meanings for c in columns) and _words_above(scene, block, taken):
            detail = "the words over its columns are not understood"
            return Problem("layout-ambiguous", block.region.name, "readings", "", detail)
        if any(_is_date(scene, s) for c in at_columns if (s := (block.region.top - 1, c)) not in taken):
            detail = "dates stand over its columns: they may be the readings of several days"
            return Problem("layout-ambiguous", block.region.name, "readings", "", detail)
        if _counts_up(scene, at_rows, at_columns):
            detail = "its first row or column reads 1, 2, 3 ...: it may be a heading"
            return Problem("layout-ambiguous", block.region.name, "readings", "", detail)
        named = bool(_position(rows[-1].meanings)), bool(_position(columns[-1].meanings))
        if unlabelled_means(scene, at_rows, at_columns, *named):
            detail = "the last row or column is the mean of the others throughout, though nothing calls it so"
            return Problem("layout-ambiguous", block.region.name, "readings", "", detail)
        if place_block(scene, block) is None and not _unplaced_list(rows, columns):
            labels = [line.text for line in (*rows, *columns) if line.meanings]
            detail = f"the labels do not say where the readings lie on the opening: {', '.join(labels[:8])}"
            return Problem("layout-ambiguous", block.region.name, "readings", "", detail)
    return None


def _is_date(scene: Scene, spot: Spot) -> bool:
    cell = scene.cells.get(spot)
    return cell is not None and cell.kind == Kind.DATE


def _counts_up(scene: Scene, rows: list[int], columns: list[int]) -> bool:
    """True where the first row or the first column of a grid is 1, 2, 3 ... (or the same downwards)."""
    for line in ([(rows[0], c) for c in columns], [(r, columns[0]) for r in rows]):
        values = [scene.numbers[s].value if s in scene.numbers else None for s in line]
        upward = [float(i) for i in range(1, len(values) + 1)]
        if len(values) > 2 and values in (upward, upward[::-1]):
            return True
    return False


def _words_above(scene: Scene, block: Block, taken: set[Spot] | frozenset[Spot]) -> bool:
    """True where two or more texts stand right over a block's columns, though none was taken for their heading."""
    box = block.region
    above = [
        c
        for c in scene.filled.get(box.top - 1, ())
        if box.left <= c <= box.right and (box.top - 1, c) in scene.meanings and (box.top - 1, c) not in taken
    ]
    return len(above) > 1


def _unplaced_list(rows: list, columns: list) -> bool:
    return _is_list([_position(r.meanings) for r in rows], [_position(c.meanings) for c in columns])


def cross_readings(scene: Scene, region: Region, parts: Parts, unit: str | None, taken: set[Spot]) -> list[Reading]:
    """All cross-draft readings of a form, each in its own heading's unit or else the form's."""
    out: list[Reading] = []
    for block in parts.cross:
        rows, columns = reading_lines(block)
        if not rows or not columns:
            rows, columns = _only_maximum(block)
        own = next((u.name for t in block.titles if (u := scene.meaning(t).unit) and u.dimension == "velocity"), unit)
        for r in rows:
            for c in columns:
                spot = (r.index, c.index)
                if not is_filled(scene, spot) or not _is_velocity_line(r) or not _is_velocity_line(c):
                    continue
                line = next((u.name for u in (c.unit, r.unit) if u and u.dimension == "velocity"), own)
                reading = read_reading(scene, spot, "cross-draft", line)
                reading.direction = next((m.direction for m in (*r.meanings, *c.meanings) if m.direction), None)
                reading.position = " ".join(x.text for x in (r, c) if x.meanings) or None
                out.append(reading)
    return out or _inline_cross(scene, region, unit, taken)


def _is_velocity_line(line) -> bool:
    return not line.unit or line.unit.dimension == "velocity"


def _only_maximum(block: Block) -> tuple[list, list]:
    """A cross-draft given by its maximum (or its mean) only: that is its reading."""
    for kind in ("max", "mean"):
        rows = [r for r in block.rows if r.derived == kind]
        columns = [c for c in block.columns if c.derived == kind]
        if rows:
            return rows, [c for c in block.columns if not c.derived] or block.columns
        if columns:
            return [r for r in block.rows if not r.derived] or block.rows, columns
    return [], []


def _inline_cross(scene: Scene, region: Region, unit: str | None, taken: set[Spot]) -> list[Reading]:
    out = []
    for spot in scene.in_region(region):
        meaning = scene.meanings.get(spot)
        if meaning and meaning.section == "cross" and meaning.inline and spot not in taken and not meaning.flip:
            parsed = parse_number(meaning.inline)
            if parsed.outcome in ("coerced", "censored"):
                own = parsed.unit.name if parsed.unit else meaning.unit.name if meaning.unit else unit
                if own is None or own in VELOCITY_UNITS:
                    out.append(
                        Reading(
                            a1(*spot),
                            "cross-draft",
                            scene.text(spot),
                            parsed.value,
                            parsed.outcome,
                            own,
                            bound=parsed.bound,
                            hidden=scene.is_hidden(spot),
                        )
                    )
    return out


_SEVERAL = re.compile(r"(?<![\w.])\d+(?:[.,]\d+)?")


def cross_unread(scene: Scene, region: Region, survey: SurveyAsWritten, taken: set[Spot]) -> Problem | None:
    """A problem where a cross-draft is told, in a text ('L 12, C 31, R 9') or in numbers of its row, and was not read:
    it must not be passed over as if it had not been measured. `taken` are cells of fields."""
    if any(r.kind == "cross-draft" for r in survey.readings):
        return None
    for spot in scene.in_region(region):
        meaning = scene.meanings.get(spot)
        if meaning is None or meaning.section != "cross" or meaning.flip in NOT_READINGS:
            continue
        row = [s for s in scene.right_of(spot, region.right) if s in scene.numbers and s not in taken]
        if row and spot not in taken:
            detail = f"{scene.text(spot)!r} names a cross-draft, but which of the numbers in its row are its readings cannot be told"  # noqa: E501
            return Problem("layout-ambiguous", a1(*row[0]), "readings", scene.text(row[0]), detail)
        beside = next(scene.right_of(spot, scene.span(spot)[1] + 3), spot)
        for at, text in ((spot, meaning.inline or ""), (beside, scene.text(beside) if beside != spot else "")):
            if at in scene.numbers or (scene.meaning(at).field and at != spot):
                continue
            numbers = len(_SEVERAL.findall(text))
            if numbers > 1 or (numbers and velocity_units_in(_SEVERAL.sub("", text))):
                detail = f"the cross-draft is told as {text!r}, which cannot be taken apart with certainty"
                return Problem("reading-not-numeric", a1(*at), "readings", scene.text(at), detail)
    return None
