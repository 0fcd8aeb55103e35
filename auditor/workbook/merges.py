"""Merged areas: only the top left cell counts."""

from __future__ import annotations

from auditor.workbook.cells import Sheet, a1
from auditor.workbook.limits import damaged

_WORK = 20_000_000  # cells looked at; only areas that overlap, which no program writes, can need more


def drop_covered(sheet: Sheet, notes: list[str]) -> None:
    """Takes the cells away that a merged area covers: nobody who looks at the sheet can see them. Says so in a note."""
    cells, work = sheet.cells, 0
    dropped: list[tuple[int, int]] = []
    for top, left, bottom, right in sheet.merged:
        size = (bottom - top + 1) * (right - left + 1)
        work += min(size, len(cells))
        if work > _WORK:
            raise damaged(f"the merged areas of sheet '{sheet.name}' overlap")
        if size <= len(cells):
            area = [(r, c) for r in range(top, bottom + 1) for c in range(left, right + 1) if (r, c) in cells]
        else:
            area = [(r, c) for r, c in cells if top <= r <= bottom and left <= c <= right]
        for place in area:
            if place != (top, left):
                del cells[place]
                dropped.append(place)
    if dropped:
        shown = ", ".join(a1(*place) for place in dropped[:5]) + (" ..." if len(dropped) > 5 else "")
        notes.append(f"Sheet '{sheet.name}': values covered by a merged cell were left out ({shown})")
