"""What is true of a generated survey, and how it is told: the record that the reader is judged by."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from tests.layouts.canvas import Written

# ft/min in one of each unit; exact: 1 ft/min = 0.00508 m/s, 1 ft = 0.3048 m (international foot), 1 mile = 5280 ft.
FPM_PER = {
    "ft/min": 1.0,
    "m/s": 1 / 0.00508,
    "cm/s": 0.01 / 0.00508,
    "mm/s": 0.001 / 0.00508,
    "km/h": (1 / 3.6) / 0.00508,
    "mph": 88.0,
}
INCH_PER = {"in": 1.0, "ft": 12.0, "mm": 1 / 25.4, "cm": 1 / 2.54, "m": 1000 / 25.4}


def round_half_up(value: float, decimals: int) -> float | int:
    """As a spreadsheet rounds for show: halves away from zero."""
    rounded = Decimal(repr(value)).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)
    return int(rounded) if decimals == 0 else float(rounded)


@dataclass
class Reading:
    """`value` in the survey's unit, None where nothing certain can be read; `written` is what the cell gets."""

    value: float | None
    written: Written | None
    unit: str | None = None  # where the cell carries a unit of its own
    planted: bool = False  # a fault: stays as it is when the grid is drawn again


@dataclass
class Survey:
    """One survey to be laid out. `passes` holds grids keyed by the hood's own (row, column)."""

    hood_id: str
    hood_written: str | int
    building: str
    floor: str
    room: str
    date: dt.date
    date_written: Written
    sash_in: float
    sash_value: float  # in sash_unit
    sash_unit: str
    unit: str
    rows: int
    columns: int
    passes: list[dict[tuple[int, int], Reading]]
    cross: list[Reading] = field(default_factory=list)
    cross_unit: str = ""
    opening_width_in: float = 60
    opening_height_in: float = 28
    instrument: str = "TA-2"
    calibrated_on: dt.date | None = None
    calibration_due: dt.date | None = None
    reported_mean: Written | None = None
    verdict: str = ""  # the sheet's own, where a fault plants it
    room_written: str = ""
    smoke: str = ""
    calm: bool = False  # cross-drafts are measured and small
    omit: set[str] = field(default_factory=set)
    status: str = "accepted"
    codes: list[str] = field(default_factory=list)
    text_in_unit: bool = False  # every reading written with its unit

    @property
    def mean(self) -> float | None:
        """Mean in the survey's unit; None where a reading is not a number."""
        values = [r.value for one in self.passes for r in one.values()]
        if not values or any(v is None for v in values):
            return None
        return sum(v for v in values if v is not None) / len(values)

    def fault(self, code: str, status: str = "held") -> None:
        self.codes.append(code)
        if status == "held":
            self.status = "held"


@dataclass
class Laid:
    """Where a builder put a survey: sheet, face cells as (row, column, cell, reading), cross-draft cells."""

    survey: Survey
    sheet: str
    face: list[tuple[int | None, int | None, str, Reading]] = field(default_factory=list)
    cross: list[tuple[str, Reading]] = field(default_factory=list)
    placed: bool = True  # the sheet says where the points lie
    place_free: bool = False  # two careful analysts may differ on where they lie: places are not compared
    cross_free: bool = False  # which of the cross-draft figures is 'the reading' is open: not compared

    def record(self) -> dict:
        """The truth as one dictionary (the fields of a pack's truth.json, and `cells`,
        `place_free`, `cross_free`)."""
        s = self.survey
        held = s.status == "held"
        face = [
            [r if self.placed else None, c if self.placed else None, cell, _fpm(reading, s.unit)]
            for r, c, cell, reading in self.face
        ]
        mean = s.mean
        return {
            "sheet": self.sheet,
            "hood_id": s.hood_id,
            "surveyed_on": s.date.isoformat(),
            "unit": s.unit,
            "sash_height_in": s.sash_in,
            "status": s.status,
            "codes": sorted(set(s.codes)),
            "face": [] if held else face,
            "shape": [s.rows, s.columns] if self.placed and not held else None,
            "cross": [] if held else [[cell, _fpm(r, s.cross_unit or s.unit)] for cell, r in self.cross],
            "mean_fpm": None if held or mean is None else mean * FPM_PER[s.unit],
            "cells": [cell for _, _, cell, _ in self.face],
            "facts": self.facts(),
            "place_free": self.place_free,
            "cross_free": self.cross_free,
        }

    def facts(self) -> dict[str, str | float]:
        """Further facts, as they would be if the sheet tells them at all: a reader may leave them out, not get them
        wrong. Dates are ISO text; the mean is in the survey's unit."""
        s = self.survey
        facts: dict[str, str | float] = {"building": s.building, "floor": s.floor, "room": s.room_written or s.room}
        facts["instrument_id"] = s.instrument
        if s.calibration_due and s.calibrated_on:
            facts["calibration_due"] = s.calibration_due.isoformat()
            facts["calibrated_on"] = s.calibrated_on.isoformat()
        if s.mean is not None and s.reported_mean is None:
            facts["reported_mean"] = s.mean
        return facts


def _fpm(reading: Reading, unit: str) -> float | None:
    return None if reading.value is None else reading.value * FPM_PER[reading.unit or unit]


@dataclass
class Case:
    """One generated file: its bytes, name, truth, the register rows it presumes and what it exercises."""

    name: str
    data: bytes
    truth: list[dict]
    register: list[dict]
    features: tuple[str, ...] = ()
