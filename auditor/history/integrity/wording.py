"""How the signs of this room are put: one frame shape, and plain names for surveys."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

SIGN = ["survey_id", "code", "other_survey_id", "detail"]


def described(survey_ids: pd.Series, surveys: pd.DataFrame) -> list[str]:
    """'workbook a.xlsx, sheet "H-1" (hood H-1, 2025-03-01)' for each survey_id."""
    table = surveys.drop_duplicates("survey_id").set_index("survey_id").reindex(survey_ids)
    dates = pd.to_datetime(table["surveyed_on"]).dt.strftime("%Y-%m-%d")
    parts = zip(table["workbook"], table["sheet"], table["hood_id"], dates, strict=True)
    return [_one(*part) for part in parts]


def _one(workbook: object, sheet: object, hood_id: object, date: object) -> str:
    hood = "no hood named" if pd.isna(hood_id) else f"hood {hood_id}"
    day = "no date" if pd.isna(date) else str(date)
    return f"workbook {workbook}, sheet “{sheet}” ({hood}, {day})"


def rows(pairs: pd.DataFrame, code: str | None, details: Sequence[str] | np.ndarray, **more: object) -> pd.DataFrame:
    """The rows of one sign: SIGN and the columns of `more`, in order of survey_id."""
    table = pd.DataFrame(
        {
            "survey_id": pairs["survey_id"].to_numpy(dtype=object),
            "code": code,
            "other_survey_id": pairs["other_survey_id"].to_numpy(dtype=object) if "other_survey_id" in pairs else None,
            "detail": np.asarray(details, dtype=object),
            **more,
        },
        index=range(len(pairs)),
    )
    return table.astype({"code": object, "other_survey_id": object}).sort_values(
        ["survey_id"], kind="stable", ignore_index=True
    )
