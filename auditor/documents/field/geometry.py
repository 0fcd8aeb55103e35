"""How many grid cells an opening needs, and how lengths are written."""

from __future__ import annotations

import math

from auditor.documents.field.model import HoodToSurvey

MAX_COLUMNS = 16  # a sheet of a page's width
MAX_ROWS = 8
SASH_SLACK_IN = 1.0  # the sash may stand so much above its working height and the grid is still fine enough
_CELL_SIDE_IN = 12.0
_HAIR = 1e-9


class CannotDraw(ValueError):
    """A hood for which no sheet can be made; the message says why and what would mend it."""


def open_height_in(hood: HoodToSurvey) -> float | None:
    """The height at which the hood is surveyed: its working sash, else its full opening."""
    return (hood.working_sash_in or hood.opening_height_in) if hood.has_sash else hood.opening_height_in


def grid_of(hood: HoodToSurvey) -> tuple[int, int]:
    """(rows, columns) of the hood's grid: cells of at most 1 ft a side, and of at most the area its profile allows, at
    the working height and up to 1 in above. Raises CannotDraw."""
    width, height = hood.opening_width_in, open_height_in(hood)
    if not width or not height or width <= 0 or height <= 0:
        raise CannotDraw(
            f"{hood.hood_id}: the register does not say how large its opening is; add its width and height"
        )
    tall = height + (SASH_SLACK_IN if hood.has_sash else 0.0)
    rows, columns = _cells(tall), _cells(width)
    while width * tall / 144 > hood.limits.max_cell_ft2 * rows * columns + _HAIR:
        if width / columns >= tall / rows:
            columns += 1
        else:
            rows += 1
        if rows > MAX_ROWS or columns > MAX_COLUMNS:
            break
    if rows > MAX_ROWS or columns > MAX_COLUMNS:
        raise CannotDraw(
            f"{hood.hood_id}: an opening of {width:g} by {height:g} in needs more grid cells than a page holds; "
            "check it in the register"
        )
    return rows, columns


def _cells(length_in: float) -> int:
    return max(1, math.ceil(length_in / _CELL_SIDE_IN - _HAIR))


def length_text(length_in: float | None, unit: str) -> str:
    """A length beside velocities of `unit`: inches with ft/min, millimetres with m/s; '' where it is missing."""
    if length_in is None:
        return ""
    return f"{length_in:g} in" if unit == "ft/min" else f"{length_in * 25.4:.0f} mm"


def velocity_text(velocity_fpm: float | None, unit: str) -> str:
    """A velocity as a sheet writes it, without its unit: whole ft/min, hundredths of a m/s; '' where it is missing."""
    if velocity_fpm is None:
        return ""
    return f"{velocity_fpm:.0f}" if unit == "ft/min" else f"{velocity_fpm * 0.00508:.2f}"
