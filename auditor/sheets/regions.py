"""Where one form ends and the next begins: stacked, side by side, or both."""

from __future__ import annotations

import re
from dataclasses import dataclass

from auditor.sheets.scene import Region, Scene, Spot

_DIGITS = re.compile(r"\d+")


@dataclass(frozen=True, slots=True)
class Split:
    """`parts` hold one anchor each; `shared` are the areas before the first part, which belong to all of them."""

    parts: list[Region]
    shared: list[Region]


def split_at(scene: Scene, region: Region, anchors: list[Spot]) -> Split:
    """Split a region at labels that every form has once (`anchors`): into strips side by side, each into stacked forms.

    A form starts above its anchor as far as its own labels reach, and left of it as far as the same labels stand there
    in every strip. What stands above all forms is shared."""
    columns = sorted({c for _, c in anchors})
    strips = _strips(scene, region, anchors, columns)
    found: list[tuple[Region, list[Spot]]] = [(s, sorted(a for a in anchors if s.holds(*a))) for s in strips]
    tops = {a: _top(scene, strip, mine, a) for strip, mine in found for a in mine}
    first = min(tops.values())
    shared = [Region(region.top, region.left, first - 1, region.right)] if first > region.top else []
    parts: list[Region] = []
    for strip, mine in found:
        starts = [tops[a] for a in mine]
        for top, bottom in zip(starts, [*(t - 1 for t in starts[1:]), region.bottom], strict=True):
            parts.append(Region(top, strip.left, bottom, strip.right))
    return Split(sorted(parts, key=lambda p: (p.top, p.left)), shared)


def _strips(scene: Scene, region: Region, anchors: list[Spot], columns: list[int]) -> list[Region]:
    """One strip of columns for each column of anchors; one strip only where no two stand side by side."""
    groups = [[c] for c in columns]
    lefts = _lefts(scene, region, [g[0] for g in groups])
    lefts[0] = region.left
    rights = [*(c - 1 for c in lefts[1:]), region.right]
    return [Region(region.top, left, region.bottom, right) for left, right in zip(lefts, rights, strict=True)]


_ENDS = {"smoke", "smoke_local", "smoke_gross", "reported_verdict", "observations", "monitor", "reported_mean", "reported_min",
         "reported_max", "tracer"}  # fmt: skip


def _top(scene: Scene, strip: Region, anchors: list[Spot], anchor: Spot) -> int:
    """The first row of a form: above its anchor, as far as lines of its own labels reach without a blank row."""
    at = anchors.index(anchor)
    floor = anchors[at - 1][0] + 1 if at else strip.top
    rows = [r for r, _ in anchors]
    lead = _lead_rows(scene, strip, rows) if len(rows) > 1 else 0
    top = anchor[0]
    while top - 1 >= floor and _is_field_row(scene, strip, top - 1):
        top -= 1
    return max(floor, min(top, anchor[0] - lead))


def _is_field_row(scene: Scene, strip: Region, row: int) -> bool:
    """True for a row that a form may start with: labels with values or a title, no readings and no results."""
    spots = [(row, c) for c in scene.filled.get(row, ()) if strip.left <= c <= strip.right]
    if not spots:
        return False
    meanings = [scene.meaning(s) for s in spots if s in scene.meanings]
    numbers = [s for s in spots if s in scene.numbers]
    if not meanings or len(numbers) > len(meanings):
        return False
    return not any(
        m.section in ("face", "cross") or m.field in _ENDS or m.position or m.flip in ("previous", "limit", "percent")
        for m in meanings[:1]
    )


def _signature(scene: Scene, spots: list[Spot]) -> frozenset[str]:
    return frozenset(_DIGITS.sub("#", scene.meaning(s).folded.split(":")[0]) for s in spots if s in scene.meanings
                     and (scene.meaning(s).known or scene.meaning(s).folded.endswith(":")))  # fmt: skip


def _lead_rows(scene: Scene, region: Region, rows: list[int]) -> int:
    if len(rows) < 2:
        return rows[0] - region.top
    lead = 0
    gap = min(b - a for a, b in zip(rows, rows[1:], strict=False))
    for step in range(1, min(gap, rows[0] - region.top + 1)):
        lines = [
            [(r - step, c) for c in scene.filled.get(r - step, ()) if region.left <= c <= region.right] for r in rows
        ]
        signs = {_signature(scene, line) for line in lines}
        if len(signs) != 1:
            break
        if signs != {frozenset()}:
            lead = step
        elif any(lines):
            break
    return lead


def _lefts(scene: Scene, band: Region, columns: list[int]) -> list[int]:
    if len(columns) < 2:
        return [band.left]
    lead = 0
    gap = min(b - a for a, b in zip(columns, columns[1:], strict=False))
    by_column: dict[int, list[Spot]] = {}
    for spot in scene.in_region(band):
        by_column.setdefault(spot[1], []).append(spot)
    for step in range(1, min(gap, columns[0] - band.left + 1)):
        signs = {_signature(scene, by_column.get(c - step, [])) for c in columns}
        if len(signs) != 1:
            break
        if signs != {frozenset()}:
            lead = step
        elif any(by_column.get(c - step) for c in columns):
            break
    return [c - lead for c in columns]
