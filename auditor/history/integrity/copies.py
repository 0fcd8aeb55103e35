"""Grids handed in twice: for another hood, or for another date."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.history.integrity.fingerprint import (
    HUNDREDTH_MS_FPM,
    NEGLIGIBLE,
    chance_of_coincidence,
    in_hundredths,
    values,
    written_in_hundredths,
)
from auditor.history.integrity.wording import described, rows

BOTH_HELD_WITHIN_DAYS = 300


def copied_grids(surveys: pd.DataFrame) -> pd.DataFrame:
    """`grid-copied`: surveys whose readings stand in the same places on another hood or another date.

    Needs `survey_id`, `workbook`, `sheet`, `hood_id`, `surveyed_on`, `grid_fingerprint`. Gives `survey_id`, `code`,
    `other_survey_id`, `detail`, `chance` (that one honest grid matches, at most 1e-6), one row per survey to hold: both
    where less than 300 days lie between, else the later. The other survey named is the nearest in time. A survey
    without hood or date is left out: it is held for that, and compared once that is settled. The same hood on the same
    date is not a copy (`repeated_surveys`). The result does not depend on the order of the rows.
    """
    known = surveys.dropna(subset=["grid_fingerprint", "hood_id", "surveyed_on"])
    known = known.assign(surveyed_on=pd.to_datetime(known["surveyed_on"]))
    known = known.sort_values(["surveyed_on", "hood_id", "survey_id"], kind="stable").reset_index(drop=True)
    found = [_pairs(known, known["grid_fingerprint"], None), _across_units(known)]
    pairs = pd.concat(found, ignore_index=True)
    pairs = pairs.sort_values(["survey_id", "days", "other_survey_id"], kind="stable").drop_duplicates("survey_id")
    return rows(pairs, "grid-copied", _details(pairs, surveys), chance=pairs["chance"].to_numpy())


def _across_units(known: pd.DataFrame) -> pd.DataFrame:
    """Pairs of which one was written in hundredths of a m/s and the other was not."""
    grids = known["grid_fingerprint"].map(values)
    keys = grids.map(in_hundredths)
    hundredths = grids.map(written_in_hundredths).astype(bool)
    mixed = hundredths.groupby(keys).transform("nunique") > 1
    return _pairs(known[mixed], keys[mixed], HUNDREDTH_MS_FPM)


def _pairs(known: pd.DataFrame, keys: pd.Series, step_fpm: float | None) -> pd.DataFrame:
    """survey_id, other_survey_id, days, chance: the surveys to hold among those (sorted by date) that share a key."""
    keyed = known.assign(key=keys.to_numpy())
    shared = keyed[keyed.duplicated("key", keep=False)]
    chances = {key: _chance(group.iloc[0], step_fpm) for key, group in shared.groupby("key")["grid_fingerprint"]}
    shared = shared.assign(chance=shared["key"].map(chances))
    shared = shared[shared["chance"].astype(float) <= NEGLIGIBLE]
    occasions = shared.drop_duplicates(["key", "hood_id", "surveyed_on"])  # differ in hood or date from each other
    nearest = _nearest(occasions)
    return shared[["survey_id", "key", "hood_id", "surveyed_on", "chance"]].merge(
        nearest, on=["key", "hood_id", "surveyed_on"]
    )[["survey_id", "other_survey_id", "days", "chance"]]


def _nearest(occasions: pd.DataFrame) -> pd.DataFrame:
    """For each occasion to hold, the nearest other occasion of the same key: the neighbour in order of date, the one
    before where both are as near."""
    by_key = occasions.groupby("key")
    before, after = by_key["surveyed_on"].shift(1), by_key["surveyed_on"].shift(-1)
    days_before = (occasions["surveyed_on"] - before).dt.days
    days_after = (after - occasions["surveyed_on"]).dt.days
    take_after = days_after.notna() & (days_before.isna() | (days_after < days_before))
    other = by_key["survey_id"].shift(1).where(~take_after, by_key["survey_id"].shift(-1))
    days = days_before.where(~take_after, days_after)
    held = (days < BOTH_HELD_WITHIN_DAYS) | days_before.notna()
    columns = {"other_survey_id": other, "days": days}
    return occasions[["key", "hood_id", "surveyed_on"]].assign(**columns)[held]


def _chance(fingerprint: str, step_fpm: float | None) -> float:
    return chance_of_coincidence(values(fingerprint), step_fpm)


def _details(pairs: pd.DataFrame, surveys: pd.DataFrame) -> np.ndarray:
    other = described(pairs["other_survey_id"], surveys)
    return np.array([f"The same readings stand in the same places in {text}." for text in other], dtype=object)
