"""Further tests that a sheet may report as one figure: the effect of moving the sash, the response of a variable-volume
hood. Taken from text only where it says nothing but a number in its usual unit."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

from auditor.survey.frames import texts

_PPM = re.compile(r"\s*(\d+(?:\.\d+)?|\.\d+)\s*(?:ppm|ppmv)?\s*", re.IGNORECASE)
_SECONDS = re.compile(r"\s*(\d+(?:\.\d+)?|\.\d+)\s*(?:s|sec|secs|second|seconds)?\s*", re.IGNORECASE)


def extra_columns(surveys: pd.DataFrame) -> pd.DataFrame:
    """`sash_movement_ppm` and `vav_response_s`, NaN where the text is absent or says anything else."""
    return pd.DataFrame(
        {
            "sash_movement_ppm": _numbers(texts(surveys, "sash_movement"), _PPM),
            "vav_response_s": _numbers(texts(surveys, "vav_response"), _SECONDS),
        },
        index=surveys.index,
    )


def _numbers(written: np.ndarray, form: re.Pattern[str]) -> np.ndarray:
    matches = [form.fullmatch(str(text)) if text is not None else None for text in written]
    return np.array([float(m[1]) if m else np.nan for m in matches], dtype=float)
