"""The sheet's own mean, least and greatest against its readings, within the rounding of the figure as written."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from expectations.limits import SLACK, fpm_per_unit

if TYPE_CHECKING:
    import pandas as pd

_NUMBER = re.compile(r"[-+\u2212]?\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?")
FINEST = 12  # decimals beyond which a written figure counts as unrounded


def decimals_written(written: Any, value: float) -> int:
    """How many decimals a figure was written with: 1 for '98.4' and '98,4 fpm', 0 for '98'.

    The text is believed only where it reads as `value`; else, or without text, the decimals of the value itself count.
    """
    for token in _NUMBER.findall(str(written)) if isinstance(written, str) else []:
        plain = token.replace(",", ".").replace("\u2212", "-")
        mantissa, _, exponent = plain.lower().partition("e")
        if abs(float(plain) - value) <= SLACK * max(1.0, abs(value)):
            decimals = len(mantissa.partition(".")[2]) - int(exponent or 0)
            return min(max(decimals, 0), FINEST)
    return min(len(f"{value:.{FINEST}f}".rstrip("0").partition(".")[2]), FINEST)


def add_reported(p: pd.DataFrame, r: pd.DataFrame) -> pd.DataFrame:
    """Adds `reported_*_excess`: by how much the sheet's figure is farther from its readings than rounding explains,
    in the figure's own unit (at most 0: explained; NaN: no figure, or no whole grid in one known unit), and
    `reported_*_recomputed`, the figure that the readings give, in that unit.

    Half a unit of the last digit written is allowed, and so is the mean of readings that were each rounded to as many
    digits first (half away from zero, as spreadsheets round).
    """
    whole = p["face_complete"] & (p["face_units"] == 1) & p["face_fits_unit"]
    face = r.loc[r["kind"] == "face", ["survey_id", "velocity_fpm"]]
    grouped = face.groupby("survey_id")["velocity_fpm"]
    for name, of_readings in (("mean", grouped.mean()), ("min", grouped.min()), ("max", grouped.max())):
        figure = f"reported_{name}"
        factor = p[f"{figure}_unit"].fillna(p["face_unit"]).map(fpm_per_unit()).astype(float)
        value = p[figure].astype(float)
        due = whole & value.notna() & factor.notna()
        digits = _digits(p[f"{figure}_written"], value, due)
        computed = [p[f"face_{name}_fpm"] / factor, p["survey_id"].map(of_readings).astype(float) / factor]
        if name == "mean":
            computed.append(_mean_of_rounded(p, face, factor, digits))
        off = min_of([(value - each).abs() for each in computed])
        allowed = 0.5 * 10.0**-digits
        p[f"{figure}_excess"] = (off - allowed - SLACK * value.abs()).where(due)
        p[f"{figure}_recomputed"] = computed[0]
    return p


def min_of(series: list[pd.Series]) -> pd.Series:
    """The smallest, row by row, leaving out what is missing."""
    import pandas as pd

    return pd.concat(series, axis=1).min(axis=1)


def _digits(written: pd.Series, value: pd.Series, due: pd.Series) -> pd.Series:
    import pandas as pd

    rows = zip(written[due], value[due], strict=True)
    found = pd.Series([float(decimals_written(text, number)) for text, number in rows], index=value[due].index)
    return found.reindex(value.index).astype(float)


def _mean_of_rounded(p: pd.DataFrame, face: pd.DataFrame, factor: pd.Series, digits: pd.Series) -> pd.Series:
    import numpy as np

    per_survey = p.set_index("survey_id")
    scale = (
        face["survey_id"]
        .map((10.0 ** digits.set_axis(per_survey.index)).where(digits.notna().to_numpy()))
        .astype(float)
    )
    in_unit = face["velocity_fpm"] / face["survey_id"].map(factor.set_axis(per_survey.index)).astype(float)
    # The hair keeps 0.465 from being rounded down because it is stored a trifle below.
    rounded = np.floor(in_unit * scale * (1 + 1e-12) + 0.5) / scale
    return p["survey_id"].map(rounded.groupby(face["survey_id"]).mean()).astype(float)
