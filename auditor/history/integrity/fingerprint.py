"""A text that two grids share when one was copied from the other, whatever unit each was written in."""

from __future__ import annotations

import numpy as np
import pandas as pd

MINIMUM_READINGS = 4
FPM_PER_MS = 1 / 0.00508
HUNDREDTH_MS_FPM = 0.01 * FPM_PER_MS

# A grid counts as proof of copying only where an honest one would match it by chance less often than this, so that
# a store of some ten thousand grids expects no chance match worth the name.
NEGLIGIBLE = 1e-6
# Hoods differ in their means by about this much (suggested spread of hood means 11 ft/min), ...
SPREAD_OF_HOODS_FPM = 10.0
# ... and part of a grid's spread is a pattern that many hoods share (faster at the lower edge): only the rest is luck.
SHARE_OF_SPREAD_BY_CHANCE = 0.7
# Steps that people round to.
STEPS_FPM = (1, 2, 5, 10, 20, 25, 50)
STEPS_MS = (0.01, 0.02, 0.05, 0.1)


def in_places_order(readings: pd.DataFrame) -> pd.DataFrame:
    """The face readings, survey by survey, row by row from the top left; in written order where a survey's places are
    not (all) known."""
    face = readings[readings["kind"].eq("face")]
    placed = face["row"].notna() & face["column"].notna()
    all_placed = placed.groupby(face["survey_id"]).transform("all")
    order = pd.DataFrame(
        {
            "survey_id": face["survey_id"],
            "pass_number": face.get("pass_number", 1),
            "row": face["row"].where(all_placed, 0).astype(float),
            "column": face["column"].where(all_placed, 0).astype(float),
        }
    )
    return face.loc[order.sort_values(list(order.columns), kind="stable").index]


def grid_fingerprint(surveys: pd.DataFrame, readings: pd.DataFrame) -> pd.Series:
    """One text per survey, on the index of `surveys`: its face readings in places order (row by row from the top
    left; in written order where places are not known), each rounded to 1 ft/min, '-' for a cell without a number.

    Needs `survey_id`; and of the readings `survey_id`, `kind`, `row`, `column`, `velocity_fpm`. Missing where a survey
    has fewer than 4 numbers. A grid in whole ft/min or hundredths of a m/s keeps its text when it is copied into
    ft/min, or into m/s with three decimals; for hundredths of a m/s see `in_hundredths`. How often honest grids share
    a text: `chance_of_coincidence`.
    """
    face = in_places_order(readings)
    if face.empty:
        return pd.Series(pd.NA, index=surveys.index, dtype="object")
    rounded = np.rint(face["velocity_fpm"].to_numpy(dtype=float, na_value=np.nan))
    known = np.isfinite(rounded)
    words = np.full(len(face), "-", dtype=object)
    words[known] = rounded[known].astype(np.int64).astype(str)
    table = pd.DataFrame({"survey_id": face["survey_id"].to_numpy(), "word": words, "known": known})
    by_survey = table.groupby("survey_id", sort=False)
    text = by_survey["word"].agg(" ".join)
    text = text.where(by_survey["known"].sum() >= MINIMUM_READINGS, None)
    return surveys["survey_id"].map(text).astype("object")


def values(fingerprint: str) -> np.ndarray:
    """The readings behind a fingerprint, in ft/min, whole numbers as floats; NaN for a cell without a number."""
    return np.array([np.nan if word == "-" else float(word) for word in fingerprint.split(" ")])


def in_hundredths(grid: np.ndarray) -> str:
    """The grid in hundredths of a m/s, as text: what a grid in whole ft/min becomes when it is copied into m/s with two
    decimals. Rounding to 1 ft/min (at most 0.0025 m/s off) never moves a hundredth, so both sides give one text."""
    return " ".join("-" if np.isnan(v) else str(int(v)) for v in np.rint(grid / HUNDREDTH_MS_FPM))


def written_in_hundredths(grid: np.ndarray) -> bool:
    """Whether every number of the grid is what a hundredth of a m/s becomes in whole ft/min."""
    return _is_multiple(grid[~np.isnan(grid)], HUNDREDTH_MS_FPM)


def written_step_fpm(grid: np.ndarray) -> float:
    """The coarsest customary step of which all readings are multiples: 5 for readings rounded to 5 ft/min."""
    known = grid[~np.isnan(grid)]
    steps = [*STEPS_FPM, *(step * FPM_PER_MS for step in STEPS_MS)]
    return max((float(step) for step in steps if _is_multiple(known, step)), default=1.0)


def _is_multiple(known: np.ndarray, step_fpm: float) -> bool:
    nearest = np.rint(np.rint(known / step_fpm) * step_fpm)
    return bool(np.all(nearest == known))


def chance_of_coincidence(grid: np.ndarray, step_fpm: float | None = None) -> float:
    """The chance that one other grid, honestly measured on another hood, has the same readings in the same places.

    `grid`: readings in ft/min (NaN where none). Two independent normal readings of spread s, rounded to a step r, agree
    with probability about 1 / sqrt(1 + (2 sqrt(pi) s / r)^2): r / (2 sqrt(pi) s) where s is large against r, 1 where it
    is small; never less than the grid's own ties show. The first reading varies with the hoods, the others with the
    part of the grid's own spread that is chance.
    At a spread of 5 ft/min in whole ft/min: 1.4e-5 for 4 readings, 8.9e-8 for 6, 3.7e-12 for 10, so that 4 or 5 such
    readings prove nothing by themselves. Nine readings of 90 to 110 rounded to tens give 0.002: no proof either.
    """
    known = grid[~np.isnan(grid)]
    if len(known) < MINIMUM_READINGS:
        return 1.0
    step = max(step_fpm or 0.0, written_step_fpm(grid))
    spread = SHARE_OF_SPREAD_BY_CHANCE * float(np.std(known, ddof=1))
    one = max(float(agree(spread, step)), float(tied_share(known[None])[0]))
    return float(agree(np.hypot(spread, SPREAD_OF_HOODS_FPM), step) * one ** (len(known) - 1))


def agree(spread_fpm: np.ndarray | float, step_fpm: np.ndarray | float) -> np.ndarray:
    """The chance that two normal readings of this spread, rounded to this step, are equal."""
    ratio = 2 * np.sqrt(np.pi) * np.asarray(spread_fpm) / np.asarray(step_fpm)
    return np.asarray(1 / np.sqrt(1 + ratio**2))


def tied_share(grids: np.ndarray) -> np.ndarray:
    """(g,): the share of pairs of readings within each grid (g, n) that are equal, less two standard errors of that
    count: what agreement is at the least, where one odd reading makes the spread of a flat grid look wide."""
    n = grids.shape[1]
    pairs = n * (n - 1) / 2
    ordered = np.sort(grids, axis=1)
    tied = sum((ordered[:, lag:] == ordered[:, :-lag]).sum(axis=1) for lag in range(1, n))
    return np.maximum(0.0, (tied - 2 * np.sqrt(tied)) / pairs)
