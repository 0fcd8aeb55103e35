"""The suites: what is expected of each frame, as a list of Checks, and the same as great-expectations suites.

A check is one simple expectation on one column that `expectations.prepare` has laid ready: either a column that must
not be missing (a value that is not due has a stand-in there), or a quantity with its bounds (missing only where there
is nothing to compare, which is then a matter for a completeness check).
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from expectations.limits import CELL_AREA_FT2, FACE_CEILING_FPM, LENGTH_SLACK_IN, SLACK, TALLEST_SASH_IN

if TYPE_CHECKING:
    from great_expectations import ExpectationSuite

RAN = "check-not-run"  # the code for what only a fault of the program can bring about


@dataclass(frozen=True, slots=True)
class Check:
    """`kind` is 'present', 'true', 'between', 'in set', 'matches' or 'unique'; `field` is the fact it is about
    (columns `f_cell` and `f_written` say where it stood and how)."""

    name: str
    code: str
    field: str
    kind: str
    column: str
    bounds: dict[str, Any] = dataclasses.field(default_factory=dict, hash=False)


def _between(low: float | None, high: float | None) -> dict[str, Any]:
    """Bounds, inclusive, let out by a hair for floating point."""
    hair = SLACK * max(abs(low or 0.0), abs(high or 0.0))
    return {"min_value": None if low is None else low - hair, "max_value": None if high is None else high + hair}


_OFF = _between(-LENGTH_SLACK_IN, LENGTH_SLACK_IN)
_DATE = "date-implausible"
_NOT_AFTER = {"max_value": 0.0}
_NOT_BEFORE = {"min_value": 0.0}

SURVEY_CHECKS = [
    Check("survey has its own id", RAN, "", "unique", "survey_id"),
    Check("survey has an id", RAN, "", "present", "survey_id"),
    Check("hood is named", "hood-missing", "hood", "present", "hood_named"),
    Check("hood is in the register", "hood-unknown", "hood", "present", "hood_registered"),
    Check("building agrees", "place-differs", "building", "true", "building_agrees"),
    Check("floor agrees", "place-differs", "floor", "true", "floor_agrees"),
    Check("room agrees", "place-differs", "room", "true", "room_agrees"),
    Check("opening width agrees", "opening-differs", "opening_width", "between", "opening_width_off_in", _OFF),
    Check("opening height agrees", "opening-differs", "opening_height", "between", "opening_height_off_in", _OFF),
    Check("opening is known", "opening-missing", "opening_width", "present", "opening_known"),
    Check("date is given", "date-missing", "surveyed_on", "present", "date_given"),
    Check("date is not in the future", _DATE, "surveyed_on", "between", "days_after_today", _NOT_AFTER),
    Check("date is not of another age", _DATE, "surveyed_on", "between", "days_after_earliest", _NOT_BEFORE),
    Check("date is after installation", _DATE, "surveyed_on", "between", "days_after_installation", _NOT_BEFORE),
    Check("date is not before the campaign", _DATE, "surveyed_on", "between", "days_into_campaign", _NOT_BEFORE),
    Check("date is not after the campaign", _DATE, "surveyed_on", "between", "days_after_campaign", _NOT_AFTER),
    Check("there are face readings", "readings-missing", "readings", "between", "face_filled", {"min_value": 1}),
    Check("face readings have a unit", "unit-missing", "unit", "between", "face_without_unit", {"max_value": 0}),
    Check("cross-drafts have a unit", "unit-missing", "cross_draft", "between", "draft_without_unit", {"max_value": 0}),
    Check("units are known", "unit-unknown", "unit", "between", "unconverted", {"max_value": 0}),
    Check("one unit governs the grid", "unit-mismatch", "unit", "between", "face_units", {"max_value": 1}),
    Check("face readings fit their unit", "unit-mismatch", "unit", "true", "face_fits_unit"),
    Check("cross-drafts fit their unit", "unit-mismatch", "cross_draft", "true", "draft_fits_unit"),
    Check("grid is fine enough", "grid-too-coarse", "opening_width", "between", "cell_area_ft2",
          _between(None, CELL_AREA_FT2)),
    Check("sash height is given", "sash-missing", "sash_height", "present", "sash_given"),
    Check("sash is open", "sash-implausible", "sash_height", "between", "sash_height_in",
          {"min_value": 0.0, "strict_min": True}),
    Check("sash is not too tall", "sash-implausible", "sash_height", "between", "sash_height_in",
          _between(None, TALLEST_SASH_IN)),
    Check("sash fits the opening", "sash-implausible", "sash_height", "between", "sash_above_opening_in",
          _between(None, LENGTH_SLACK_IN)),
    Check("sash is at its working height", "sash-differs", "sash_height", "between", "sash_off_in", _OFF),
    Check("cross-drafts are measured", "cross-draft-missing", "cross_draft", "between", "draft_filled",
          {"min_value": 1}),
    Check("smoke is observed", "smoke-missing", "smoke_local", "present", "smoke_observed"),
    Check("small smoke is plain", "smoke-unclear", "smoke_local", "true", "smoke_local_plain"),
    Check("large smoke is plain", "smoke-unclear", "smoke_gross", "true", "smoke_gross_plain"),
    Check("instrument is named", "instrument-missing", "instrument_id", "present", "instrument_named"),
    Check("instrument suits the face", "instrument-unsuited", "instrument_kind", "true", "suits_face"),
    Check("instrument suits cross-drafts", "instrument-unsuited", "instrument_kind", "true", "suits_drafts"),
    Check("calibration is dated", "calibration-missing", "calibration_due", "present", "calibration_dated"),
    Check("calibration without due date is recent", "calibration-missing", "calibrated_on", "between",
          "days_past_customary", _NOT_AFTER),
    Check("calibration is not past due", "calibration-expired", "calibration_due", "between",
          "days_past_due", _NOT_AFTER),
    Check("calibration was before the survey", "calibration-expired", "calibrated_on", "between",
          "days_before_calibration", _NOT_AFTER),
    Check("own mean follows", "reported-mean-differs", "reported_mean", "between", "reported_mean_excess", _NOT_AFTER),
    Check("own minimum follows", "reported-mean-differs", "reported_min", "between", "reported_min_excess", _NOT_AFTER),
    Check("own maximum follows", "reported-mean-differs", "reported_max", "between", "reported_max_excess", _NOT_AFTER),
]  # fmt: skip

READING_CHECKS = [
    Check("reading belongs to a survey", RAN, "", "true", "survey_known"),
    Check("reading has a known outcome", RAN, "", "in set", "outcome",
          {"value_set": ["number", "coerced", "censored", "not-numeric", "blank"]}),
    Check("reading has an outcome", RAN, "", "present", "outcome"),
    Check("number is there", RAN, "", "present", "number_there"),
    Check("grid point is filled", "grid-incomplete", "reading", "true", "point_filled"),
    Check("cross-draft point is filled", "cross-draft-missing", "reading", "true", "draft_point_filled"),
    Check("reading is a number", "reading-not-numeric", "reading", "true", "is_numeric"),
    Check("number was a number", "reading-coerced", "reading", "true", "not_coerced"),
    Check("reading is more than a bound", "reading-censored", "reading", "true", "not_censored"),
    Check("reading is not negative", "reading-implausible", "reading", "between", "speed", {"min_value": 0.0}),
    Check("face reading is below the ceiling", "reading-implausible", "reading", "between", "face_speed_fpm",
          _between(None, FACE_CEILING_FPM)),
    Check("reading is in its grid's unit", "unit-mismatch", "unit", "true", "in_the_grids_unit"),
    Check("no standstill among flow", "reading-implausible", "reading", "true", "flows_like_the_rest"),
]  # fmt: skip

WORKBOOK_CHECKS = [
    Check("workbook has its digest", RAN, "", "present", "sha256"),
    Check("digest is a digest", RAN, "", "matches", "sha256", {"regex": "^[0-9a-f]{64}$"}),
    Check("workbook has a status", RAN, "", "present", "status"),
    Check("status is known", RAN, "", "in set", "status", {"value_set": ["read", "unreadable", "repeat"]}),
    Check("workbook has sheets", "file-unreadable", "", "true", "has_sheets"),
]  # fmt: skip

SUITES = {"surveys": SURVEY_CHECKS, "readings": READING_CHECKS, "workbooks": WORKBOOK_CHECKS}


def build(suite: str, severities: dict[str, str]) -> ExpectationSuite:
    """The great-expectations suite of one frame; every expectation carries check, code, severity and field."""
    from great_expectations import ExpectationSuite
    from great_expectations import expectations as gxe

    kinds: dict[str, Any] = {
        "present": gxe.ExpectColumnValuesToNotBeNull,
        "between": gxe.ExpectColumnValuesToBeBetween,
        "in set": gxe.ExpectColumnValuesToBeInSet,
        "matches": gxe.ExpectColumnValuesToMatchRegex,
        "unique": gxe.ExpectColumnValuesToBeUnique,
        "true": gxe.ExpectColumnValuesToBeInSet,
    }
    built = ExpectationSuite(suite)
    for check in SUITES[suite]:
        bounds = {"value_set": [True]} if check.kind == "true" else check.bounds
        meta = {"check": check.name, "code": check.code, "severity": severities[check.code], "field": check.field}
        built.add_expectation(kinds[check.kind](column=check.column, meta=meta, **bounds))
    return built
