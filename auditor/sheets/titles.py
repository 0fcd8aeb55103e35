"""Which title governs which block: face velocity, cross-draft, last year's, limits ..."""

from __future__ import annotations

from auditor.sheets.blocks import Block, Line
from auditor.sheets.fields import pair_fields
from auditor.sheets.grids import find_blocks
from auditor.sheets.labels import Meaning
from auditor.sheets.scene import Region, Scene, Spot


def is_title(meaning: Meaning) -> bool:
    """True for a text that can head a block of numbers."""
    says_when = meaning.flip == "previous" and meaning.year is not None  # 'Historical: 2024'
    if meaning.is_unit or meaning.position or meaning.direction:
        return False
    if meaning.inline and not meaning.section and not says_when:
        return False
    return bool(meaning.section or meaning.flip or meaning.pass_number or meaning.year or meaning.example)


def blocks_of(scene: Scene, region: Region) -> list[Block]:
    """The blocks of numbers of a region outside its fields, with the titles that govern them."""
    key = ("blocks", region)
    if key not in scene.memo:
        taken = {s for p in pair_fields(scene, region) for s in p.spots}
        scene.memo[key] = give_titles(scene, region, find_blocks(scene, region, taken), taken)
    return scene.memo[key]


COMPUTED = frozenset({"mean", "min", "max", "total", "sd", "range", "median", "count"})


def _heads(meaning: Meaning) -> bool:
    """True for a title that is not merely the label of a computed line ('Average')."""
    return is_title(meaning) and meaning.derived not in COMPUTED


def give_titles(scene: Scene, region: Region, blocks: list[Block], taken: set[Spot]) -> list[Block]:
    """Find each block's titles; a block that two titles in one row share is cut between them."""
    cut: list[Block] = []
    for block in blocks:
        cut.extend(_cut_under_titles(scene, region, block, taken))
    labels = {line.label for b in cut for line in (*b.rows, *b.columns) if line.label}
    for block in cut:
        _titles_beside(scene, region, block, taken)
        _titles_above(scene, region, block, cut, taken | labels, taken)
        _settle_section(scene, block)
        _named_by_lines(block)
    for block in sorted(cut, key=lambda b: (b.region.top, b.region.left)):
        _same_line(scene, block, cut)
    return cut


def _named_by_lines(block: Block) -> None:
    """'Cross-draft left | 12': labels that each name the section settle it, nearer than any title."""
    if block.section == "cross":
        return
    for lines in (block.rows, block.columns):
        if all(any(m.section == "cross" for m in line.meanings) and not line.derived for line in lines):
            block.section, block.flip = "cross", None
            block.titles = [line.label for line in lines if line.label]


def _same_line(scene: Scene, block: Block, blocks: list[Block]) -> None:
    """'Cross-draft | L | 12 | C | 9 | R | 14': what a title says of the first number of its row, it says of all that
    follow in that row with no more than the name of a place before each."""
    if not _is_placed_number(block):
        return
    label = block.rows[0].label
    row, column = block.region.top, label[1] if label else block.region.left
    before = next(scene.left_of((row, column), 1), None)
    first = next((b for b in blocks if before in b.spots and _is_placed_number(b)), None)
    if first and any(t[0] == row for t in first.titles):
        block.titles, block.section, block.flip = list(first.titles), first.section, first.flip


def _is_placed_number(block: Block) -> bool:
    """One number, alone or behind the name of a place or direction."""
    named = block.rows[0].meanings
    return len(block.spots) == 1 and not block.columns[0].meanings and all(m.position or m.direction for m in named)


def _cut_under_titles(scene: Scene, region: Region, block: Block, taken: set[Spot]) -> list[Block]:
    box = block.outline()
    for row in range(box.top - 1, max(region.top, box.top - 3) - 1, -1):
        starts = [
            c
            for c in scene.filled.get(row, ())
            if box.left <= c <= box.right and (row, c) not in taken and is_title(scene.meaning((row, c)))
        ]
        if len(starts) < 2:
            continue
        edges = [c for c in starts[1:] if any(line.index >= c for line in block.columns)]
        parts: list[Block] = []
        for low, high in zip([0, *edges], [*edges, 10**9], strict=True):
            columns = [line for line in block.columns if low <= line.index < high]
            if columns:
                parts.append(
                    Block(
                        [Line(r.index, r.label, r.meanings, r.unit) for r in block.rows], columns, corner=block.corner
                    )
                )
        return parts or [block]
    return [block]


