"""The columns of the store's public tables, in order, with what each holds.

Kinds: 'text', 'int', 'float', 'bool', and 'date' (kept as ISO text 'YYYY-MM-DD', given out as datetime64).
"""

from __future__ import annotations

REGISTER = {
    "hood_id": "text", "building": "text", "floor": "text", "room": "text", "department": "text",
    "hood_type": "text", "opening_width_in": "float", "opening_height_in": "float", "working_sash_in": "float",
    "design_face_velocity_fpm": "float", "design_airflow_cfm": "float", "air_handler": "text",
    "installed_on": "date", "profile": "text", "interval_months": "int", "in_service": "bool",
    "sash_type": "text", "x_ft": "float", "y_ft": "float",
}  # fmt: skip

WORKBOOKS = {
    "workbook": "text", "sha256": "text", "path": "text", "received_at": "text", "status": "text",
    "reason": "text", "sheets": "int", "surveys": "int", "held": "int",
}  # fmt: skip

# Of a survey, from its judgement: these are real columns of the table behind the view.
JUDGED = {
    "hood_id": "text", "building": "text", "floor": "text", "room": "text", "surveyed_on": "date",
    "occasion": "text", "contractor": "text", "surveyor": "text", "instrument_id": "text",
    "calibrated_on": "date", "calibration_due": "date", "unit": "text", "sash_height_in": "float",
    "opening_width_in": "float", "opening_height_in": "float", "grid_rows": "int", "grid_columns": "int",
    "face_points": "int", "face_mean_fpm": "float", "face_min_fpm": "float", "face_max_fpm": "float",
    "face_sd_fpm": "float", "airflow_cfm": "float", "cross_draft_max_fpm": "float", "cross_draft_ratio": "float",
    "smoke_local": "text", "smoke_gross": "text", "monitor_fpm": "float", "tracer_ppm": "float",
    "operating_mode": "text", "observations": "text", "reported_mean_fpm": "float", "reported_verdict": "text",
    "status": "text",
}  # fmt: skip

# Kept beside them for screens and cross-survey checks, not part of the public table.
JUDGED_BESIDE = {
    "face_cv": "float", "face_uneven_points": "int", "opening_area_ft2": "float",
    "cross_draft_resultant_fpm": "float", "grid_fingerprint": "text",
}  # fmt: skip

SURVEYS = {
    "survey_id": "text", "workbook": "text", "workbook_sha256": "text", "sheet": "text",
    **JUDGED,
    "verdict": "text", "provisional_verdict": "text", "guarded_verdict": "text", "profile": "text",
}  # fmt: skip

READINGS = {
    "survey_id": "text", "workbook": "text", "workbook_sha256": "text", "sheet": "text", "cell": "text",
    "kind": "text", "row": "int", "column": "int", "position": "text", "direction": "text", "written": "text",
    "unit": "text", "velocity_fpm": "float",
}  # fmt: skip

# A reading as it was written, in the order in which the table behind the view keeps it.
READING_FACTS = {
    "cell": "text", "kind": "text", "row": "int", "column": "int", "position": "text", "direction": "text",
    "pass_number": "int", "written": "text", "value": "float", "outcome": "text", "bound": "float",
    "unit": "text", "hidden": "int",
}  # fmt: skip

DISCREPANCIES = {
    "discrepancy_id": "text", "survey_id": "text", "workbook": "text", "workbook_sha256": "text", "sheet": "text",
    "cell": "text", "field": "text", "code": "text", "severity": "text", "written": "text", "message": "text",
    "remedy": "text", "state": "text",
}  # fmt: skip

FINDINGS = {
    "survey_id": "text", "hood_id": "text", "criterion": "text", "cell": "text", "outcome": "text",
    "measured": "float", "limit": "float", "unit": "text", "margin": "float", "expanded_uncertainty": "float",
    "guarded_outcome": "text", "source": "text", "causes": "text", "action": "text",
}  # fmt: skip

VERDICTS = {
    "survey_id": "text", "hood_id": "text", "profile": "text", "profile_version": "text", "verdict": "text",
    "guarded_verdict": "text", "reason": "text",
}  # fmt: skip

TABLES: dict[str, dict[str, str]] = {
    "register": REGISTER,
    "workbooks": WORKBOOKS,
    "surveys": SURVEYS,
    "readings": READINGS,
    "discrepancies": DISCREPANCIES,
    "findings": FINDINGS,
    "verdicts": VERDICTS,
}
