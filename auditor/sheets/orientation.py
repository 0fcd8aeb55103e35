"""Notes that say that a grid is numbered or drawn otherwise than usual."""

from __future__ import annotations

from functools import lru_cache

from auditor.sheets.geometry import HORIZONTAL, VERTICAL
from auditor.sheets.scene import Scene
from auditor.sheets.vocabulary import vocabulary


@lru_cache(maxsize=16384)
def _geometry_said(folded: str) -> tuple[bool, bool, bool]:
    """(rows run from the bottom, columns from the right, drawn as seen from inside) as one text says."""
    notes = vocabulary().notes
    return (
        any(p in folded for p in notes["bottom_first"]),
        any(p in folded for p in notes["right_first"]),
        any(p in folded for p in notes["mirrored"]),
    )


def far_axes(scene: Scene) -> tuple[frozenset[str], bool]:
    """The axes that a note numbers from the far end, and whether the sheet is drawn as seen from inside the hood."""
    if "far" not in scene.memo:
        scene.memo["far"] = _far_axes(scene)
    return scene.memo["far"]


def _far_axes(scene: Scene) -> tuple[frozenset[str], bool]:
    far: set[str] = set()
    mirrored = False
    for spot, meaning in scene.meanings.items():
        text = meaning.folded
        if len(text) < 8 or spot in scene.numbers:
            continue
        bottom, right, inside = _geometry_said(text)
        if bottom:
            far.add(VERTICAL)
        if right and not meaning.direction:
            far.add(HORIZONTAL)
        mirrored = mirrored or inside
    return frozenset(far), mirrored