def _titles_beside(scene: Scene, region: Region, block: Block, taken: set[Spot]) -> None:
    """A section's name in the label column of its first row, or in the margin further left."""
    first = block.rows[0]
    if first.meanings and first.label and _heads(first.meanings[0]):
        block.titles.append(first.label)
        first.label, first.meanings, first.unit = None, (), None
    if block.corner and is_title(scene.meaning(block.corner)):
        block.titles.append(block.corner)
    left = min((line.label[1] for line in block.rows if line.label), default=block.columns[0].index)
    for line in block.rows:
        for other in scene.left_of((line.index, left), max(region.left, left - 3)):
            meaning = scene.meaning(other)
            if (
                other not in taken
                and _heads(meaning)
                and meaning.inline is None
                and (meaning.section or meaning.flip != "other")
            ):
                block.titles.append(other)
            break


def _titles_above(
    scene: Scene, region: Region, block: Block, blocks: list[Block], taken: set[Spot], fields: set[Spot]
) -> None:
    box = block.outline()
    mine = {line.label for line in block.columns if line.label}
    passed = 0  # rows of fields between: a section ends where the form goes on
    start = box.top if box.top < block.rows[0].index else box.top - 1
    for row in range(start, region.top - 1, -1):
        if any(scene.meaning(t).section for t in block.titles):
            return
        crossed = [c for c in scene.filled.get(row, ()) if (row, c) in fields and box.left - 1 <= c <= box.right + 1]
        passed += bool(crossed) and row < box.top
        if passed > 2 or (_is_bare(block) and (passed or row < box.top - 3)):
            return
        cells = [
            (row, c)
            for c in scene.filled.get(row, ())
            if box.left - 2 <= c <= box.right
            and (row, c) not in taken
            and (row, c) not in mine
            and (row < box.top or c < block.columns[0].index)
        ]
        found = [s for s in cells if _heads(scene.meaning(s))]
        if not found and row < box.top:
            found = _wide_title(scene, region, row, box, taken)
        found = [s for s in found if s not in block.titles]
        if found:
            first = block.columns[0].index
            best = max(found, key=lambda s: (s[1] <= first, s[1] if s[1] <= first else -s[1]))
            if not _belongs_to_other(scene, best, block, blocks):
                block.titles.append(best)


def _is_bare(block: Block) -> bool:
    """A single number without any label of a place: only a title close by says what it is."""
    lines = (*block.rows, *block.columns)
    return len(lines) == 2 and not any(m.position or m.derived or m.direction for line in lines for m in line.meanings)


def _wide_title(scene: Scene, region: Region, row: int, box: Region, taken: set[Spot]) -> list[Spot]:
    """A title further left whose merged area reaches over the block, or that stands alone in its row."""
    columns = [c for c in scene.filled.get(row, ()) if (row, c) not in taken and region.left <= c <= region.right]
    return [
        (row, c)
        for c in columns
        if c < box.left
        and _heads(scene.meaning((row, c)))
        and (scene.span((row, c))[1] >= box.left or len(columns) == 1)
    ]


def _belongs_to_other(scene: Scene, title: Spot, block: Block, blocks: list[Block]) -> bool:
    """True for the row title of another block ('Cross-draft | 12 | 8 | 9' above this one)."""
    return any(title[0] == o.region.top and 0 < o.region.left - title[1] <= 2 for o in blocks if o is not block)


def _settle_section(scene: Scene, block: Block) -> None:
    for spot in block.titles:
        meaning = scene.meaning(spot)
        if meaning.section and block.section is None:
            block.section = meaning.section
        if meaning.flip and block.flip is None and not (meaning.section == "cross" and meaning.flip == "other"):
            block.flip = meaning.flip
        if meaning.section:
            return
