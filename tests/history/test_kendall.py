"""Mann–Kendall and Theil–Sen against published values (E16-E21 of the trade facts, section 7) and scipy."""

import itertools
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from auditor.history.kendall import (
    combined,
    null_distribution,
    p_value,
    pair_signs,
    smallest_rejected,
    tie_sizes,
    two_sided,
    variance,
    z_score,
)
from auditor.history.theil_sen import slopes_with_interval

HOLY_CROSS = [12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7]
TIED = [17, 14, 39, 16, 39, 14, 14, 39, 17, 39]


def unrepeated(x, y):
    """One point per x: repeated x have no slope between them."""
    order = np.argsort(x, kind="stable")
    keep = np.r_[True, np.diff(x[order]) > 0]
    return x[order][keep], y[order][keep]


def statistic(values):
    return int(pair_signs(np.array(values, dtype=float)).sum())


class TestPublishedValues:
    def test_e16_fourteen_values_with_one_tie(self):
        """E16: College of the Holy Cross, Mann-Kendall by hand; recomputed there."""
        signs = pair_signs(np.array(HOLY_CROSS))
        assert [(signs == k).sum() for k in (1, -1, 0)] == [72, 18, 1]
        ties = tie_sizes(np.array(HOLY_CROSS))
        assert statistic(HOLY_CROSS) == 54
        assert variance(14, ties) == pytest.approx(332.6667, abs=1e-4)
        assert z_score(54, 14, ties) == pytest.approx(2.905837, abs=1e-6)
        assert 2 * stats.norm.sf(z_score(54, 14, ties)) == pytest.approx(0.00366, abs=5e-6)
        slope = slopes_with_interval(np.arange(14.0)[None], np.array([HOLY_CROSS]))[0, 0]
        assert slope == pytest.approx(0.566667, abs=1e-6)

    def test_e17_the_exact_p_is_not_the_normal_approximation(self):
        """E17: five values whose printed p, 0.46243, is the normal approximation; the exact p is 0.48333."""
        values = [170.192, 179.397, 171.199, 108.399, 144.964]
        assert statistic(values) == -4
        assert p_value(-4, 5) == pytest.approx(0.483333, abs=1e-6)
        assert 2 * stats.norm.sf(abs(z_score(-4, 5))) == pytest.approx(0.46243, abs=1e-5)

    def test_e18_ties(self):
        """E18: tie groups of 3, 2 and 4; variance 111.667 where 125 would be without ties."""
        ties = tie_sizes(np.array(TIED))
        assert ties == (2, 3, 4)
        assert statistic(TIED) == 7
        assert variance(10, ties) == pytest.approx(111.6667, abs=1e-4)
        assert variance(10) == 125

    # Upper tails by enumeration; they match Gilbert (1987), table A18 [M].
    @pytest.mark.parametrize(
        ("n", "s", "tail"),
        [
            (4, 6, 0.04167), (5, 6, 0.11667), (5, 8, 0.04167), (5, 10, 0.00833), (6, 9, 0.06806), (6, 11, 0.02778),
            (6, 13, 0.00833), (7, 13, 0.03452), (7, 15, 0.01508), (8, 16, 0.03051), (8, 18, 0.01558), (9, 18, 0.03759),
            (9, 20, 0.02231), (10, 21, 0.03628), (10, 23, 0.02331), (10, 27, 0.00833),
        ],
    )  # fmt: skip
    def test_exact_upper_tails(self, n, s, tail):
        assert p_value(s, n) / 2 == pytest.approx(tail, abs=5e-6)

    def test_epa_small_sample(self):
        """EPA QA/G-9: 5 6 11 8 10 gives S = 6 and a one-sided p of 0.117."""
        assert statistic([5, 6, 11, 8, 10]) == 6
        assert p_value(6, 5) / 2 == pytest.approx(0.117, abs=5e-4)

    def test_four_surveys_cannot_support_a_claim_and_five_only_just(self):
        assert smallest_rejected(4) is None
        assert p_value(6, 4) == pytest.approx(0.083, abs=5e-4)
        assert smallest_rejected(5) == 10
        assert p_value(10, 5) == pytest.approx(0.0167, abs=5e-5)

    def test_e19_sen_1968(self):
        """E19: slope 4, limits 3.71 and 4.38, stated by Sen for 93 %. They are the 4th and 18th of the 21 slopes; by
        the exact distribution those cover 97 % and are the ones to take at 95 %."""
        x, y = np.array([[1, 2, 3, 4, 10, 12, 18.0]]), np.array([[9, 15, 19, 20, 45, 55, 78.0]])
        slope, low, high = slopes_with_interval(x, y)[0]
        assert (slope, low, high) == pytest.approx((4, 3.71, 4.38), abs=0.005)
        assert 1 - p_value(15, 7) == pytest.approx(0.97, abs=0.001)
        reference = stats.theilslopes(y[0], x[0], 0.07)
        assert (reference.low_slope, reference.high_slope) == pytest.approx((low, high))

    def test_slopes_by_hand(self):
        """Ten slopes, median 756.5 (a hand computation printed by a statistics teaching page)."""
        assert np.median([-340, 130, 496, 561, 713, 800, 851, 952, 1184, 1327]) == 756.5


