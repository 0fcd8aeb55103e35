"""Where one form ends and the next begins: stacked, side by side, or both."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

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
    bands = _bands(anchors)
    found: list[tuple[Region, Spot]] = []
    floor = region.top
    for band in bands:
        area = Region(floor, region.left, region.bottom, region.right)
        for strip, anchor in zip(_strips(scene, area, band), band, strict=True):
            found.append((strip, anchor))
        floor = max(r for r, _ in band) + 1
    tops = {a: _top(scene, strip, a, [b for _, b in found]) for strip, a in found}
    band_tops = [min(tops[a] for a in band) for band in bands]
    shared = [Region(region.top, region.left, band_tops[0] - 1, region.right)] if band_tops[0] > region.top else []
    ends = [*(t - 1 for t in band_tops[1:]), region.bottom]
    parts = [
        Region(max(tops[a], band_tops[k]), strip.left, ends[k], strip.right)
        for k, band in enumerate(bands)
        for strip, a in found
        if a in band
    ]
    return Split(sorted(parts, key=lambda p: (p.top, p.left)), shared)


BESIDE = 6  # labels of forms side by side stand within so many rows of each other


def _bands(anchors: list[Spot]) -> list[list[Spot]]:
    """Anchors that stand side by side, band by band from the top; within a band from the left."""
    bands: list[list[Spot]] = []
    for anchor in sorted(anchors):
        last = bands[-1] if bands else []
        if last and anchor[0] - last[0][0] <= BESIDE and all(anchor[1] != c for _, c in last):
            last.append(anchor)
        else:
            bands.append([anchor])
    return [sorted(band, key=lambda a: a[1]) for band in bands]


def _strips(scene: Scene, area: Region, band: list[Spot]) -> list[Region]:
    """One strip of columns for each anchor of a band."""
    columns = [c for _, c in band]
    lefts = _lefts(scene, area, columns)
    if len(band) > 1:
        starts = _run_starts(scene, area, band)
        for k in range(1, len(columns)):
            if columns[k - 1] < starts[k] <= columns[k]:
                lefts[k] = starts[k]
    lefts[0] = area.left
    rights = [*(c - 1 for c in lefts[1:]), area.right]
    return [Region(area.top, left, area.bottom, right) for left, right in zip(lefts, rights, strict=True)]


def _run_starts(scene: Scene, area: Region, band: list[Spot]) -> list[int]:
    """For each anchor, the first column of the run of filled columns (from its band down) that it stands in: an empty
    column parts forms that stand side by side."""
    first = min(r for r, _ in band)
    filled = {c for r, columns in scene.filled.items() if first <= r <= area.bottom for c in columns}
    filled |= {
        c for (r, left), (_, right) in scene.spans.items() if first <= r <= area.bottom for c in range(left, right + 1)
    }
    starts = []
    for _, column in band:
        while column - 1 in filled:
            column -= 1
        starts.append(column)
    return starts


_ENDS = {
    "smoke",
    "smoke_local",
    "smoke_gross",
    "reported_verdict",
    "observations",
    "monitor",
    "reported_mean",
    "reported_min",
    "reported_max",
    "tracer",
}


def _top(scene: Scene, strip: Region, anchor: Spot, anchors: list[Spot]) -> int:
    """The first row of a form: above its anchor, as far as lines of its own labels reach without a blank row, or as far
    as the same lines stand above every anchor."""
    floor = max([strip.top, *(r + 1 for r, c in anchors if r < anchor[0] and strip.left <= c <= strip.right)])
    same = sorted({r for r, c in anchors if c == anchor[1]})
    lead = _lead_rows(scene, Region(1, strip.left, strip.bottom, strip.right), same) if len(same) > 1 else 0
    top = anchor[0]
    while top - 1 >= floor and _is_field_row(scene, strip, top - 1, anchor[1]):
        top -= 1
    return max(floor, min(top, anchor[0] - lead))


def _is_field_row(scene: Scene, strip: Region, row: int, column: int) -> bool:
    """True for a row that a form may start with: a label in the anchor's own column, or a title; no readings of the
    form above, no results. What stands further right in the row does not matter."""
    spots = [(row, c) for c in scene.filled.get(row, ()) if strip.left <= c <= strip.right]
    if not spots:
        return False
    first = (row, column) if column in scene.filled.get(row, ()) else spots[0]
    meaning = scene.meanings.get(first)
    if meaning is None or first in scene.numbers:
        return False
    turned = meaning.flip in ("previous", "limit", "percent")
    return not (meaning.section in ("face", "cross") or meaning.field in _ENDS or meaning.position or turned)


def _signature(scene: Scene, spots: list[Spot]) -> frozenset[str]:
    return frozenset(
        _DIGITS.sub("#", scene.meaning(s).folded.split(":")[0])
        for s in spots
        if s in scene.meanings and (scene.meaning(s).known or scene.meaning(s).folded.endswith(":"))
    )


def _lead_rows(scene: Scene, region: Region, rows: list[int]) -> int:
    if len(rows) < 2:
        return rows[0] - region.top
    lead = 0
    gap = min(b - a for a, b in pairwise(rows))
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
    gap = min(b - a for a, b in pairwise(columns))
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
