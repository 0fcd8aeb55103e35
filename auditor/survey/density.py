"""Air density: standard and actual velocity, and the velocity of a Pitot tube.

A thermal instrument that reads standard velocity is corrected with its absolute temperature and pressure against its
reference state (70 F and 14.7 psia as instrument manuals print it; the metric form prints 21.1 C and 101.4 kPa, which
is 0.05 % from 14.7 psia = 101.353 kPa).
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from auditor.survey.frames import numbers, texts
from auditor.survey.units import FloatArray, celsius, convert


def actual_velocity(standard: ArrayLike, temperature_f: ArrayLike, pressure_psia: ArrayLike) -> FloatArray:
    """Actual = standard x (460 + T)/(460 + 70) x 14.7/P, in the unit given; T in F, P in psia."""
    t, p = np.asarray(temperature_f, float), np.asarray(pressure_psia, float)
    return np.asarray(standard, float) * (460 + t) / (460 + 70) * 14.7 / p


def actual_velocity_si(standard: ArrayLike, temperature_c: ArrayLike, pressure_kpa: ArrayLike) -> FloatArray:
    """Actual = standard x (273 + T)/(273 + 21.1) x 101.4/P, in the unit given; T in C, P in kPa."""
    t, p = np.asarray(temperature_c, float), np.asarray(pressure_kpa, float)
    return np.asarray(standard, float) * (273 + t) / (273 + 21.1) * 101.4 / p


def density_factor(temperature_f: ArrayLike, pressure_inhg: ArrayLike) -> FloatArray:
    """Density against standard air, d = 530/(460 + T) x P/29.92; T in F, P in inHg."""
    return 530 / (460 + np.asarray(temperature_f, float)) * np.asarray(pressure_inhg, float) / 29.92


def pressure_at_altitude_inhg(altitude_ft: ArrayLike) -> FloatArray:
    """Pressure of the International Standard Atmosphere below 11 km, inHg; altitude in ft."""
    metres = np.asarray(altitude_ft, float) * 0.3048
    return convert(101325 * (1 - 2.25577e-5 * metres) ** 5.25588, "Pa", "inHg")


def pitot_velocity_fpm(velocity_pressure_inh2o: ArrayLike) -> FloatArray:
    """V = 4005 sqrt(VP) at standard air, ft/min; VP in inches of water. Average velocities, never pressures."""
    return 4005 * np.sqrt(np.asarray(velocity_pressure_inh2o, float))


def density_columns(surveys: pd.DataFrame, mean_fpm: np.ndarray) -> pd.DataFrame:
    """air_density_ratio and face_mean_actual_fpm, only where the sheet says that its velocities are standard ones and
    gives temperature and pressure. The mean as written is what is judged; this one is shown beside it."""
    degrees_c = celsius(numbers(surveys, "air_temperature"), texts(surveys, "air_temperature_unit"))
    psia = convert(numbers(surveys, "air_pressure"), texts(surveys, "air_pressure_unit"), "psia")
    standard = texts(surveys, "velocity_basis") == "standard"
    with np.errstate(invalid="ignore", divide="ignore"):
        factor = np.where(standard & (psia > 0), actual_velocity(1.0, degrees_c * 9 / 5 + 32, psia), np.nan)
    return pd.DataFrame(
        {"air_density_ratio": 1 / factor, "face_mean_actual_fpm": mean_fpm * factor}, index=surveys.index
    )
