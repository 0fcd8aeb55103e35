"""Conversions against the definitions (1 ft = 0.3048 m) and printed pairs.

E and U numbers are those of the project's list of outside check values; what each is from stands beside it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.survey import units
from auditor.survey.units import celsius, convert


def one(value, source, target):
    return float(convert([value], source, target)[0])


def test_e01_a_foot_per_minute_is_exactly_0_00508_metres_per_second():
    assert one(1, "ft/min", "m/s") == 0.00508  # 0.3048 / 60, by definition


def test_e02_a_cubic_metre_per_second_is_2118_88_cfm():
    assert one(1, "m3/s", "cfm") == pytest.approx(2118.880003, abs=1e-6)  # 60 / 0.3048**3
    assert one(1, "cfm", "m3/s") == pytest.approx(0.0004719474432, rel=1e-12)


def test_e30_airflow_per_area():
    # NFPA 45-2004 prints 25 cfm/ft2 as 127 L/s per m2
    assert one(25, "cfm", "L/s") / one(1, "ft2", "m2") == pytest.approx(127.0, abs=0.05)


def test_round_figures_of_one_unit_are_the_closest_numbers_in_the_other():
    assert one(0.508, "m/s", "ft/min") == 100.0
    assert one(457.2, "mm", "in") == 18.0
    assert one(1.5, "ft", "in") == 18.0
    assert one(1, "mph", "ft/min") == 88.0


@pytest.mark.parametrize(
    ("metres", "printed", "exact"),
    [(0.4, 80, 78.74), (0.6, 120, 118.11), (0.3, 60, 59.06), (0.75, 150, 147.64), (0.5, 100, 98.43)],
)
def test_pairs_that_documents_treat_as_equal_are_not(metres, printed, exact):
    # rounded pairs printed in NFPA 45-2004 and CSA Z316.5-15
    assert one(metres, "m/s", "ft/min") == pytest.approx(exact, abs=0.005)
    assert one(metres, "m/s", "ft/min") < printed


@pytest.mark.parametrize(("metres", "feet"), [(0.508, 100), (0.381, 75), (0.503, 99.0), (0.528, 103.9)])
def test_u1_hangar_velocities(metres, feet):
    assert one(metres, "m/s", "ft/min") == pytest.approx(feet, abs=0.05)  # PMC8167816 prints 100/75/99/104


def test_e11_u2_a_printed_pair_that_is_inconsistent_stays_apart():
    # the same paper prints 0.706 m/s as 136 ft/min: a slip of the source, 2.2 %
    assert one(0.706, "m/s", "ft/min") == pytest.approx(138.98, abs=0.01)
    assert one(136, "ft/min", "m/s") == pytest.approx(0.691, abs=0.0005)
    assert one(0.706, "m/s", "ft/min") / 136 - 1 == pytest.approx(0.022, abs=0.0005)


@pytest.mark.parametrize(("cubic_metres", "cfm"), [(94.4, 200_022), (68.7, 145_567)])
def test_u3_hangar_airflows(cubic_metres, cfm):
    assert one(cubic_metres, "m3/s", "cfm") == pytest.approx(cfm, abs=0.6)  # printed 200,000 and 146,000


@given(st.sampled_from([units.VELOCITY, units.LENGTH, units.AIRFLOW, units.AREA, units.PRESSURE]), st.data())
def test_there_and_back_is_the_same(kind, data):
    a, b = (data.draw(st.sampled_from(sorted(kind))) for _ in range(2))
    values = data.draw(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=5))
    assert convert(convert(values, a, b), b, a) == pytest.approx(values, rel=1e-14, abs=1e-300)


def test_each_value_is_converted_from_its_own_unit():
    got = convert([1.0, 100, 50, 3, 1, np.nan], ["m/s", "ft/min", "cm/s", None, "in", "m/s"], "ft/min")
    assert got[:3] == pytest.approx([196.8503937, 100, 98.4251969])
    assert np.isnan(got[3:]).all()


def test_an_unknown_target_is_the_programmers_error():
    with pytest.raises(ValueError, match="no unit is called 'furlongs'"):
        convert([1.0], "in", "furlongs")


def test_temperatures():
    assert celsius([212, 100, 373.15, 5], ["F", "°C", "K", "X"])[:3] == pytest.approx([100, 100, 100])
    assert np.isnan(celsius([5], "X"))[0]
