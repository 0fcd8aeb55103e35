"""`digits-uneven`: last digits that come up more often than measuring would bring them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from auditor.history.integrity.budget import figures, in_words
from auditor.history.integrity.grids import Grids, selected
from auditor.history.integrity.wording import SIGN

EVEN_FROM_STEPS = 8.0  # normal readings that spread so far show all ten digits alike, to 1 in 10,000
MOST_DECIMALS = 3  # more come out of a formula, and say nothing about a person or an instrument


def digits_uneven(surveys: pd.DataFrame, readings: pd.DataFrame, grids: Sequence[Grids] | None = None) -> pd.DataFrame:
    """`digits-uneven` rows, one per workbook (and unit): SIGN with `survey_id` missing, `workbook`, `workbook_sha256`,
    `chance`.

    The last digits of all face readings of a workbook in one unit, against what normal readings of each grid's mean and
    spread would bring (so a narrow grid is not expected to show all ten digits): chi-square with the full covariance of
    the ten counts, 9 degrees of freedom. Grids whose spread is less than 2 steps, or with more decimals than most, are
    left out; fewer than 100 readings are not tested. Named where the chance is below what a workbook may spend.
    """
    about = surveys.drop_duplicates("survey_id").set_index("survey_id")[["workbook", "workbook_sha256"]]
    grids = selected(readings, about.index) if grids is None else grids
    decimals = _decimals(grids, about)
    parts = [_counted(one, about, decimals) for one in grids]
    found = [] if not parts else _tested(pd.concat(parts, ignore_index=True))
    table = pd.DataFrame(found, columns=["workbook_sha256", "chance", "detail"])
    names = about.drop_duplicates("workbook_sha256").set_index("workbook_sha256")["workbook"]
    table["workbook"] = table["workbook_sha256"].map(names)
    table = table.assign(survey_id=None, code="digits-uneven", other_survey_id=None)
    return table.reindex(columns=[*SIGN, "workbook", "workbook_sha256", "chance"])


def _decimals(grids: Sequence[Grids], about: pd.DataFrame) -> pd.Series:
    """How many decimals most readings of each workbook and unit are written with, by (sha256, unit)."""
    rows = []
    for one in grids:
        digits = np.full(len(one.own), MOST_DECIMALS)
        for fewer in range(MOST_DECIMALS - 1, -1, -1):
            digits[(one.own % 10 ** (MOST_DECIMALS - fewer) == 0).all(axis=1)] = fewer
        rows.append(
            pd.DataFrame(
                {
                    "sha": about["workbook_sha256"].reindex(one.survey_id).to_numpy(),
                    "unit": one.unit,
                    "digits": digits,
                    "readings": one.own.shape[1],
                }
            )
        )
    if not rows:
        return pd.Series(dtype=int)
    counts = pd.concat(rows).groupby(["sha", "unit", "digits"])["readings"].sum().reset_index()
    most = counts.sort_values(["readings", "digits"], kind="stable").drop_duplicates(["sha", "unit"], keep="last")
    return most.set_index(["sha", "unit"])["digits"]


def _counted(grids: Grids, about: pd.DataFrame, decimals: pd.Series) -> pd.DataFrame:
    """Per grid: its workbook and unit, counts of the ten digits, expected counts, and the expected products."""
    sha = about["workbook_sha256"].reindex(grids.survey_id).to_numpy()
    digits = decimals.reindex(pd.MultiIndex.from_arrays([sha, grids.unit])).to_numpy(dtype=int)
    step = 10.0 ** (MOST_DECIMALS - digits)
    units = np.rint(grids.own / step[:, None])
    spread = np.std(units, axis=1, ddof=1)
    finer = (np.abs(grids.own / step[:, None] - units) > 1e-9).any(axis=1)  # written otherwise than the rest
    fit = (spread >= float(figures()["digits"]["least_spread_steps"])) & ~finer
    counts = np.stack([(units % 10 == digit).sum(axis=1) for digit in range(10)], axis=1)
    chance = _digit_chances(units.mean(axis=1)[fit], spread[fit] * np.sqrt(1 + 1 / units.shape[1]))
    table = pd.DataFrame({"sha": sha[fit], "unit": grids.unit[fit], "readings": float(units.shape[1])})
    table[[f"count_{digit}" for digit in range(10)]] = counts[fit]
    table[[f"chance_{digit}" for digit in range(10)]] = chance
    return table


def _digit_chances(mean: np.ndarray, spread: np.ndarray) -> np.ndarray:
    """(g, 10): the chance of each last digit of a normal reading rounded to whole steps."""
    from scipy.special import ndtr

    chance = np.full((len(mean), 10), 0.1)
    narrow = spread < EVEN_FROM_STEPS
    base = np.floor(mean[narrow] / 10) * 10
    edges = base[:, None] + np.arange(-50, 61)[None, :] - 0.5
    below = ndtr((edges - mean[narrow, None]) / spread[narrow, None])
    found = np.diff(below, axis=1).reshape(len(base), 11, 10).sum(axis=1)
    chance[narrow] = found / found.sum(axis=1, keepdims=True)
    return chance


def _tested(table: pd.DataFrame) -> list[tuple[str, float, str]]:
    """(sha256, chance, sentence) of the workbooks and units whose digits are uneven."""
    from scipy.stats import chi2

    keys = ["sha", "unit"]
    enough = table.groupby(keys)["readings"].transform("sum") >= float(figures()["digits"]["fewest_readings"])
    table = table[enough].sort_values(keys, kind="stable")
    if table.empty:
        return []
    first = ~table.duplicated(keys).to_numpy()
    starts = np.flatnonzero(first)
    weight = table["readings"].to_numpy(dtype=float)[:, None]
    chances = table.filter(like="chance_").to_numpy(dtype=float)
    counts = np.add.reduceat(table.filter(like="count_").to_numpy(dtype=float), starts)
    expected = np.add.reduceat(weight * chances, starts)
    products = np.add.reduceat((weight * chances)[:, :, None] * chances[:, None, :], starts)
    covariance = expected[:, :, None] * np.eye(10) - products
    off = counts - expected
    inverse = np.linalg.pinv(covariance, rcond=1e-9, hermitian=True)
    chance = chi2.sf(np.einsum("gi,gij,gj->g", off, inverse, off), 9)
    shas = table["sha"].to_numpy()[starts]
    uneven = np.flatnonzero(chance <= float(figures()["budget"]["per_workbook"]))
    return [(str(shas[g]), float(chance[g]), _said(counts[g], expected[g], float(chance[g]))) for g in uneven]


def _said(counts: np.ndarray, expected: np.ndarray, chance: float) -> str:
    often = np.argsort(-(counts - expected) / np.sqrt(expected))[:2]
    digits = " and ".join(str(digit) for digit in sorted(int(digit) for digit in often))
    share, usual = 100 * counts[often].sum() / counts.sum(), 100 * expected[often].sum() / expected.sum()
    return (
        f"{share:.0f} % of {int(counts.sum())} readings end in {digits}, where {usual:.0f} % would be expected. "
        f"By chance {in_words(chance)}."
    )
