"""Which blocks of a form are its face readings, which its cross-drafts, and which neither."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.sheets.blocks import Block, Line
from auditor.sheets.fields import Pair
from auditor.sheets.labels import Meaning
from auditor.sheets.model import Problem
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.text import words_of
from auditor.sheets.vocabulary import vocabulary
from auditor.workbook.cells import Kind


@dataclass(slots=True)
class Parts:
    """The blocks of one form by what they hold."""

    face: list[Block] = field(default_factory=list)
    cross: list[Block] = field(default_factory=list)
    rest: list[Block] = field(default_factory=list)  # derived alone, last year's, limits, unknown
    problems: list[Problem] = field(default_factory=list)


def reading_lines(block: Block) -> tuple[list[Line], list[Line]]:
    """The rows and columns of a block that hold readings, not what a sheet computes from them."""
    rows = [line for line in block.rows if not line.derived]
    columns = [line for line in block.columns if not line.derived]
    return rows, columns


def choose_blocks(scene: Scene, region: Region, blocks: list[Block], year: int | None, taken: set[Spot]) -> Parts:
    """Sort the blocks of a form. Where it stays open which of several is the grid, a problem says so and none is."""
    parts = Parts()
    untitled: list[Block] = []
    for block in blocks:
        rows, columns = reading_lines(block)
        if block.flip or _other_year(scene, block, year):
            parts.rest.append(block)
        elif block.section == "cross":
            parts.cross.append(block)
        elif not rows or not columns:
            parts.rest.append(block)
        elif block.section == "face":
            parts.face.append(block)
        elif block.section is None:
            untitled.append(block)
        else:
            parts.rest.append(block)
    parts.face = [b for b in parts.face if not _stray(b)] or parts.face
    if not parts.face:
        parts.face = [b for b in untitled if not _stray(b)]
        parts.problems.extend(
            p for b in parts.face[:1] if len(parts.face) == 1 and (p := _strange_title(scene, b, taken))
        )
        parts.face = [] if parts.problems else parts.face
    loose = [b for b in (*parts.face, *untitled) if _is_loose(b)]
    if len(loose) > 2 or (loose and loose == parts.face):
        parts.problems.append(_scattered(loose))
        parts.face = []
    if len(parts.face) > 1 and not _passes(scene, parts.face):
        parts.problems.append(_several(parts.face))
        parts.face = []
    used = {id(b) for b in (*parts.face, *parts.cross, *parts.rest)}
    left_over = [b for b in blocks if id(b) not in used]
    parts.problems.extend(beside(parts.face, left_over) or _beside_cross(parts.cross, [*left_over, *parts.face]))
    return parts


def _beside_cross(cross: list[Block], others: list[Block]) -> list[Problem]:
    """A number in the row of a cross-draft, further right, whose label is not understood: it may be the largest."""
    for other in others:
        if len(other.spots) != 1 or _labelled(other):
            continue
        for block in cross:
            row = other.region.top
            if (
                block.region.top == row == block.region.bottom
                and block.region.right < other.region.left
                and any(t[0] == row for t in block.titles)
            ):
                place = other.region.name.split(":")[0]
                detail = f"{place} stands in the row of a cross-draft and may be another of its readings"
                return [Problem("layout-ambiguous", place, "readings", "", detail)]
    return []


GAP = 2  # a blank row or column between a grid and what may be a part of it


def beside(face: list[Block], left_over: list[Block]) -> list[Problem]:
    """Numbers that stand in the rows or columns of the grid, close to it, and belong to nothing: a blank row or column
    may have cut them off, so that the grid would be read too small."""
    cut_off = [b for b in left_over if not _labelled(b) and any(_in_line(grid.region, b.region) for grid in face)]
    if not cut_off:
        return []
    places = ", ".join(b.region.name if len(b.spots) > 1 else b.region.name.split(":")[0] for b in cut_off[:8])
    detail = f"numbers beside the grid that may be a part of it: {places}"
    return [Problem("layout-ambiguous", face[0].region.name, "readings", "", detail)]


def _labelled(block: Block) -> bool:
    """True where a label that is understood names a line of the block: then it is something of its own."""
    return any(m.known for line in (*block.rows, *block.columns) for m in line.meanings)


def _in_line(grid: Region, other: Region) -> bool:
    rows_apart = max(other.top - grid.bottom, grid.top - other.bottom)
    columns_apart = max(other.left - grid.right, grid.left - other.right)
    return (rows_apart <= 0 and columns_apart <= GAP) or (columns_apart <= 0 and rows_apart <= GAP)


def _is_loose(block: Block) -> bool:
    """A single number without a label of its own."""
    return len(block.spots) == 1 and not any(line.meanings for line in (*block.rows, *block.columns))


def _scattered(blocks: list[Block]) -> Problem:
    places = ", ".join(b.region.name.split(":")[0] for b in blocks[:8])
    detail = f"single numbers that form no grid and carry no label: {places}"
    return Problem("layout-not-recognised", blocks[0].region.name, "readings", "", detail)


def _strange_title(scene: Scene, block: Block, taken: set[Spot]) -> Problem | None:
    """A text right over a block that is not understood: it may say that the numbers are something else."""
    box = block.outline()
    for row in range(box.top - 1, box.top - 3, -1):
        for column in scene.filled.get(row, ()):
            spot = (row, column)
            meaning = scene.meanings.get(spot)
            if (
                meaning is None
                or spot in taken
                or not box.left - 1 <= column <= box.right
                or meaning.known
                or spot in scene.numbers
            ):
                continue
            if meaning.folded.endswith(":") or len(meaning.folded) > 60 or spot == block.corner or is_axis(meaning):
                continue
            detail = f"{scene.text(spot)!r} over the numbers is not understood: they may be no face velocities"
            return Problem("layout-not-recognised", block.region.name, "readings", scene.text(spot), detail)
    return None


def is_axis(meaning: Meaning) -> bool:
    """True for the heading of a column of labels ('Row', 'Position')."""
    words = words_of(meaning.folded)
    return bool(words) and all(w in vocabulary().axes or w in ("row", "col", "column") for w in words)


def _other_year(scene: Scene, block: Block, year: int | None) -> bool:
    years = [scene.meaning(t).year for t in block.titles if scene.meaning(t).year]
    return bool(years and year and years[0] != year)


def _stray(block: Block) -> bool:
    """A single number beside a label of its own is not a grid."""
    rows, columns = reading_lines(block)
    if len(rows) * len(columns) > 1:
        return (
            not any(line.meanings and line.known for line in (*rows, *columns))
            and len(columns) == 1
            and any(line.meanings for line in rows)
        )
    return True


def pass_of(scene: Scene, block: Block) -> int | None:
    """The pass that a block's titles name."""
    return next((n for t in block.titles if (n := scene.meaning(t).pass_number)), None)