class TestReferences:
    def test_the_distribution_with_ties_is_that_of_all_orders(self):
        for values in ([1, 1, 2, 3, 3, 3], [1, 2, 3, 4, 5], [1, 1, 1, 2, 2]):
            orders = np.array(list(itertools.permutations(values)), dtype=float)
            counted = pair_signs(orders).sum(axis=1)
            s, chance = null_distribution(len(values), tie_sizes(np.array(values)))
            assert [np.mean(counted == k) for k in s] == pytest.approx(chance)

    @given(st.permutations(range(9)))
    @settings(max_examples=60, deadline=None)
    def test_without_ties_it_is_scipys_exact_kendall(self, order):
        reference = stats.kendalltau(range(9), order, method="exact").pvalue
        assert p_value(statistic(order), 9) == pytest.approx(reference)

    def test_long_series_go_over_into_the_normal_approximation(self):
        s, chance = null_distribution(60)
        exact = two_sided(400, (s, chance))
        assert exact == pytest.approx(2 * stats.norm.sf(abs(z_score(400, 60))), rel=0.05)
        assert p_value(401, 61) == pytest.approx(2 * stats.norm.sf(abs(z_score(401, 61))))

    def test_segments_add_up(self):
        s, chance = combined(((3, ()), (2, ())))
        pairs = list(itertools.product(itertools.permutations(range(3)), itertools.permutations(range(2))))
        counted = np.array([statistic(a) + statistic(b) for a, b in pairs])
        assert [np.mean(counted == k) for k in s] == pytest.approx(chance)

    @pytest.mark.parametrize("n", [5, 6, 7, 8, 9, 10])
    def test_slope_and_interval_are_scipys(self, n):
        rng = np.random.default_rng(n)
        x, y = np.sort(rng.uniform(0, 10, (20, n)), axis=1), rng.normal(95, 5, (20, n))
        for found, one_x, one_y in zip(slopes_with_interval(x, y), x, y, strict=True):
            reference = stats.theilslopes(one_y, one_x, 0.95)
            assert found == pytest.approx((reference.slope, reference.low_slope, reference.high_slope))

    @given(st.lists(st.integers(60, 120), min_size=5, max_size=10, unique=True))
    @settings(max_examples=60, deadline=None)
    def test_interval_and_p_value_never_contradict_each_other(self, values):
        y = np.array([values], dtype=float)
        _, low, high = slopes_with_interval(np.arange(float(len(values)))[None], y)[0]
        assert (p_value(statistic(values), len(values)) <= 0.05) == (low > 0 or high < 0)

    def test_e20_the_reference_for_straight_lines(self):
        """E20: NIST StRD Norris, certified values, with the file that scipy ships."""
        path = Path(stats.__file__).parent / "tests/data/nist_linregress/Norris.dat"
        if not path.exists():
            pytest.skip("this scipy was installed without its test data")
        lines = path.read_text().splitlines()[60:96]
        y, x = np.array([[float(word) for word in line.split()] for line in lines]).T
        assert len(x) == 36
        found = stats.linregress(x, y)
        assert found.intercept == pytest.approx(-0.262323073774029, rel=1e-9)
        assert found.slope == pytest.approx(1.00211681802045, rel=1e-9)
        slope, low, high = slopes_with_interval(*(v[None] for v in unrepeated(x, y)))[0]
        assert low < found.slope < high
        assert slope == pytest.approx(found.slope, rel=1e-3)

    def test_e21_the_reference_for_instruments_compared(self):
        """E21: NIST StRD SiRstv, five instruments measuring one wafer."""
        si_rstv = [
            [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
            [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
            [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
            [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
            [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
        ]
        assert stats.f_oneway(*si_rstv).statistic == pytest.approx(1.18046237440255, rel=1e-8)
