"""What is said of one case: plain sentences, made only for the rows at fault.

Each function takes the prepared rows at fault of one check and gives one sentence for each.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from expectations.limits import CALIBRATION_MONTHS, FACE_CEILING_FPM, TALLEST_SASH_IN, fpm_per_unit

if TYPE_CHECKING:
    import pandas as pd

Sentences = Callable[["pd.DataFrame"], list[str]]


def number(value: Any, digits: int = 4) -> str:
    """A figure for a sentence: '18', '45.7', '0.5'; never '1e+03'."""
    if value is None or value != value:
        return "unknown"
    text = f"{float(f'{float(value):.{digits}g}'):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _day(value: Any) -> str:
    return f"{value:%Y-%m-%d}" if value == value and value is not None else "unknown"


def _there(value: Any) -> bool:
    return value is not None and value == value and str(value).strip() != ""


class Row:
    """One row of a frame, by attribute; a column is turned into plain values when it is first asked for."""

    __slots__ = ("_frame", "_lists", "_place")

    def __init__(self, frame: pd.DataFrame, lists: dict[str, list[Any]], place: int):
        self._frame, self._lists, self._place = frame, lists, place

    def __getattr__(self, column: str) -> Any:
        if column not in self._lists:
            if column not in self._frame.columns:
                raise AttributeError(column)
            self._lists[column] = self._frame[column].tolist()
        return self._lists[column][self._place]


def _rows(template: Callable[[Any], str]) -> Sentences:
    """One sentence a row from a function of the row (attribute access by column name)."""

    def sentences(rows: pd.DataFrame) -> list[str]:
        lists: dict[str, list[Any]] = {}
        return [template(Row(rows, lists, place)) for place in range(len(rows))]

    return sentences


def _unread(field: str, what: str) -> Sentences:
    """Where something is written that could not be taken: say so, rather than that nothing is there."""

    def sentence(row: Any) -> str:
        written = getattr(row, f"{field}_written")
        return f"'{written}' could not be read as {what}." if _there(written) else ""

    return _rows(sentence)


def _against(sheet: str, register: str, what: str) -> Sentences:
    def sentence(row: Any) -> str:
        ours, theirs = number(getattr(row, register)), number(getattr(row, sheet))
        return f"{what}: {theirs} in on the sheet, {ours} in by the register."

    return _rows(sentence)


def _place(name: str) -> Sentences:
    return _rows(
        lambda row: f"The sheet says {name} '{getattr(row, name)}', the register '{getattr(row, f'register_{name}')}'."
    )


def _nearest(row: Any) -> str:
    nearest = getattr(row, "hood_suggestion", None)
    return f"Nearest tag in the register: {nearest}." if _there(nearest) else ""


def _misfit(row: Any) -> str:
    unit = row.face_unit
    median = f"{number(row.face_median_fpm / fpm_per_unit()[unit])} {unit}"
    in_fpm = "" if unit == "ft/min" else f", that is {number(row.face_median_fpm)} ft/min"
    return f"The middle one of the face readings would be {median}{in_fpm}, which no hood has."


def _draft_misfit(row: Any) -> str:
    return (
        f"The cross-drafts come to {number(row.draft_low_fpm)} to {number(row.draft_high_fpm)} ft/min in the unit "
        "declared, which is no speed that is measured in front of a hood."
    )


def _coarse(row: Any) -> str:
    opening = row.cell_area_ft2 * row.face_cells
    return (
        f"{int(row.face_cells)} points over an opening of {number(opening, 3)} ft² make "
        f"{number(row.cell_area_ft2, 3)} ft² a point."
    )


def _smoke_words(row: Any) -> str:
    words = [str(w) for w in (row.smoke_local_written, row.smoke_gross_written) if _there(w)]
    return f"The sheet says '{words[0]}'." if words else ""


def _sash_unread(row: Any) -> str:
    if not _there(row.sash_height_written):
        return ""
    return f"'{row.sash_height_written}' could not be read as a height with its unit."


def _opening_height(row: Any) -> str:
    opening = max((v for v in (row.opening_height_in, row.register_opening_height_in) if v == v), default=float("nan"))
    return f"{number(row.sash_height_in)} in is more than the opening's full height of {number(opening)} in."


def _sash_off(row: Any) -> str:
    side = "lower" if row.sash_off_in < 0 else "higher"
    working = number(row.register_working_sash_in)
    return f"It stood at {number(row.sash_height_in)} in, {side} than the {working} in of the register."


def _recomputed(name: str, words: str) -> Sentences:
    def sentence(row: Any) -> str:
        unit = getattr(row, f"reported_{name}_unit")
        unit = unit if _there(unit) else row.face_unit
        ours = number(getattr(row, f"reported_{name}_recomputed"), 5)
        theirs = number(getattr(row, f"reported_{name}"), 6)
        return f"The {words} of the {int(row.face_filled)} readings is {ours} {unit}, not {theirs}."

    return _rows(sentence)


def _readings_missing(row: Any) -> str:
    return (
        "The sheet gives an average, but not the readings behind it." if row.reported_mean == row.reported_mean else ""
    )


DETAILS: dict[str, Sentences] = {
    "survey has its own id": _rows(lambda row: "Two surveys carry the same survey_id."),
    "survey has an id": _rows(lambda row: "A survey has no survey_id."),
    "hood is named": _unread("hood", "a tag"),
    "hood is in the register": _rows(_nearest),
    "building agrees": _place("building"),
    "floor agrees": _place("floor"),
    "room agrees": _place("room"),
    "opening width agrees": _against("opening_width_in", "register_opening_width_in", "The opening's width"),
    "opening height agrees": _against("opening_height_in", "register_opening_height_in", "The opening's height"),
    "date is given": _unread("surveyed_on", "a date"),
    "date is not in the future": _rows(lambda row: f"{_day(row.surveyed_on)} is in the future."),
    "date is not of another age": _rows(lambda row: f"{_day(row.surveyed_on)} is before any survey in the record."),
    "date is after installation": _rows(
        lambda row: f"{_day(row.surveyed_on)} is before the hood was installed, {_day(row.register_installed_on)}."
    ),
    "date is not before the campaign": _rows(lambda row: f"{_day(row.surveyed_on)} is before the campaign."),
    "date is not after the campaign": _rows(lambda row: f"{_day(row.surveyed_on)} is after the campaign."),
    "there are face readings": _rows(_readings_missing),
    "face readings have a unit": _rows(lambda row: f"{int(row.face_without_unit)} face readings have none."),
    "cross-drafts have a unit": _rows(lambda row: f"{int(row.draft_without_unit)} cross-draft readings have none."),
    "one unit governs the grid": _rows(lambda row: f"{int(row.face_units)} different units govern one grid."),
    "face readings fit their unit": _rows(_misfit),
    "cross-drafts fit their unit": _rows(_draft_misfit),
    "units are known": _rows(lambda row: f"{int(row.unconverted)} readings could not be converted to ft/min."),
    "grid is fine enough": _rows(_coarse),
    "sash height is given": _rows(_sash_unread),
    "sash is open": _rows(lambda row: "With a sash that is not open nothing can be measured at the face."),
    "sash is not too tall": _rows(
        lambda row: f"{number(row.sash_height_in)} in is more than any sash opens ({number(TALLEST_SASH_IN)} in)."
    ),
    "sash fits the opening": _rows(_opening_height),
    "sash is at its working height": _rows(_sash_off),
    "smoke is observed": _rows(_smoke_words),
    "small smoke is plain": _rows(lambda row: "Small source."),
    "large smoke is plain": _rows(lambda row: "Large volume."),
    "calibration is dated": _rows(lambda row: "The sheet names no calibration date and no due date."),
    "calibration without due date is recent": _rows(
        lambda row: (
            f"It was calibrated on {_day(row.calibrated_on)}, more than {CALIBRATION_MONTHS} months before, and no due "
            "date is given."
        )
    ),
    "calibration is not past due": _rows(
        lambda row: f"It was due on {_day(row.calibration_due)}; the hood was measured on {_day(row.surveyed_on)}."
    ),
    "calibration was before the survey": _rows(
        lambda row: f"It was calibrated on {_day(row.calibrated_on)}, after the survey of {_day(row.surveyed_on)}."
    ),
    "instrument suits the face": _rows(lambda row: "A Pitot tube does not resolve the low velocities at a face."),
    "instrument suits cross-drafts": _rows(lambda row: "A vane does not turn reliably in air as slow as the limit."),
    "own mean follows": _recomputed("mean", "mean"),
    "own minimum follows": _recomputed("min", "lowest"),
    "own maximum follows": _recomputed("max", "highest"),
    "reading belongs to a survey": _rows(lambda row: "A reading belongs to no survey of this batch."),
    "reading has a known outcome": _rows(lambda row: "It is not known how this reading was read."),
    "reading has an outcome": _rows(lambda row: "It is not known how this reading was read."),
    "number is there": _rows(lambda row: "A reading is said to be a number, and the number is not there."),
    "cross-draft point is filled": _rows(lambda row: "Other points were measured; this one was left empty."),
    "reading is not negative": _rows(lambda row: "A speed is never negative."),
    "face reading is below the ceiling": _rows(
        lambda row: f"{number(row.velocity_fpm)} ft/min is more than a face has ({number(FACE_CEILING_FPM)} ft/min)."
    ),
    "reading is in its grid's unit": _rows(
        lambda row: f"It would be {number(row.velocity_fpm)} ft/min among readings of the usual size."
    ),
    "no standstill among flow": _rows(lambda row: "It is zero, while air flows at other points of the same grid."),
    "digest is a digest": _rows(lambda row: "The digest of the file is malformed."),
    "workbook has sheets": _rows(lambda row: "It was opened, but no sheet was found in it."),
}  # fmt: skip

# Where a case stands, for checks that are about readings or about another field: a column with the cell, or the kind of
# readings whose range is meant, of all of them or only of those without a unit.
PLACES: dict[str, str | tuple[str, bool]] = {
    "face readings have a unit": ("face", True),
    "cross-drafts have a unit": ("cross-draft", True),
    "one unit governs the grid": ("face", False),
    "units are known": ("face", False),
    "face readings fit their unit": ("face", False),
    "cross-drafts fit their unit": ("cross-draft", False),
    "there are face readings": "reported_mean_cell",
    "grid is fine enough": ("face", False),
}
# What was written there, likewise.
WORDS = {
    "one unit governs the grid": "unit_written",
    "face readings fit their unit": "unit_written",
    "cross-drafts fit their unit": "unit_written",
    "there are face readings": "reported_mean_written",
    "face readings have a unit": "",
    "cross-drafts have a unit": "",
    "opening is known": "",
    "grid is fine enough": "",
    "smoke is observed": "",
}
