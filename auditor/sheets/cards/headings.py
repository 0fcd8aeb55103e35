"""The words that stand over the readings of a survey: what a unit or a meaning can be tied to."""

from __future__ import annotations

from auditor.sheets.cards.claims import says_otherwise
from auditor.sheets.cards.written import spot_at
from auditor.sheets.labels import Meaning
from auditor.sheets.scene import Scene, Spot

REACH_UP, REACH_LEFT = 6, 3  # rows above the readings, columns to their left, in which their heading may stand


def heading_over(scene: Scene, cells: list[str]) -> Spot | None:
    """The cell of the nearest text above (or left of) the face readings that can be their heading; None where no text
    is there, or where it says that it is something else."""
    spots = [spot_at(c) for c in cells]
    top, left, right = min(r for r, _ in spots), min(c for _, c in spots), max(c for _, c in spots)
    rows = [(top, max(1, left - REACH_LEFT), left - 1)]
    rows += [(r, max(1, left - REACH_LEFT), right) for r in range(top - 1, max(0, top - REACH_UP - 1), -1)]
    for row, first, last in rows:
        for column in scene.filled.get(row, ()):
            meaning = scene.meanings.get((row, column))
            if not first <= column <= last or meaning is None or _of_a_line(meaning) or (row, column) in scene.numbers:
                continue
            fits = not says_otherwise(meaning, "face") and not meaning.field and len(meaning.folded) <= 80
            return (row, column) if fits and meaning.inline is None else None
    return None


def _of_a_line(meaning: Meaning) -> bool:
    """True for the label of a row or a column of the grid, of which a heading stands further away."""
    return bool(meaning.position or meaning.direction or meaning.pass_number or meaning.derived) and not meaning.section
