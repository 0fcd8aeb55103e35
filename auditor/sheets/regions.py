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
    """Split a region at labels that every form has once (`anchors`), first into bands, then each band into columns.

    A part starts above and left of its anchor as far as the same labels stand there in every part."""
    rows = sorted({r for r, _ in anchors})
    lead = _lead_rows(scene, region, rows)
    tops = [r - lead for r in rows]
    shared = [Region(region.top, region.left, tops[0] - 1, region.right)] if tops[0] > region.top else []
    parts: list[Region] = []
    for top, row, bottom in zip(tops, rows, [*(t - 1 for t in tops[1:]), region.bottom], strict=True):
        band = Region(top, region.left, bottom, region.right)
        columns = sorted(c for r, c in anchors if r == row)
        lefts = _lefts(scene, band, columns)
        if lefts[0] > region.left:
            margin = Region(top, region.left, bottom, lefts[0] - 1)
            if any(True for _ in scene.in_region(margin)) and len(columns) > 1:
                shared.append(margin)
            else:
                lefts[0] = region.left
        for left, right in zip(lefts, [*(c - 1 for c in lefts[1:]), region.right], strict=True):
            parts.append(Region(top, left, bottom, right))
    return Split(parts, shared)


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
