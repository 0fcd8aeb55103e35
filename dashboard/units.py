"""The unit that velocities are shown in. The record keeps ft/min; 1 ft/min is 0.00508 m/s exactly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from dashboard.words import MISSING, missing


@dataclass(frozen=True)
class Unit:
    """`per_fpm`: what one ft/min is in this unit; `digits` after the point; `key` stands in the address."""

    key: str
    name: str
    per_fpm: float
    digits: int

    def value(self, velocity_fpm: Any) -> float | None:
        return None if missing(velocity_fpm) else float(velocity_fpm) * self.per_fpm

    def bare(self, velocity_fpm: Any) -> str:
        value = self.value(velocity_fpm)
        return MISSING if value is None else f"{value:.{self.digits}f}"

    def text(self, velocity_fpm: Any) -> str:
        return MISSING if missing(velocity_fpm) else f"{self.bare(velocity_fpm)} {self.name}"

    def column(self, velocities_fpm: pd.Series) -> pd.Series:
        return velocities_fpm.astype(float) * self.per_fpm

    @property
    def format(self) -> str:
        return f".{self.digits}f"


FPM = Unit("fpm", "ft/min", 1.0, 0)
MPS = Unit("mps", "m/s", 0.00508, 2)
UNITS = {unit.key: unit for unit in (FPM, MPS)}
