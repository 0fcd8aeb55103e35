"""Response and stability of variable-volume hoods, and the sash-movement effect, on series worked by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.survey.responses import flow_variation_percent, response_time_s, sash_movement_effect_ppm, steady_after_s


def test_response_is_the_time_to_90_per_cent():
    # 200 to 1000 cfm on a straight line over 4 s: 900 is reached after 3.5 s
    assert response_time_s([0, 1, 2, 3, 4], [200, 400, 600, 800, 1000], 1000) == pytest.approx(3.5)
    assert response_time_s([10, 11, 12], [950, 990, 1000], 1000) == 0
    assert np.isnan(response_time_s([0, 1], [200, 800], 1000))


def test_steady_is_the_time_after_which_it_stays_between_90_and_110_per_cent():
    flow = [200, 950, 1150, 1080, 1000, 1010]
    assert steady_after_s(range(6), flow, 1000) == 3
    assert steady_after_s([0, 1], [900, 1100], 1000) == 0
    assert np.isnan(steady_after_s([0, 1, 2], [1000, 1000, 1200], 1000))
    assert np.isnan(steady_after_s([0, 1], [1000, np.nan], 1000))


def test_variation_over_sash_openings():
    assert flow_variation_percent([910, 1000, 1040], 1000) == pytest.approx(9)
    assert np.isnan(flow_variation_percent([910, np.nan], 1000))


def test_the_highest_rolling_mean_counts():
    t = np.arange(0, 121.0)
    # 0.9 ppm for 15 s: the best window of 45 s holds all of it, 0.3 ppm but for the slopes of a second
    puff = np.where((t >= 40) & (t <= 55), 0.9, 0.0)
    assert sash_movement_effect_ppm(t, puff) == pytest.approx(0.9 * 16 / 45)
    assert sash_movement_effect_ppm(t, np.full_like(t, 0.1)) == pytest.approx(0.1)
    assert np.isnan(sash_movement_effect_ppm([0, 10, 20], [0, 1, 0]))
    assert np.isnan(sash_movement_effect_ppm(t, np.where(t == 3, np.nan, 0)))


@given(st.lists(st.floats(0, 10), min_size=47, max_size=80))
def test_it_lies_between_the_mean_of_none_and_the_peak(ppm):
    effect = sash_movement_effect_ppm(np.arange(len(ppm)), ppm)
    assert -1e-9 <= effect <= max(ppm) + 1e-9


@pytest.mark.parametrize("times", [[0, 0, 1], [0, 2, 1], [0, 1]])
def test_a_record_out_of_order_is_refused(times):
    with pytest.raises(ValueError, match="seconds"):
        response_time_s(times, [1, 2, 3], 3)