def _passes(scene: Scene, blocks: list[Block]) -> bool:
    numbers = [pass_of(scene, b) for b in blocks]
    shapes = {tuple(len(lines) for lines in reading_lines(b)) for b in blocks}
    return None not in numbers and len(set(numbers)) == len(numbers) and len(shapes) == 1


def _several(blocks: list[Block]) -> Problem:
    places = " and ".join(b.region.name for b in blocks)
    detail = f"more than one block of numbers could be the face velocities: {places}"
    return Problem("layout-ambiguous", blocks[0].region.name, "readings", "", detail)


def form_without_hood(pairs: list[Pair], region: Region) -> Problem | None:
    """Several dates and several grids under fewer hoods: one of the forms that run together lacks its hood."""
    count = {name: len({p.label for p in pairs if p.name == name}) for name in ("hood", "surveyed_on")}
    if count["surveyed_on"] < 2 or count["hood"] >= count["surveyed_on"]:
        return None
    detail = f"{count['surveyed_on']} dates and several grids stand under {count['hood']} hood: a form lacks its hood"
    return Problem("hood-missing", region.name, "hood", "", detail)


def second_values(scene: Scene, pairs: list[Pair]) -> list[Problem]:
    """A problem where a second sash height or date stands right after the first ('Sash (in) | 18 | 12'): the columns
    under them may be two surveys."""
    for pair in pairs:
        if pair.name not in ("sash_height", "surveyed_on") or pair.value is None or pair.below:
            continue
        first = scene.cells[pair.value]
        after = scene.cells.get((pair.value[0], scene.span(pair.value)[1] + 1))
        kind = Kind.DATE if pair.name == "surveyed_on" else Kind.NUMBER
        if after and first.kind == after.kind == kind and first.value != after.value:
            written = scene.text((after.row, after.column))
            detail = f"two values stand beside one label: {scene.text(pair.value)!r} and {written!r}"
            return [Problem("layout-ambiguous", after.address, pair.name, written, detail)]
    return []
