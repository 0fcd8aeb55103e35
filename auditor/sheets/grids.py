"""Blocks of numbers on a sheet, with the labels of their rows and columns and the titles over them."""

from __future__ import annotations

from itertools import pairwise

from auditor.sheets.blocks import Block
from auditor.sheets.grid_labels import extend_blocks, is_row_of, label_block, row_label
from auditor.sheets.scene import Region, Scene, Spot


def find_blocks(scene: Scene, region: Region, taken: set[Spot]) -> list[Block]:
    """All blocks of numbers in a region, labelled; `taken` are cells that already belong to something else."""
    free = {s for s in scene.numbers if region.holds(*s) and s not in taken}
    boxes = [box for group in _components(scene, free) for box in _cut_at_labels(scene, group, taken, region)]
    boxes = _join_spaced(scene, boxes, taken)
    blocks = []
    for spots in boxes:
        block = label_block(scene, region, spots, taken)
        if block:
            blocks.append(block)
            blocks.extend(_named_apart(scene, region, block, spots, taken))
    return extend_blocks(scene, region, blocks, taken)


def _named_apart(scene: Scene, region: Region, block: Block, spots: set[Spot], taken: set[Spot]) -> list[Block]:
    """What stands in the column of row numbers but is named on its own ('Average | 106' under 1, 2, 3)."""
    column = block.label_column
    if column is None:
        return []
    apart = [s for s in spots if s[1] == column and not is_row_of(scene, spots, taken, *s)]
    return [b for s in apart if (b := label_block(scene, region, {s}, taken))]


def _components(scene: Scene, free: set[Spot]) -> list[set[Spot]]:
    """Groups of cells that touch (a merged cell touches with all its area); groups whose boxes overlap are one."""
    left = set(free)
    groups: list[set[Spot]] = []
    covered = _covered(scene, free)
    while left:
        start = left.pop()
        group, frontier = {start}, [start]
        while frontier:
            spot = frontier.pop()
            bottom, right = scene.span(spot)
            near = [(spot[0], right + 1), (bottom + 1, spot[1]), (spot[0] - 1, spot[1]), (spot[0], spot[1] - 1)]
            for other in (covered.get(n, n) for n in near):
                if other in left:
                    left.remove(other)
                    group.add(other)
                    frontier.append(other)
        groups.append(group)
    return _merge_overlaps(groups)


def _covered(scene: Scene, free: set[Spot]) -> dict[Spot, Spot]:
    """Cells inside merged areas -> the anchor that holds their number."""
    return {
        (r, c): anchor
        for anchor, (bottom, right) in scene.spans.items()
        if anchor in free
        for r in range(anchor[0], bottom + 1)
        for c in range(anchor[1], right + 1)
    }


def _box(group: set[Spot]) -> Region:
    rows, columns = [s[0] for s in group], [s[1] for s in group]
    return Region(min(rows), min(columns), max(rows), max(columns))


def _merge_overlaps(groups: list[set[Spot]]) -> list[set[Spot]]:
    merged = True
    while merged:
        merged = False
        for i, first in enumerate(groups):
            a = _box(first)
            for j in range(i + 1, len(groups)):
                b = _box(groups[j])
                if a.top <= b.bottom and b.top <= a.bottom and a.left <= b.right and b.left <= a.right:
                    groups[i] = first | groups.pop(j)
                    merged = True
                    break
            if merged:
                break
    return sorted(groups, key=lambda g: (_box(g).top, _box(g).left))


def _cut_at_labels(scene: Scene, group: set[Spot], taken: set[Spot], region: Region) -> list[set[Spot]]:
    """Cut a group of touching rows where a row's label starts another part of the form ('Cross-draft | 12 | 8 | 9')."""
    box = _box(group)
    parts: list[set[Spot]] = [set()]
    for row in range(box.top, box.bottom + 1):
        mine = {s for s in group if s[0] == row}
        if mine and _label_inside(scene, row, box.left, min(c for _, c in mine)):
            parts += [mine, set()]
            continue
        if mine and _several_statistics(scene, row, box):
            parts += [*({s} for s in sorted(mine)), set()]
            continue
        label = row_label(scene, (row, box.left), region, taken)
        meaning = scene.meaning(label) if label else None
        if (
            meaning
            and parts[-1]
            and (meaning.section or (meaning.field and not meaning.derived))
            and (not meaning.position or meaning.section == "cross")
        ):
            parts.append(set())
        parts[-1] |= mine
    return [p for p in parts if p]


def _several_statistics(scene: Scene, row: int, box: Region) -> bool:
    """True for 'Max | 115 | Min | 98 | Avg | 106' right under a grid: each number is named on its own."""
    named = [c for c in scene.filled.get(row, ()) if box.left <= c <= box.right and scene.meaning((row, c)).derived]
    first = scene.meaning((row, box.left - 1)).derived
    return bool(first and named) and not any((row, c) in scene.numbers for c in named)


def _label_inside(scene: Scene, row: int, left: int, first: int) -> bool:
    """True where a row starts, within the columns of the block above it, with the name of something else."""
    for column in range(left, first):
        meaning = scene.meanings.get((row, column))
        if meaning and (
            meaning.derived or (not meaning.position and (meaning.field or meaning.section or meaning.flip))
        ):
            return True
    return False


def _join_spaced(scene: Scene, boxes: list[set[Spot]], taken: set[Spot]) -> list[set[Spot]]:
    """Join single columns (or rows) that stand at one regular distance with nothing between: a grid drawn with gaps."""
    for axis in (1, 0):
        lines: dict[tuple[int, int], list[set[Spot]]] = {}
        for group in boxes:
            box = _box(group)
            thin = box.left == box.right if axis else box.top == box.bottom
            along = (box.top, box.bottom) if axis else (box.left, box.right)
            if thin and along[0] != along[1]:
                lines.setdefault(along, []).append(group)
        for same in lines.values():
            if len(same) < 2:
                continue
            at = sorted(same, key=lambda g: min(s[axis] for s in g))
            steps = {min(s[axis] for s in b) - min(s[axis] for s in a) for a, b in pairwise(at)}
            if len(steps) == 1 and steps.pop() <= 3 and _nothing_between(scene, at, axis, taken):
                boxes = [g for g in boxes if g not in same] + [set().union(*same)]
    return sorted(boxes, key=lambda g: (_box(g).top, _box(g).left))


def _nothing_between(scene: Scene, groups: list[set[Spot]], axis: int, taken: set[Spot]) -> bool:
    box = _box(set().union(*groups))
    lines = {s[axis] for g in groups for s in g}
    for row in range(box.top, box.bottom + 1):
        for column in scene.filled.get(row, ()):
            if box.left <= column <= box.right and (row, column)[axis] not in lines:
                return False
    return True
