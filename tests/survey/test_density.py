"""Standard and actual velocity, density, Pitot tubes, against printed examples."""

import numpy as np
import pytest

from auditor.survey.density import (
    actual_velocity,
    actual_velocity_si,
    density_factor,
    pitot_velocity_fpm,
    pressure_at_altitude_inhg,
)
from auditor.survey.units import convert
from tests.criteria.builders import frames, survey


def test_e05_g3_velocity_pressure_of_a_duct():
    # NAVFAC MO-114 vol. 3, Q2-5: TP 2, SP 1.50 inH2O, 4 ft2. Its nearest printed choice, 11,350 cfm, is 0.2 % off.
    velocity = pitot_velocity_fpm(2 - 1.5)
    assert velocity == pytest.approx(2831.96, abs=0.01)
    assert velocity * 4 == pytest.approx(11_327.9, abs=0.1)
    assert 11_350 / (velocity * 4) - 1 == pytest.approx(0.002, abs=0.0002)


def test_e06_g4_velocities_are_averaged_and_not_pressures():
    # teaching page on duct traverses; it prints 2,002 and, for the wrong way, 2,026
    pressures = np.array([0.16, 0.25, 0.36])
    assert pitot_velocity_fpm(pressures).mean() == pytest.approx(2002.5, abs=0.1)
    assert pitot_velocity_fpm(pressures.mean()) == pytest.approx(2029.0, abs=0.1)


def test_q7_pitot():
    assert pitot_velocity_fpm(0.20) == pytest.approx(1791.09, abs=0.01)  # public teaching example


def test_e08_q5_standard_air_heated_from_70_to_600_f():
    assert actual_velocity(1000, 600, 14.7) == 2000  # practice set, choice b


def test_e09_d1_density_factor():
    # what-when-how topic 441, Ex. 15.5: 90 F, 27.50 inHg; it rounds its factors to 0.96 x 0.92 first and prints 0.88
    assert density_factor(90, 27.50) == pytest.approx(0.885695, abs=1e-6)
    assert round(0.96 * 0.92, 2) == 0.88


@pytest.mark.parametrize(
    ("altitude_ft", "inhg", "density"), [(6000, 23.98, 0.801), (7000, 23.09, 0.772), (8000, 22.23, 0.743)]
)
def test_pressure_and_density_with_altitude(altitude_ft, inhg, density):
    # US federal HVAC design guide 2006, table 6a (seen second-hand)
    assert pressure_at_altitude_inhg(altitude_ft) == pytest.approx(inhg, abs=0.006)
    assert density_factor(70, pressure_at_altitude_inhg(altitude_ft)) == pytest.approx(density, abs=0.0006)


def test_the_table_to_avoid():
    # a printed table gives 1.03 at sea level and 20.28 inHg at 500 ft; the atmosphere gives 29.38
    assert pressure_at_altitude_inhg(500) == pytest.approx(29.38, abs=0.01)
    assert density_factor(70, pressure_at_altitude_inhg(0)) == pytest.approx(1, abs=0.001)


def test_e10_standard_to_actual():
    assert actual_velocity(100, 70, 11.78) == pytest.approx(124.788, abs=1e-3)  # D2, 6000 ft
    assert actual_velocity(100, 75, 12.2) == pytest.approx(121.629, abs=1e-3)  # D3
    assert actual_velocity_si(0.50, 24, 84.1) == pytest.approx(0.608798, abs=1e-3)  # D4


def test_the_two_printed_forms_differ_by_a_twentieth_of_a_per_cent():
    # instrument manuals: 14.7 psia = 101.353 kPa, against 101.4 kPa in the metric form
    assert convert([14.7], "psia", "kPa")[0] == pytest.approx(101.353, abs=0.001)


def test_it_is_corrected_only_where_the_sheet_says_standard_and_gives_both():
    air = {"air_temperature": 75.0, "air_temperature_unit": "°F", "air_pressure": 12.2, "air_pressure_unit": "psia"}
    said = survey("9x100", velocity_basis="standard", survey_id="a", **air)
    silent = survey("9x100", velocity_basis=None, survey_id="b", **air)
    no_pressure = survey("9x100", velocity_basis="standard", survey_id="c", **{**air, "air_pressure": None})
    wide, _ = frames(said, silent, no_pressure)
    assert wide["face_mean_actual_fpm"].iloc[0] == pytest.approx(121.629, abs=1e-3)
    assert wide["face_mean_actual_fpm"].iloc[1:].isna().all()
    assert wide["face_mean_fpm"].tolist() == [100, 100, 100]  # as written, always
