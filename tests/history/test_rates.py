"""Rates with their intervals, and better-or-worse on the same hoods."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binomtest
from statsmodels.stats.contingency_tables import mcnemar

from auditor.history.change import paired_change, paired_difference, profile_counts
from auditor.history.frames import RATES
from auditor.history.rates import GROUPINGS, rates, wilson

REGISTER = pd.DataFrame(
    {
        "hood_id": ["A-1", "A-2", "A-3", "B-1", "B-2"],
        "building": ["Ash", "Ash", "Ash", "Birch", "Birch"],
        "floor": ["1", "1", "2", "1", "1"],
        "room": ["101", "102", "201", "101", "101"],
        "department": ["Chemistry", "Chemistry", "Biology", None, "Biology"],
        "hood_type": ["bench"] * 5,
        "air_handler": ["AH-1", "AH-1", "AH-2", "AH-3", "AH-3"],
        "installed_on": pd.to_datetime([None, None, "2025-06-01", None, None]),
        "in_service": [True, True, True, True, False],
    }
)


def surveys(*rows):
    names = ["hood_id", "surveyed_on", "verdict", "status", "contractor"]
    table = pd.DataFrame(rows, columns=names)
    table["survey_id"] = [f"s{i}" for i in range(len(table))]
    table["surveyed_on"] = pd.to_datetime(table["surveyed_on"])
    place = REGISTER.set_index("hood_id")[["building", "floor", "room"]]
    return table.join(place, on="hood_id")


SURVEYS = surveys(
    ("A-1", "2024-03-01", "pass", "accepted", "Amber"),
    ("A-2", "2024-03-01", "restricted", "accepted", "Amber"),
    ("B-1", "2024-03-02", None, "held", "Cobalt"),
    ("A-1", "2025-03-01", "pass", "accepted", "Amber"),
    ("A-2", "2025-03-01", "fail", "accepted", "Amber"),
    ("A-2", "2025-05-01", "pass", "accepted", "Amber"),
    ("A-3", "2025-07-01", "not judged", "accepted", None),
    ("B-1", "2025-03-01", "pass", "superseded", "Cobalt"),
    (None, "2025-03-01", None, "held", "Cobalt"),
)


def row(table, by, group, year):
    found = table[(table["by"] == by) & (table["group"] == group) & (table["year"] == year)]
    assert len(found) == 1
    return found.iloc[0]


class TestRates:
    def test_the_columns_are_the_contracts(self):
        assert rates(SURVEYS, REGISTER).columns.tolist() == [*RATES, "not_judged"]

    def test_every_accepted_survey_counts_once_and_no_other(self):
        found = rates(SURVEYS, REGISTER)
        for name in GROUPINGS:
            part = found[found["by"] == name]
            counted = part["judged"].sum() + part["not_judged"].sum()
            assert counted == SURVEYS["status"].eq("accepted").sum()
            assert part["held"].sum() == 2

    def test_one_group(self):
        ash = row(rates(SURVEYS, REGISTER), "building", "Ash", 2025)
        assert ash[["judged", "passed", "restricted", "failed", "held", "not_judged"]].tolist() == [3, 2, 0, 1, 0, 1]
        reference = binomtest(2, 3).proportion_ci(method="wilson")
        assert ash["rate"] == pytest.approx(2 / 3)
        assert (ash["low"], ash["high"]) == pytest.approx((reference.low, reference.high))

    def test_hoods_can_be_counted_instead(self):
        ash = row(rates(SURVEYS, REGISTER, "building", count="hoods"), "building", "Ash", 2025)
        assert ash[["judged", "passed", "failed"]].tolist() == [2, 2, 0]  # the retest is A-2's last word

    def test_held_surveys_are_counted_apart_even_without_a_hood(self):
        found = rates(SURVEYS, REGISTER)
        assert row(found, "building", "Birch", 2024)["held"] == 1
        assert row(found, "building", "not known", 2025)["held"] == 1
        assert np.isnan(row(found, "building", "Birch", 2024)["rate"])

    def test_not_surveyed_counts_hoods_in_service_and_installed_by_then(self):
        found = rates(SURVEYS, REGISTER)
        assert row(found, "building", "Ash", 2024)["not_surveyed"] == 0  # A-3 came in 2025
        assert row(found, "year", "2025", 2025)["not_surveyed"] == 0  # B-1 was surveyed, B-2 is out of service
        assert (
            row(rates(SURVEYS[SURVEYS["hood_id"] != "B-1"], REGISTER), "building", "Birch", 2024)["not_surveyed"] == 1
        )

    def test_floors_carry_their_building(self):
        groups = rates(SURVEYS, REGISTER, "floor")["group"].tolist()
        assert "Ash / 1" in groups
        assert "Birch / 1" in groups

    def test_nothing_gives_nothing(self):
        assert rates(SURVEYS.iloc[:0], REGISTER).empty
        assert rates(SURVEYS, REGISTER.iloc[:0])["judged"].sum() == len(GROUPINGS) * 5

    def test_an_unknown_grouping_is_named(self):
        with pytest.raises(ValueError, match="weekday"):
            rates(SURVEYS, REGISTER, "weekday")


class TestIntervals:
    # E22: 3/10, 0/10 from R prop.test 3.6.2 by scipy's tests; 81/263 Newcombe (1998) [M].
    # E27: 80/295 and 65/295, the Kuopio cupboards (trade-facts section 6), limits recomputed.
    @pytest.mark.parametrize(
        ("passed", "judged", "low", "high", "tolerance"),
        [
            (3, 10, 0.1077913, 0.6032219, 1e-6),
            (0, 10, 0.0, 0.2775328, 1e-6),
            (10, 10, 0.7224672, 1.0, 1e-6),
            (81, 263, 0.2553, 0.3662, 1e-4),
            (80, 295, 0.2236, 0.3246, 1e-4),
            (65, 295, 0.1768, 0.2711, 1e-4),
        ],
    )
    def test_published_wilson_intervals(self, passed, judged, low, high, tolerance):
        found = wilson(np.array([passed]), np.array([judged]))
        assert found[0][0] == pytest.approx(low, abs=tolerance)
        assert found[1][0] == pytest.approx(high, abs=tolerance)

    def test_e28_chi_square_of_the_484_tracer_tests(self):
        """E28: chi2 = 4.248, printed p = 0.038; one degree of freedom gives 0.0393 (trade-facts section 6)."""
        from scipy.stats import chi2

        assert chi2.sf(4.248, 1) == pytest.approx(0.03930, abs=1e-4)

    def test_the_paired_interval_covers_at_its_rate(self):
        rng = np.random.default_rng(3)
        covered = 0
        for up, down, _, _ in rng.multinomial(60, [0.12, 0.05, 0.7, 0.13], size=2000):
            _, low, high = paired_difference(up, down, 60)
            covered += low <= 0.07 <= high
        assert 0.935 <= covered / 2000 <= 0.98


class TestChange:
    def test_same_hoods_apart_from_other_hoods(self):
        table = surveys(
            ("A-1", "2024-03-01", "pass", "accepted", "Amber"),
            ("A-2", "2024-03-01", "fail", "accepted", "Amber"),
            ("A-1", "2025-03-01", "pass", "accepted", "Amber"),
            ("A-2", "2025-03-01", "pass", "accepted", "Amber"),
            ("B-1", "2025-03-01", "fail", "accepted", "Amber"),
            ("B-2", "2025-03-01", "fail", "accepted", "Amber"),
        )
        change = paired_change(table, REGISTER, "year").iloc[0]
        assert change["hoods_both"] == 2
        assert change[["improved", "worsened"]].tolist() == [1, 0]
        assert change["change_same_hoods"] == pytest.approx(0.5)
        assert change["change_all"] == pytest.approx(0.0)
        assert change["change_by_selection"] == pytest.approx(-0.5)

    @pytest.mark.parametrize(("improved", "worsened"), [(8, 2), (1, 9), (3, 3), (0, 1), (0, 0)])
    def test_the_p_value_is_mcnemars(self, improved, worsened):
        from auditor.history.change import mcnemar_exact

        reference = mcnemar([[5, worsened], [improved, 5]], exact=True).pvalue
        assert mcnemar_exact(improved, worsened) == pytest.approx(min(reference, 1.0))

    def test_another_profile_moves_counts_and_loses_none(self):
        judged = SURVEYS[SURVEYS["status"] == "accepted"]
        other = pd.DataFrame({"survey_id": judged["survey_id"], "profile": "strict", "verdict": "fail"}).iloc[1:]
        counts = profile_counts(SURVEYS, other)
        assert counts["surveys"].sum() == len(judged)
        assert set(counts["profile"]) == {"strict"}
        assert counts.loc[counts["other_verdict"] == "not judged", "surveys"].sum() == 1
