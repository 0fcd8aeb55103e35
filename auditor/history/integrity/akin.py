"""Which surveys have anything to do with one another: the same hood on the same day, or a grid alike."""

from __future__ import annotations

import pandas as pd

from auditor.history.integrity.fingerprint import in_hundredths, values

# What the comparisons of this package need of a survey.
COMPARED = [
    "survey_id", "workbook", "workbook_sha256", "sheet", "hood_id", "surveyed_on", "sash_height_in",
    "grid_fingerprint", "contractor", "face_mean_fpm",
]  # fmt: skip


def akin(others: pd.DataFrame, mine: pd.DataFrame) -> pd.Series:
    """A truth value per row of `others`: whether it shares hood and day, or a grid, with any row of `mine`.

    Grids are compared in hundredths of a m/s, the coarser of the two customary steps, so that one written in the
    other unit is found too: whether it is a copy is for `copied_grids` to say.
    """
    days = set(zip(mine["hood_id"], mine["surveyed_on"], strict=True))
    same_day = [key in days for key in zip(others["hood_id"], others["surveyed_on"], strict=True)]
    grids = set(_coarse(mine["grid_fingerprint"]).dropna())
    return pd.Series(same_day, index=others.index, dtype=bool) | _coarse(others["grid_fingerprint"]).isin(grids)


def _coarse(fingerprints: pd.Series) -> pd.Series:
    known = fingerprints.dropna()
    return known.map(lambda text: in_hundredths(values(text))).reindex(fingerprints.index)
