"""The limits and word lists of the data expectations, read once from `limits.toml`. Standard library only."""

from __future__ import annotations

import datetime as dt
import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

_RAW: dict[str, Any] = tomllib.loads(Path(__file__).with_name("limits.toml").read_text(encoding="utf-8"))

FACE_CEILING_FPM: float = _RAW["face"]["ceiling_fpm"]
FACE_WINDOW_FPM: tuple[float, float] = tuple(_RAW["face"]["window_fpm"])
FACE_FLOOR_FPM: float = _RAW["face"]["floor_fpm"]
FACE_STRAY_FPM: float = _RAW["face"]["stray_fpm"]
INSTRUMENT_UNITS: list[str] = _RAW["face"]["instrument_units"]
CELL_AREA_FT2: float = _RAW["face"]["cell_area_ft2"]
DRAFT_WINDOW_FPM: tuple[float, float] = tuple(_RAW["cross_draft"]["window_fpm"])
EARLIEST: dt.date = _RAW["dates"]["earliest"]
CALIBRATION_MONTHS: int = _RAW["dates"]["calibration_months"]
LENGTH_SLACK_IN: float = _RAW["lengths"]["slack_in"]
TALLEST_SASH_IN: float = _RAW["lengths"]["tallest_sash_in"]
SLACK: float = _RAW["arithmetic"]["relative_slack"]
PLACE_WORDS_DROPPED: frozenset[str] = frozenset(_RAW["places"]["dropped"])
PLACE_WORDS_SAME: dict[str, str] = _RAW["places"]["same"]
VERDICT_WORDS: dict[str, list[str]] = _RAW["verdict_words"]


@lru_cache(maxsize=1)
def fpm_per_unit() -> dict[str, float]:
    """ft/min in one of each unit of velocity that the survey room knows."""
    from auditor.survey.units import VELOCITY

    return {unit: float(ratio) for unit, ratio in VELOCITY.items()}
