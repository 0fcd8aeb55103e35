"""A survey as it was written: every value with the cell it came from, nothing judged."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

FieldValue = str | float | dt.date | None


@dataclass(slots=True)
class Field:
    """One fact about a survey. `value` is typed: a date, a number for quantities (in `unit`), else text.
    It is None where the text could not be read with certainty; a Problem then says why."""

    cell: str
    written: str
    value: FieldValue
    unit: str | None = None  # canonical: 'in', 'mm', 'ft/min', 'm/s', 'ppm' ...
    hidden: bool = False


# Names a Field may have in SurveyAsWritten.fields, and the type of its value.
FIELDS: dict[str, type] = {
    "hood": str,
    "building": str,
    "floor": str,
    "room": str,
    "hood_type": str,
    "surveyed_on": dt.date,
    "occasion": str,  # 'annual', 'initial', 'after change', 'retest'
    "contractor": str,
    "surveyor": str,
    "instrument_id": str,
    "instrument_kind": str,  # 'thermal', 'vane', 'pitot' ... as the vocabulary has it
    "calibrated_on": dt.date,
    "calibration_due": dt.date,
    "unit": str,  # canonical unit of the face readings
    "sash_height": float,  # length
    "opening_width": float,  # length
    "opening_height": float,  # length
    "smoke_local": str,
    "smoke_gross": str,
    "smoke_local_question": str,  # the label over a short answer: it says what 'yes' or 'OK' means
    "smoke_gross_question": str,
    "monitor": float,  # velocity
    "tracer": str,
    "sash_movement": str,  # effect of moving the sash, as written ('0.02 ppm')
    "vav_response": str,  # seconds until the flow follows the sash, as written ('3.5 s')
    "operating_mode": str,
    "observations": str,
    "reported_mean": float,  # velocity
    "reported_min": float,
    "reported_max": float,
    "reported_verdict": str,
    "air_temperature": float,
    "air_pressure": float,
    "velocity_basis": str,  # 'standard' or 'actual', only where the sheet says so
}


@dataclass(slots=True)
class Reading:
    """One velocity as written. `outcome`: 'number', 'coerced' (a number taken out of text without doubt), 'censored'
    ('<20': `value` is None and `bound` 20), 'not-numeric', 'blank' (a cell inside the grid with nothing in it)."""

    cell: str
    kind: str  # 'face' or 'cross-draft'
    written: str
    value: float | None
    outcome: str
    unit: str | None  # canonical, None where none governs it
    row: int | None = None  # 1 is the top, seen from the room
    column: int | None = None  # 1 is the left, seen from the room
    position: str | None = None
    direction: str | None = None
    pass_number: int = 1
    bound: float | None = None
    hidden: bool = False


@dataclass(slots=True)
class Problem:
    """Something the sheet itself shows to be wrong or doubtful. `detail` is a plain sentence about this case."""

    code: str  # contract section 4
    cell: str = ""  # a cell or a range; empty where a whole sheet is meant
    field: str = ""
    written: str = ""
    detail: str = ""


@dataclass(slots=True)
class SurveyAsWritten:
    """One hood tested on one occasion at one sash setting. `place` (the range it was read from) is unique in the
    sheet and does not change when the same bytes are read again: survey_id is made of it."""

    sheet: str
    place: str
    fields: dict[str, Field] = field(default_factory=dict)
    readings: list[Reading] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    grid_rows: int | None = None
    grid_columns: int | None = None


@dataclass(slots=True)
class SheetAccount:
    """What became of one sheet: 'read', 'set aside' (not a survey, `reason` says what it is) or 'held'."""

    sheet: str
    outcome: str
    reason: str = ""
    surveys: list[SurveyAsWritten] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)  # those of the sheet as a whole
    card: str = ""  # the layout card that it was read by, if any
