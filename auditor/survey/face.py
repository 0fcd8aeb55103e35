"""Face velocity: from readings to grid cells, and the figures of a grid.

A cell's velocity is the mean of its readings over replicate passes; the figures of the grid are those of the cells
(so ANSI/ASHRAE 110 takes the mean of the hood and its highest and lowest places).
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.survey.frames import (
    at,
    codes_of,
    flags,
    group_argmax,
    group_argmin,
    group_mean,
    group_sd,
    numbers,
    texts,
)

CELLS = ["survey_id", "cell", "row", "column", "position", "edge_in", "velocity_fpm", "bound_fpm", "numeric", "passes"]
UNEVEN = 0.25  # common practice: a cell further than this from the mean is counted as uneven


def face_cells(readings: pd.DataFrame) -> pd.DataFrame:
    """One row per grid cell, columns CELLS. `numeric` is False where any of its readings is not a number; velocity_fpm
    is then the mean of those that are (NaN without any); bound_fpm is the largest bound of its censored readings.
    Cells of several passes are matched by row and column, else by position, else by their order; `cell` is the first
    pass's."""
    face = readings[texts(readings, "kind") == "face"]
    out = pd.DataFrame(
        {
            "survey_id": face["survey_id"].to_numpy(),
            "cell": texts(face, "cell"),
            "row": numbers(face, "row"),
            "column": numbers(face, "column"),
            "position": texts(face, "position"),
            "edge_in": numbers(face, "edge_in"),
            "velocity_fpm": numbers(face, "velocity_fpm"),
            "bound_fpm": numbers(face, "bound_fpm"),
        }
    )
    out["numeric"] = out["velocity_fpm"].notna()
    out["passes"] = 1
    number = np.nan_to_num(numbers(face, "pass_number"), nan=1.0)
    several = out["survey_id"].isin(out["survey_id"][number > 1].unique()).to_numpy()
    if not several.any():
        return out
    return pd.concat([out[~several], _over_passes(out[several], number[several])], ignore_index=True)


def _over_passes(cells: pd.DataFrame, number: np.ndarray) -> pd.DataFrame:
    place = ["survey_id", "row", "column", "position"]
    cells = cells.assign(_pass=number)
    cells.loc[cells["row"].notna() & cells["column"].notna(), "position"] = None
    cells["_nth"] = cells.groupby([*place, "_pass"], dropna=False, sort=False).cumcount()
    grouped = cells.groupby([*place, "_nth"], dropna=False, sort=False)
    out = grouped.agg(
        cell=("cell", "first"),
        edge_in=("edge_in", "min"),
        velocity_fpm=("velocity_fpm", "mean"),
        bound_fpm=("bound_fpm", "max"),
        numeric=("numeric", "all"),
        passes=("_pass", "nunique"),
    ).reset_index()
    expected = cells.groupby("survey_id", sort=False)["_pass"].nunique()
    out["numeric"] &= out["passes"] == out["survey_id"].map(expected)
    return out[CELLS]


def face_figures(surveys: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """The COMPUTED face_* columns and `face_complete`, one row per survey, index as given.

    Blank and not-numeric cells: the mean of the others is given and face_complete is False (also where the grid as
    placed has more cells than numbers, or none). A censored cell is in no figure, and leaves mean, SD and CV
    missing."""
    n = len(surveys)
    codes = codes_of(cells["survey_id"], surveys["survey_id"])
    velocity = cells["velocity_fpm"].to_numpy(float)
    used = (codes >= 0) & ~np.isnan(velocity)
    k, v = codes[used], velocity[used]
    mean, sd = group_mean(k, v, n), group_sd(k, v, n)
    censored = np.bincount(codes[(codes >= 0) & cells["bound_fpm"].notna().to_numpy()], minlength=n) > 0
    uneven = np.bincount(k[np.abs(v - mean[k]) > UNEVEN * np.abs(mean[k]) * (1 + 1e-12)], minlength=n).astype(float)
    points = np.bincount(k, minlength=n)
    mean, sd, uneven = (np.where(censored | (points == 0), np.nan, x) for x in (mean, sd, uneven))
    return pd.DataFrame(
        {
            "face_points": points,
            "face_mean_fpm": mean,
            "face_min_fpm": at(v, group_argmin(k, v, n)),
            "face_max_fpm": at(v, group_argmax(k, v, n)),
            "face_sd_fpm": sd,
            "face_cv": np.where(mean != 0, sd / np.where(mean != 0, mean, np.nan), np.nan),
            "face_uneven_points": uneven,
            "face_complete": _complete(surveys, cells, codes, points),
            "face_censored": censored,
        },
        index=surveys.index,
    )


def _complete(surveys: pd.DataFrame, cells: pd.DataFrame, codes: np.ndarray, points: np.ndarray) -> np.ndarray:
    n = len(surveys)
    lacking = np.bincount(codes[(codes >= 0) & ~cells["numeric"].to_numpy(bool)], minlength=n)
    placed = numbers(surveys, "grid_rows") * numbers(surveys, "grid_columns")
    return (points > 0) & (lacking == 0) & ~(points < np.nan_to_num(placed, nan=0)) & ~flags(surveys, "face_doubtful")


def edge_distance_in(surveys: pd.DataFrame, cells: pd.DataFrame) -> np.ndarray:
    """Distance of each cell's probe from the nearest side of the opening, inches, shape (cells,): as recorded
    (`edge_in`), else from the middle of its cell in a regular grid over the opening; NaN where neither is known."""
    codes = codes_of(cells["survey_id"], surveys["survey_id"])
    rows, columns = at(numbers(surveys, "grid_rows"), codes), at(numbers(surveys, "grid_columns"), codes)
    width, height = (
        at(numbers(surveys, "opening_used_width_in"), codes),
        at(numbers(surveys, "opening_used_height_in"), codes),
    )
    r, c = cells["row"].to_numpy(float), cells["column"].to_numpy(float)
    with np.errstate(invalid="ignore", divide="ignore"):
        across = np.minimum(c - 0.5, columns - c + 0.5) * width / columns
        down = np.minimum(r - 0.5, rows - r + 0.5) * height / rows
    recorded = cells["edge_in"].to_numpy(float)
    return np.where(np.isnan(recorded), np.minimum(across, down), recorded)
