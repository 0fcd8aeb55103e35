"""A mark for a drafted layout: cells whose words tell its sheets from all others of the workbook."""

from __future__ import annotations

from collections.abc import Sequence

from auditor.sheets.cards.schema import Mark
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.text import fold

ENOUGH = 5  # cells of a mark, where no more are needed to tell sheets apart


def mark_for(mine: Sequence[Scene], others: Sequence[Scene], values: set[Spot]) -> tuple[Mark, list[str]]:
    """A mark that holds on `mine` and on none of `others`, and remarks where that cannot be had. `values` are cells
    that change from survey to survey."""
    constant = _constant(mine, values)
    chosen = _spread(constant)
    remarks: list[str] = []
    filled: list[Spot] = []
    for other in others:
        if any(fold(other.text(s)) != fold(t) for s, t in chosen.items()):
            continue
        differing = next(((s, t) for s, t in constant.items() if fold(other.text(s)) != fold(t)), None)
        blank = next((s for s in other.numbers if all(not one.text(s) for one in mine)), None)
        full = next((s for s in mine[0].numbers if not other.text(s) and all(one.text(s) for one in mine)), None)
        if any(not other.text(s) for s in filled):
            continue
        if differing:
            chosen[differing[0]] = differing[1]
        elif blank and chosen:
            chosen[blank] = ""
        elif full and chosen:
            filled.append(full)
        else:
            remarks.append(f"this mark holds on sheet {other.sheet.name!r} too: add to it what tells them apart")
    if not chosen:
        remarks.append("no text stands in the same cell of all its sheets: say how they are known")
    return Mark(cells=tuple(sorted(chosen.items())), filled=tuple(filled)), remarks


def _spread(constant: dict[Spot, str]) -> dict[Spot, str]:
    """Some of the cells, from all over the sheet: another layout may share a corner with this one."""
    spots = sorted(constant)
    if len(spots) <= ENOUGH:
        return dict(constant)
    step = (len(spots) - 1) / (ENOUGH - 1)
    return {spot: constant[spot] for i in range(ENOUGH) if (spot := spots[round(i * step)])}


def _constant(scenes: Sequence[Scene], values: set[Spot]) -> dict[Spot, str]:
    """Cells with the same text on all sheets: titles and labels that are known, where there are enough; no values, no
    numbers."""
    first = scenes[0]
    found = []
    for spot, meaning in first.meanings.items():
        text = first.text(spot)
        if spot in values or spot in first.numbers or len(text) > 80 or meaning.inline or meaning.pairs:
            continue
        if all(fold(one.text(spot)) == fold(text) for one in scenes[1:]):
            found.append((spot, text.strip(), meaning.known))
    known = {spot: text for spot, text, is_known in found if is_known}
    return known if len(known) >= ENOUGH else {spot: text for spot, text, _ in found}
