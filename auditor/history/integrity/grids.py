"""The face grids of many surveys as arrays, those of one size together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.history.integrity.fingerprint import in_places_order
from auditor.survey.units import VELOCITY

# Steps to which readings are written or rounded, in their own unit, coarsest first.
STEPS = (50, 25, 20, 10, 5, 2.5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001)
FINEST = 0.001


@dataclass(frozen=True)
class Grids:
    """Grids of n readings each. `survey_id` (g,); `fpm` (g, n); `own` (g, n), readings in thousandths of their own
    unit; `step_fpm` (g,), the coarsest step of which all of a grid's readings are multiples; `columns` (g,), 0 where
    the grid's places are not known or it is not a full rectangle; `unit` (g,), text."""

    survey_id: np.ndarray
    fpm: np.ndarray
    own: np.ndarray
    step_fpm: np.ndarray
    columns: np.ndarray
    unit: np.ndarray


def complete_grids(readings: pd.DataFrame, fewest: int = 4) -> Iterator[Grids]:
    """The grids all of whose cells have a number, by number of readings, in places order."""
    face = in_places_order(readings)
    fpm = face["velocity_fpm"].to_numpy(dtype=float, na_value=np.nan)
    known = pd.Series(np.isfinite(fpm), index=face.index)
    size = face.groupby("survey_id")["velocity_fpm"].transform("size")
    whole = known.groupby(face["survey_id"]).transform("all") & (size >= fewest)
    face = face[whole].assign(n=size[whole])
    table = _as_written(face)
    for n, part in table.groupby("n", sort=True):
        count = int(str(n))
        yield _stacked(part, count)


def selected(readings: pd.DataFrame, survey_ids: pd.Index) -> list[Grids]:
    """The complete grids of these surveys, in an order that does not depend on that of the readings' surveys."""
    wanted = readings[readings["survey_id"].isin(survey_ids)]
    return list(complete_grids(wanted.sort_values("survey_id", kind="stable")))


def restricted(grids: Sequence[Grids], survey_ids: pd.Index) -> list[Grids]:
    """The same grids, of these surveys only."""
    found = []
    for one in grids:
        mine = np.isin(one.survey_id.astype(str), np.asarray(survey_ids, dtype=str))
        parts = {name: getattr(one, name)[mine] for name in one.__dataclass_fields__}
        found.append(one if mine.all() else Grids(**parts))
    return found


def _as_written(face: pd.DataFrame) -> pd.DataFrame:
    """survey_id, n, fpm, own value, unit, step in the own unit, factor to ft/min, row, column."""
    fpm = face["velocity_fpm"].astype(float)
    value, unit = _in_own_unit(face, fpm)
    factor = (fpm / value.where(value != 0)).groupby(face["survey_id"]).transform("median").fillna(1.0)
    step = pd.Series(np.nan, index=face.index)
    for one in STEPS:
        ratio = value / one
        multiple = (ratio - ratio.round()).abs() < 1e-6 * ratio.abs().clip(lower=1)
        step = step.fillna(multiple.groupby(face["survey_id"]).transform("all").map({True: one, False: np.nan}))
    return pd.DataFrame(
        {
            "survey_id": face["survey_id"], "n": face["n"], "fpm": fpm, "own": value, "unit": unit,
            "step_fpm": step.fillna(FINEST) * factor.abs(), "row": face["row"], "column": face["column"],
        }
    )  # fmt: skip


def _in_own_unit(face: pd.DataFrame, fpm: pd.Series) -> tuple[pd.Series, pd.Series]:
    """The readings as they were written, and their units: `value` where it is there, else the velocity taken back into
    `unit`; where no unit is known, ft/min."""
    unit = face["unit"].astype(object) if "unit" in face else pd.Series(None, index=face.index, dtype=object)
    factor = unit.map({name: float(ratio) for name, ratio in VELOCITY.items()}).astype(float)
    unit, factor = unit.where(factor.notna(), "ft/min"), factor.fillna(1.0)
    value = (fpm / factor).round(6)
    if "value" in face:
        value = face["value"].astype(float).where(unit.eq(face["unit"]) & face["value"].notna(), value)
    return value, unit


def _stacked(part: pd.DataFrame, n: int) -> Grids:
    row = part["row"].to_numpy(dtype=float, na_value=np.nan).reshape(-1, n)
    column = part["column"].to_numpy(dtype=float, na_value=np.nan).reshape(-1, n)
    rows, columns = _span(row), _span(column)
    return Grids(
        survey_id=part["survey_id"].to_numpy(dtype=object).reshape(-1, n)[:, 0],
        fpm=part["fpm"].to_numpy(dtype=float).reshape(-1, n),
        own=np.rint(part["own"].to_numpy(dtype=float) / FINEST).astype(np.int64).reshape(-1, n),
        step_fpm=part["step_fpm"].to_numpy(dtype=float).reshape(-1, n)[:, 0],
        columns=np.where(rows * columns == n, columns, 0),
        unit=part["unit"].to_numpy(dtype=object).reshape(-1, n)[:, 0],
    )


def _span(place: np.ndarray) -> np.ndarray:
    unknown = np.isnan(place).any(axis=1)
    safe = np.where(unknown[:, None], 0, place)
    return np.where(unknown, 0, safe.max(axis=1) - safe.min(axis=1) + 1).astype(int)
