"""The live checks of a field sheet, as spreadsheet formulas: what intake would hold, or the hood's profile would fail,
is said beside the cell while the technician still stands there.

Velocities are compared in the unit chosen on the cover: `velocity_factor` (a defined name) is what one ft/min is in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from auditor.documents.field.model import Limits
from auditor.documents.field.texts import check, quoted, texts

FACTOR = "velocity_factor"
CEILING_FPM = 500.0  # intake holds a reading at the face above this
STRAY_FPM = 3.0  # and takes one below this for one in another unit
MONITOR_SHARE = 0.10  # a monitor further from the mean is worth a second look; this program's own choice


@dataclass(frozen=True)
class Grid:
    """Where the readings stand: absolute addresses of each row's cells, and of them all."""

    rows: Sequence[Sequence[str]]

    @property
    def whole(self) -> str:
        return f"{self.rows[0][0]}:{self.rows[-1][-1]}"

    @property
    def count(self) -> int:
        return sum(len(row) for row in self.rows)


def _fpm(value: float) -> str:
    return f"{value:g}*{FACTOR}"


def doubts(cell: str, grid: Grid, limits: Limits) -> list[tuple[str, str]]:
    """(condition, word) of everything that makes a reading doubtful, the gravest first; none holds for a blank cell."""
    found = [
        (f"NOT(ISNUMBER({cell}))", check("no_number")),
        (f"{cell}<=0", check("zero")),
        (f"{cell}>{_fpm(CEILING_FPM)}", check("fast")),
        (f"{cell}<{_fpm(STRAY_FPM)}", check("other_unit")),
    ]
    if limits.point_low_fpm is not None:
        found.append((f"{cell}<{_fpm(limits.point_low_fpm)}", check("low")))
    if limits.spread_percent is not None:
        share = f"{limits.spread_percent / 100:g}"
        found.append((f"ABS({cell}-AVERAGE({grid.whole}))>{share}*AVERAGE({grid.whole})", check("uneven")))
    return found


def doubtful(cell: str, grid: Grid, limits: Limits) -> str:
    """A condition that is true where a reading is doubtful, for colouring it."""
    nested = "FALSE"
    for condition, _ in reversed(doubts(cell, grid, limits)):
        nested = f"IF({condition},TRUE,{nested})"
    return f'=IF({cell}="",FALSE,{nested})'


def row_check(cells: Sequence[str], grid: Grid, limits: Limits) -> str:
    """'Measure again: column 3 low, column 5 uneven', or nothing."""
    parts = []
    for number, cell in enumerate(cells, start=1):
        said = '""'
        for condition, word in reversed(doubts(cell, grid, limits)):
            said = f"IF({condition},{quoted(f'{number} {word}, ')},{said})"
        parts.append(f'IF({cell}="","",{said})')
    joined = "&".join(parts)
    again = quoted(check("again") + check("column"))
    return f'=IF({joined}="","",{again}&LEFT({joined},LEN({joined})-2))'


def draft_check(cells: Sequence[str], grid: Grid, limits: Limits) -> str:
    """The same for one direction of the cross-drafts, against the limit and against the share of the mean so far."""
    places = texts()["drafts"]["places"]
    parts = []
    for cell, place in zip(cells, places, strict=True):
        conditions = [
            (f"NOT(ISNUMBER({cell}))", check("no_number")),
            (f"ABS({cell})>{_fpm(CEILING_FPM)}", check("fast")),
        ]
        if limits.draft_fpm is not None:
            conditions.append((f"ABS({cell})>{_fpm(limits.draft_fpm)}", check("high")))
        if limits.draft_percent is not None:
            share = f"{limits.draft_percent / 100:g}"
            mean = f"IF(COUNT({grid.whole})=0,9^9,AVERAGE({grid.whole}))"
            conditions.append((f"ABS({cell})>{share}*{mean}", check("high")))
        said = '""'
        for condition, word in reversed(conditions):
            said = f"IF({condition},{quoted(f'{place} {word}, '.lower())},{said})"
        parts.append(f'IF({cell}="","",{said})')
    joined = "&".join(parts)
    return f'=IF({joined}="","",{quoted(check("again"))}&LEFT({joined},LEN({joined})-2))'


def so_far(grid: Grid) -> str:
    """'So far 7 of 8 points: average 97, lowest 88, highest 110' in the unit chosen."""
    form = f'IF({FACTOR}=1,"0","0.00")'
    figures = "&".join(
        f"{quoted(f'{lead}{check(word)} ')}&TEXT({function}({grid.whole}),{form})"
        for lead, word, function in (
            (": ", "mean", "AVERAGE"),
            (", ", "lowest", "MIN"),
            (", ", "highest", "MAX"),
        )
    )
    start, end = check("so_far").split("{count}")
    tail = quoted(end.replace("{all}", str(grid.count)))
    return f'=IF(COUNT({grid.whole})=0,"",{quoted(start)}&COUNT({grid.whole})&{tail}&{figures})'


def mean_check(grid: Grid, limits: Limits) -> str:
    """Whether the whole grid's average is outside the profile's limits, once every point is there."""
    said = '""'
    if limits.mean_high_fpm is not None:
        said = f"IF(AVERAGE({grid.whole})>{_fpm(limits.mean_high_fpm)},{quoted(check('mean_high'))},{said})"
    if limits.mean_low_fpm is not None:
        said = f"IF(AVERAGE({grid.whole})<{_fpm(limits.mean_low_fpm)},{quoted(check('mean_low'))},{said})"
    return f'=IF(COUNT({grid.whole})<{grid.count},"",{said})'


def begun(grid: Grid, blank: str, word: str, other: str = '""') -> str:
    """`word` where readings have begun and a cell that intake needs is still blank; else `other`."""
    return f'=IF({blank}="",IF(COUNTA({grid.whole})=0,"",{quoted(word)}),{other})'


def status(grid: Grid, needed: Sequence[str], marks: Sequence[str]) -> str:
    """'complete', 'look at the marks', 'not complete', or nothing for a sheet that is still blank."""
    words = texts()["status"]
    blank = ",".join(f'{cell}=""' for cell in needed)
    marked = "&".join(marks)
    return (
        f'=IF(COUNTA({grid.whole})=0,"",IF(OR(COUNTA({grid.whole})<{grid.count},{blank}),{quoted(words["open"])},'
        f'IF({marked}<>"",{quoted(words["again"])},{quoted(words["done"])})))'
    )
