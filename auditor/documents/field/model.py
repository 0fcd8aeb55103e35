"""What a field workbook is made of. Velocities in ft/min, lengths in inches; missing is None."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

UNITS = ("ft/min", "m/s")
PAPERS = {"A4": 9, "Letter": 1}  # a spreadsheet's own numbers for them (ECMA-376 part 1, 18.3.1.63)


@dataclass(frozen=True)
class Limits:
    """The limits of a hood's profile at which a technician should look again; None where the profile has none."""

    point_low_fpm: float | None = None
    spread_percent: float | None = None
    mean_low_fpm: float | None = None
    mean_high_fpm: float | None = None
    draft_fpm: float | None = None
    draft_percent: float | None = None
    max_cell_ft2: float = 1.0


@dataclass(frozen=True)
class Previous:
    """The figures of the hood's last survey that counts."""

    surveyed_on: dt.date
    mean_fpm: float | None = None
    lowest_fpm: float | None = None
    draft_fpm: float | None = None
    verdict: str = ""


@dataclass(frozen=True)
class HoodToSurvey:
    """One hood due: what the register says of it, why it is due, its limits and its last survey."""

    hood_id: str
    building: str = ""
    floor: str = ""
    room: str = ""
    hood_type: str = ""
    opening_width_in: float | None = None
    opening_height_in: float | None = None
    working_sash_in: float | None = None
    sash_type: str = "vertical"
    occasion: str = "annual"
    why: str = ""
    limits: Limits = field(default_factory=Limits)
    previous: Previous | None = None

    @property
    def has_sash(self) -> bool:
        """Whether the height of the sash says how far the hood is open."""
        return self.sash_type not in ("none", "horizontal")


@dataclass(frozen=True)
class Book:
    """One workbook: its hoods in the order of the round. `unit` is the one it is issued in; whoever surveys may choose
    the other on the cover. `instruments`: the tags of the campus's and the contractor's instruments."""

    title: str
    hoods: Sequence[HoodToSurvey]
    issued_on: dt.date
    unit: str = "ft/min"
    paper: str = "A4"
    contractor: str = ""
    instruments: Sequence[str] = ()
