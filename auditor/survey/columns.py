"""The two frames that every computation works on, column by column, with units.

Both are plain pandas frames with a unique index of their own; missing is None, NaN or NaT (test with `.isna()`), a
column that does not apply to any row is still there. Dates are datetime64 without a time. All functions of
`auditor.survey`, `auditor.criteria` and `auditor.history` take and give frames of these columns, and read no file.
"""

from __future__ import annotations

# --- surveys: one row per survey -------------------------------------------------------------------------------------
IDENTITY = ["survey_id", "workbook", "workbook_sha256", "sheet", "place"]

# As written and as understood: for each field its typed value, the text as it stood, and the cell it stood in
# (columns `f`, `f_written`, `f_cell`), and for quantities `f_unit` (canonical unit as written).
TEXT_FIELDS = [
    "hood", "building", "floor", "room", "hood_type", "occasion", "contractor", "surveyor", "instrument_id",
    "instrument_kind", "unit", "smoke_local", "smoke_gross", "smoke_local_question", "smoke_gross_question",
    "tracer", "sash_movement", "vav_response", "operating_mode", "observations", "reported_verdict", "velocity_basis",
]  # fmt: skip
DATE_FIELDS = ["surveyed_on", "calibrated_on", "calibration_due"]
LENGTH_FIELDS = ["sash_height", "opening_width", "opening_height"]
VELOCITY_FIELDS = ["monitor", "reported_mean", "reported_min", "reported_max"]
OTHER_QUANTITIES = ["air_temperature", "air_pressure"]
QUANTITY_FIELDS = LENGTH_FIELDS + VELOCITY_FIELDS + OTHER_QUANTITIES
WRITTEN_FIELDS = TEXT_FIELDS + DATE_FIELDS + QUANTITY_FIELDS

SHAPE = ["grid_rows", "grid_columns"]  # of the grid as placed; missing where the sheet does not say

# Added by auditor.survey.normalise: exact conversions (1 ft/min = 0.00508 m/s, 1 in = 25.4 mm).
NORMALISED = [
    "sash_height_in", "opening_width_in", "opening_height_in", "monitor_fpm", "reported_mean_fpm",
    "reported_min_fpm", "reported_max_fpm", "tracer_ppm",
]  # fmt: skip

# Added by auditor.survey.identity: hood_id in the register's spelling (missing where none matches), and then the
# register's own columns of that hood as they stood on the day of the survey, each with the prefix `register_`:
# register_building, register_floor, register_room, register_department, register_hood_type,
# register_opening_width_in, register_opening_height_in, register_working_sash_in,
# register_design_face_velocity_fpm, register_design_airflow_cfm, register_air_handler, register_installed_on,
# register_profile, register_interval_months, register_in_service, register_sash_type.
REGISTER = [
    "hood_id", "building", "floor", "room", "department", "hood_type", "opening_width_in", "opening_height_in",
    "working_sash_in", "design_face_velocity_fpm", "design_airflow_cfm", "air_handler", "installed_on", "profile",
    "interval_months", "in_service", "sash_type", "x_ft", "y_ft",
]  # fmt: skip

# Added by auditor.survey.compute from the readings.
COMPUTED = [
    "face_points",  # cells with a number
    "face_mean_fpm", "face_min_fpm", "face_max_fpm",
    "face_sd_fpm",  # sample standard deviation (n - 1)
    "face_cv",  # sd / mean, a fraction
    "face_uneven_points",  # cells more than 25 % from the mean
    "opening_area_ft2",  # opening width x sash height
    "airflow_cfm",  # opening area x mean
    "cross_draft_max_fpm",
    "cross_draft_ratio",  # to the mean face velocity, a fraction
    "cross_draft_resultant_fpm",
]  # fmt: skip

# --- readings: one row per reading -----------------------------------------------------------------------------------
READINGS = [
    "survey_id", "workbook", "workbook_sha256", "sheet", "cell",
    "kind",  # 'face' or 'cross-draft'
    "row", "column",  # 1 is top, left, seen from the room; missing where the sheet does not say
    "position", "direction", "pass_number", "written",
    "value",  # float in `unit`, missing unless outcome is 'number' or 'coerced'
    "outcome",  # 'number', 'coerced', 'censored', 'not-numeric', 'blank'
    "bound",  # of a censored reading, in `unit`
    "unit",  # canonical: 'ft/min', 'm/s', 'cm/s', 'mm/s', 'km/h', 'mph'; missing where none governs
    "hidden",
]  # fmt: skip
READINGS_NORMALISED = ["velocity_fpm", "bound_fpm"]

# --- workbooks, discrepancies ----------------------------------------------------------------------------------------
WORKBOOKS = ["workbook", "sha256", "path", "received_at", "status", "reason", "sheets", "surveys", "held"]
DISCREPANCIES = [
    "survey_id", "workbook", "workbook_sha256", "sheet", "cell", "field", "code", "severity", "written", "message",
    "remedy",
]  # fmt: skip
FINDINGS = [
    "survey_id", "hood_id", "criterion", "cell", "outcome", "measured", "limit", "unit", "margin",
    "expanded_uncertainty", "guarded_outcome", "source", "causes", "action",
]  # fmt: skip
VERDICTS = ["survey_id", "hood_id", "profile", "profile_version", "verdict", "guarded_verdict", "reason"]
