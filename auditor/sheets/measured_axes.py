"""Grids whose rows and columns are named by lengths: 'Height above worktop (in)' over 15, 9, 3.

Such numbers are no readings. Under a heading that says what they measure, and from where, they become the labels of
their rows or columns; anywhere else they stay numbers, and the grid is held."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from auditor.sheets.labels import Meaning
from auditor.sheets.lengths import parse_length
from auditor.sheets.positions import Position
from auditor.workbook.cells import Kind

if TYPE_CHECKING:
    from auditor.sheets.scene import Scene, Spot

_HEIGHT = re.compile(
    r"(?:heights?|distances?|inches|in|cm|mm) (?:above|over|from|off|up from) (?:the )?"
    r"(?:work ?(?:top|surface)|sill|deck|bench ?(?:top)?|counter ?(?:top)?|base|airfoil|bottom)\b"
)
_ACROSS = re.compile(
    r"(?:distances?|inches|in|cm|mm) from (?:the )?(left|right)(?:[ -]hand)?(?: (?:jamb|side|edge|wall|post|end))?\b"
)


def label_measured_lines(scene: Scene) -> None:
    """Turn the numbers of measured axes into labels with a position; changes `scene`."""
    found: dict[Spot, Position] = {}
    for spot, meaning in scene.meanings.items():
        if len(meaning.folded) > 60 or "sash" in meaning.folded:
            continue
        if _HEIGHT.search(meaning.folded):
            found.update({s: Position(row_rank=-v) for s, v in _axis(scene, list(_down(scene, spot)))})
        elif side := _ACROSS.search(meaning.folded):
            sign = 1 if side.group(1) == "left" else -1
            axis = _axis(scene, list(_beside(scene, spot))) or _axis(scene, list(_under(scene, spot)))
            found.update({s: Position(column_rank=sign * v) for s, v in axis})
    for spot, position in found.items():
        scene.meanings[spot] = Meaning(scene.text(spot), position=position)
        scene.numbers.pop(spot, None)


def _axis(scene: Scene, spots: list[Spot]) -> list[tuple[Spot, float]]:
    """The cells with their lengths; none unless there are two or more, rising or falling throughout."""
    values = [v for s in spots if (v := _length(scene, s)) is not None]
    steps = [b - a for a, b in pairwise(values)]
    one_way = bool(steps) and (all(d > 0 for d in steps) or all(d < 0 for d in steps))
    return list(zip(spots, values, strict=True)) if one_way and min(values) >= 0 else []


def _length(scene: Scene, spot: Spot) -> float | None:
    """15 or '15 in' as a bare number: the lengths of one axis are all numbers or all texts."""
    cell = scene.cells.get(spot)
    if cell is None or cell.kind not in (Kind.NUMBER, Kind.TEXT):
        return None
    if cell.kind == Kind.NUMBER:
        return scene.numbers[spot].value if spot in scene.numbers else None
    length = parse_length(str(cell.value))
    if length is None or length.unit not in ("in", "mm"):
        return None
    return length.value if length.unit == "in" else length.value / 25.4


def _run(scene: Scene, spots: Iterator[Spot]) -> Iterator[Spot]:
    kinds = set()
    for spot in spots:
        if _length(scene, spot) is None:
            return
        kinds.add(scene.cells[spot].kind)
        if len(kinds) > 1:
            return
        yield spot


def _down(scene: Scene, label: Spot) -> Iterator[Spot]:
    return _run(scene, ((r, label[1]) for r in range(scene.span(label)[0] + 1, 10**6)))


def _beside(scene: Scene, label: Spot) -> Iterator[Spot]:
    return _run(scene, ((label[0], c) for c in range(scene.span(label)[1] + 1, 10**5)))


def _under(scene: Scene, label: Spot) -> Iterator[Spot]:
    """The numbers in the row below a label, from its own column on."""
    return _run(scene, ((scene.span(label)[0] + 1, c) for c in range(label[1], 10**5)))
