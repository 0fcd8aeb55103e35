"""Every figure of a survey that follows from its readings: the COMPUTED columns."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.survey.cross_draft import draft_figures, draft_readings
from auditor.survey.density import density_columns
from auditor.survey.face import face_cells, face_figures
from auditor.survey.frames import numbers, texts


def compute(surveys: pd.DataFrame, readings: pd.DataFrame) -> pd.DataFrame:
    """The surveys with the COMPUTED columns, and: face_complete, face_censored, cross_draft_points,
    cross_draft_complete, cross_draft_bound_fpm, opening_used_width_in, opening_used_height_in, opening_source,
    air_density_ratio, face_mean_actual_fpm. Expects the frames of `normalise`, and `register_*` where they are known.

    Blank and not-numeric cells: the mean of the numeric ones is given, but face_complete is False. Replicate passes:
    each cell's mean over its passes first. Censored cells are left out of every figure, and face_mean_fpm (with SD, CV,
    airflow and the cross-draft ratio) is then missing. Opening: the sheet's, else the register's (opening_source).
    """
    face = face_figures(surveys, face_cells(readings))
    drafts = draft_figures(surveys, draft_readings(readings))
    opening = opening_columns(surveys)
    mean = face["face_mean_fpm"].to_numpy(float)
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.where(mean > 0, drafts["cross_draft_max_fpm"].to_numpy(float) / mean, np.nan)
    figures = pd.concat(
        [
            face,
            drafts.assign(cross_draft_ratio=ratio),
            opening.assign(airflow_cfm=opening["opening_area_ft2"].to_numpy(float) * mean),
            density_columns(surveys, mean),
        ],
        axis=1,
    )
    return pd.concat([surveys.drop(columns=[c for c in figures if c in surveys]), figures], axis=1)


def opening_columns(surveys: pd.DataFrame) -> pd.DataFrame:
    """The opening that was measured: width x sash height at test, ft2 (Q = V A takes the open area, not the full face).

    Without a sash that moves up (register_sash_type 'none' or 'horizontal') the opening's own height is taken."""
    sheet_width, register_width = numbers(surveys, "opening_width_in"), numbers(surveys, "register_opening_width_in")
    width = np.where(np.isnan(sheet_width), register_width, sheet_width)
    fixed = np.isin(texts(surveys, "register_sash_type").astype(str), ("none", "horizontal"))
    sheet_height, register_height = (
        numbers(surveys, "opening_height_in"),
        numbers(surveys, "register_opening_height_in"),
    )
    full = np.where(np.isnan(sheet_height), register_height, sheet_height)
    sash = numbers(surveys, "sash_height_in")
    height = np.where(np.isnan(sash) & fixed, full, sash)
    source = np.full(len(surveys), "sheet", dtype=object)
    source[np.isnan(sheet_width)] = "register"
    source[np.isnan(width)] = None
    return pd.DataFrame(
        {
            "opening_used_width_in": width,
            "opening_used_height_in": height,
            "opening_source": source,
            "opening_area_ft2": width * height / 144,
        },
        index=surveys.index,
    )
