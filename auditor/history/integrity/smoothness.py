"""`readings-too-smooth`: a grid whose readings vary less, or more regularly, than air does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from auditor.history.integrity.budget import figures, in_words, per_survey
from auditor.history.integrity.fingerprint import SHARE_OF_SPREAD_BY_CHANCE, agree
from auditor.history.integrity.grids import Grids, selected
from auditor.history.integrity.wording import SIGN, rows

SEQUENCES = 100  # steps that a filled series might have had
COARSE_STEP_FPM = 2.0  # 0.01 m/s, about
SAID = (
    "The readings spread by {cv} % of their mean; 5 % is usual.",
    "The readings rise or fall in equal steps from the first to the last.",
    "A row of readings is repeated in another row.",
)


def readings_too_smooth(
    surveys: pd.DataFrame, readings: pd.DataFrame, grids: Sequence[Grids] | None = None
) -> pd.DataFrame:
    """`readings-too-smooth` rows: SIGN and `chance`, that of an honest grid.

    Three things are looked at in every complete grid of 6 readings and more: a spread too small for air (coefficient of
    variation against the lognormal of signs.toml, the rounding of the readings allowed for); a series in equal steps;
    rows that repeat each other. A survey is named where its least chance, times three, is below its part of what its
    workbook may spend.
    """
    fewest = int(figures()["spread"]["fewest_readings"])
    about = surveys.drop_duplicates("survey_id").set_index("survey_id")["workbook_sha256"]
    given = selected(readings, about.index) if grids is None else grids
    grids = [one for one in given if one.fpm.shape[1] >= fewest]
    if not grids:
        return pd.DataFrame(columns=[*SIGN, "chance"])
    usual = _usual_steps(grids, about)
    table = pd.concat([_looked_at(_stepped(one, about, usual)) for one in grids], ignore_index=True)
    spent = 3 * table["chance"] <= per_survey(table["survey_id"].map(about))
    named = table[spent].reset_index(drop=True)
    pairs = zip(named["said"], named["chance"], strict=True)
    said = [f"{text} By chance {in_words(chance)}." for text, chance in pairs]
    return rows(named, "readings-too-smooth", said, chance=named["chance"].to_numpy(dtype=float))


def _usual_steps(grids: Sequence[Grids], about: pd.Series) -> pd.Series:
    """By (workbook, unit): the median step of the grids whose readings are not all equal."""
    parts = [
        pd.DataFrame({"sha": about.reindex(one.survey_id).to_numpy(), "unit": one.unit, "step": one.step_fpm})[
            np.ptp(one.own, axis=1) > 0
        ]
        for one in grids
    ]
    return pd.concat(parts).groupby(["sha", "unit"])["step"].median()


def _stepped(grids: Grids, about: pd.Series, usual: pd.Series) -> Grids:
    """The grids with steps no coarser than is usual in their workbook, or 2 ft/min: twelve readings of 100 were not
    written in steps of 50."""
    keys = pd.MultiIndex.from_arrays([about.reindex(grids.survey_id).to_numpy(), grids.unit])
    most = np.fmax(usual.reindex(keys).to_numpy(dtype=float), COARSE_STEP_FPM)
    return replace(grids, step_fpm=np.minimum(grids.step_fpm, most))


def _looked_at(grids: Grids) -> pd.DataFrame:
    """survey_id, chance, said: the least likely of the three for each grid."""
    chances = np.stack([spread_chance(grids), series_chance(grids), rows_chance(grids)])
    least = chances.argmin(axis=0)
    cv = 100 * np.std(grids.fpm, axis=1, ddof=1) / np.maximum(grids.fpm.mean(axis=1), 1.0)
    said = [SAID[which].format(cv=f"{value:.2g}") for which, value in zip(least, cv, strict=True)]
    return pd.DataFrame({"survey_id": grids.survey_id, "chance": chances.min(axis=0), "said": said})


def spread_chance(grids: Grids) -> np.ndarray:
    """(g,): the chance of a spread as small in a sample of n normal readings whose true coefficient of variation is
    lognormal. Rounding to a step adds up to step/sqrt(12) to what the true spread can have been."""
    from scipy.stats import chi2

    figure, n = figures()["spread"], grids.fpm.shape[1]
    spread = np.sqrt(np.var(grids.fpm, axis=1, ddof=1) + grids.step_fpm**2 / 12)
    cv = spread / np.maximum(np.abs(grids.fpm.mean(axis=1)), 1.0)
    nodes, weights = np.polynomial.hermite_e.hermegauss(64)
    true = float(figure["median_cv"]) * np.exp(float(figure["sigma_log"]) * nodes)
    chance = chi2.cdf((n - 1) * (cv[:, None] / true) ** 2, n - 1)
    return np.asarray(chance @ (weights / weights.sum()))


def series_chance(grids: Grids) -> np.ndarray:
    """(g,): the chance that all differences from one reading to the next are one and the same, not zero; else 1."""
    steps = np.diff(grids.own, axis=1)
    regular = (steps == steps[:, :1]).all(axis=1) & (steps[:, 0] != 0)
    alike = SEQUENCES * _alike(grids) ** (grids.fpm.shape[1] - 2)
    return np.where(regular, np.minimum(alike, 1.0), 1.0)


def rows_chance(grids: Grids) -> np.ndarray:
    """(g,): the chance that two rows of the grid are the same reading by reading; else 1."""
    n = grids.fpm.shape[1]
    chance = np.ones(len(grids.own))
    for columns in np.unique(grids.columns[(grids.columns > 1) & (grids.columns < n)]):
        mine = np.flatnonzero(grids.columns == columns)
        shaped = grids.own[mine].reshape(-1, n // columns, columns)
        first, second = np.triu_indices(n // columns, 1)
        same = (shaped[:, first] == shaped[:, second]).all(axis=2).sum(axis=1)
        one = len(first) * _alike(grids)[mine] ** columns
        chance[mine] = np.where(same > 0, np.minimum(1.0, one), 1.0)
    return chance


def _alike(grids: Grids) -> np.ndarray:
    """(g,): the chance that two readings of one grid are equal."""
    spread = SHARE_OF_SPREAD_BY_CHANCE * np.std(grids.fpm, axis=1, ddof=1)
    return agree(spread, grids.step_fpm)
