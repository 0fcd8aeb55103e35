"""A hood's trend: when it is claimed, what it is blamed on, when a limit would be reached."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import false_discovery_control

from auditor.history.frames import TRENDS
from auditor.history.series import breaks, drift, hood_series
from auditor.history.trends import EXTRA, adjusted, trends

# E24: Benjamini and Hochberg (1995), section 4; q values as scipy's documentation has them.
BH_1995 = [
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0,
]  # fmt: skip
BH_Q = [
    0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.0638571, 0.0638571, 0.0645, 0.0765, 0.486, 0.5811818, 0.714875,
    0.7532308, 0.8132143, 1.0,
]  # fmt: skip


def campus(means, start=2021, **columns):
    """One hood per row of `means`, one survey a year on 1 March."""
    rows = [
        {
            "survey_id": f"{hood}-{i}",
            "hood_id": hood,
            "surveyed_on": pd.Timestamp(start + i, 3, 1),
            "face_mean_fpm": value,
            "sash_height_in": 18.0,
            "status": "accepted",
            "unit": "ft/min",
            "instrument_id": "I-1",
            "occasion": "annual",
        }
        for hood, values in means.items()
        for i, value in enumerate(values)
    ]
    register = pd.DataFrame({"hood_id": list(means), "building": "Ash", "room": "1", "working_sash_in": 18.0})
    return pd.DataFrame(rows).assign(**columns), register


def one(surveys, register, **more):
    found = trends(surveys, register, **more)
    assert len(found) == 1
    return found.iloc[0]


class TestClaims:
    def test_the_columns_are_the_contracts_and_then_more(self):
        assert trends(*campus({"H": [100, 98, 96, 94, 92]})).columns.tolist() == [*TRENDS, *EXTRA]

    def test_five_falling_years_are_a_trend(self):
        found = one(*campus({"H": [100, 98, 95, 93, 90]}))
        assert found["trend"] == "falling"
        assert found["p_value"] == pytest.approx(1 / 60)
        assert found["slope_low"] <= found["slope_fpm_per_year"] <= found["slope_high"] < 0

    def test_four_years_are_too_few_whatever_they_show(self):
        found = one(*campus({"H": [100, 90, 80, 70]}))
        assert found["trend"] == "too few"
        assert pd.isna(found["p_value"])
        assert pd.isna(found["slope_low"])
        assert found["slope_fpm_per_year"] == pytest.approx(-10, rel=0.01)

    def test_a_flat_hood_has_none(self):
        found = one(*campus({"H": [100] * 6}))
        assert (found["trend"], found["p_value"]) == ("none", 1.0)

    def test_held_and_superseded_surveys_do_not_count(self):
        surveys, register = campus({"H": [100, 98, 95, 93, 90]})
        surveys.loc[4, "status"] = "held"
        surveys.loc[3, "status"] = "superseded"
        assert one(surveys, register)[["surveys", "held"]].tolist() == [3, 1]

    def test_a_survey_at_another_sash_setting_does_not_count(self):
        surveys, register = campus({"H": [100, 98, 95, 93, 90]})
        low = surveys.assign(survey_id="low" + surveys["survey_id"], sash_height_in=6.0, face_mean_fpm=200.0)
        assert one(pd.concat([surveys, low]), register)["surveys"] == 5
        assert one(pd.concat([surveys, low]), register)["slope_fpm_per_year"] == pytest.approx(-2.5, rel=0.01)

    def test_hoods_without_a_sash_have_trends_too(self):
        surveys, register = campus({"H": [100, 98, 95, 93, 90]}, sash_height_in=np.nan)
        assert one(surveys, register.assign(working_sash_in=np.nan))["trend"] == "falling"

    def test_no_surveys_no_rows(self):
        surveys, register = campus({"H": [100]})
        assert trends(surveys.iloc[:0], register).empty
        assert one(surveys, register)["trend"] == "too few"

    def test_the_order_of_rows_changes_nothing(self):
        rng = np.random.default_rng(1)
        surveys, register = campus({f"H{i}": rng.normal(95, 6, 4 + i % 5) for i in range(30)})
        shuffled = surveys.sample(frac=1, random_state=2)
        pd.testing.assert_frame_equal(trends(surveys, register, 80.0), trends(shuffled, register, 80.0))

    def test_e24_q_values(self):
        found = adjusted(np.array([*BH_1995, np.nan]))
        assert found[:-1] == pytest.approx(BH_Q, abs=1e-6)
        assert (found <= 0.05).sum() == 4
        assert np.isnan(found[-1])

    def test_q_values_are_over_the_hoods_tested(self):
        rng = np.random.default_rng(4)
        surveys, register = campus({f"H{i}": rng.normal(95, 6, 3 + i % 5) for i in range(40)})
        found = trends(surveys, register)
        tested = found["p_value"].notna()
        assert (found["surveys"] >= 5).equals(tested)
        assert found.loc[tested, "q_value"].tolist() == pytest.approx(false_discovery_control(found["p_value"][tested]))

    def test_no_more_than_five_percent_of_steady_hoods_are_claimed(self):
        rng = np.random.default_rng(7)
        surveys, register = campus({f"H{i}": np.round(rng.normal(95, 3, 7)) for i in range(3000)})
        assert trends(surveys, register)["trend"].isin(["rising", "falling"]).mean() <= 0.055


class TestLimits:
    def test_a_straight_decline_meets_its_limit_on_the_day(self):
        found = one(*campus({"H": [100, 98, 96, 94, 92, 90]}), low_limit_fpm=80.0)
        assert abs(found["limit_reached_on"] - pd.Timestamp("2031-03-01")) < pd.Timedelta(days=3)
        assert found["limit_from"] <= found["limit_reached_on"] <= found["limit_to"]

    def test_without_a_trend_there_is_no_date(self):
        assert pd.isna(one(*campus({"H": [95, 90, 96, 89, 94]}), low_limit_fpm=80.0)["limit_reached_on"])

    def test_nor_beyond_a_generation(self):
        found = one(*campus({"H": [100, 99.9, 99.8, 99.7, 99.6]}), low_limit_fpm=80.0)
        assert (found["trend"], pd.isna(found["limit_reached_on"])) == ("falling", True)

    def test_a_rising_hood_meets_its_ceiling(self):
        found = one(*campus({"H": [100, 105, 110, 115, 120]}), low_limit_fpm=80.0, high_limit_fpm=150.0)
        assert abs(found["limit_reached_on"] - pd.Timestamp("2031-03-01")) < pd.Timedelta(days=3)

    def test_limits_can_differ_by_hood(self):
        surveys, register = campus({"A": [100, 98, 96, 94, 92], "B": [100, 98, 96, 94, 92]})
        found = trends(surveys, register, low_limit_fpm=pd.Series({"A": 90.0}))
        assert found["limit_reached_on"].notna().tolist() == [True, False]

    def test_the_interval_covers_the_true_date(self):
        rng = np.random.default_rng(9)
        lines = {f"H{i}": 98 - 4 * np.arange(8) + rng.normal(0, 4, 8) for i in range(600)}
        found = trends(*campus(lines), low_limit_fpm=60.0)
        found = found[found["trend"] == "falling"]
        true = pd.Timestamp("2021-03-01") + pd.Timedelta(days=9.5 * 365.25)
        late = found["limit_to"].fillna(pd.Timestamp("2100-01-01"))
        assert ((found["limit_from"] <= true) & (true <= late)).mean() >= 0.95

    def test_hoods_are_ranked_by_how_soon_they_need_someone(self):
        surveys, register = campus(
            {
                "steady": [100, 101, 99, 100, 102],
                "below": [75, 76, 74, 75, 74],
                "soon": [96, 93, 90, 87, 84],
                "later": [110, 108, 106, 104, 102],
            }
        )
        found = trends(surveys, register, low_limit_fpm=80.0).sort_values("rank")
        assert found["hood_id"].tolist() == ["below", "soon", "later", "steady"]


class TestBreaks:
    def test_a_step_at_a_change_of_instrument_is_not_called_a_decline_within(self):
        surveys, register = campus({"H": [100, 101, 99, 101, 91, 90, 92, 89]})
        surveys["instrument_kind"] = ["thermal"] * 4 + ["vane"] * 4
        found = one(surveys, register)
        assert found["trend"] == "falling"
        assert found["breaks"] == "instrument kind thermal to vane from 2025-03-01"
        assert found["p_value_within"] > 0.5

    def test_a_decline_that_goes_on_across_a_change_stays_one(self):
        surveys, register = campus({"H": [100, 97, 95, 92, 90, 87, 85, 82]})
        surveys["unit"] = ["ft/min"] * 4 + ["m/s"] * 4
        found = one(surveys, register)
        assert found["p_value_within"] <= 0.05
        assert found["slope_within"] == pytest.approx(-2.5, abs=0.3)

    def test_what_is_a_break(self):
        surveys, register = campus({"H": [100, 99, 98, 97, 96]})
        surveys["instrument_id"] = ["I-1", None, "I-3", "I-2", "I-2"]
        instruments = pd.DataFrame({"instrument_id": ["I-1", "I-2", "I-3"], "kind": ["thermal", "vane", "thermal"]})
        surveys["sash_height_in"] = [18, 18, 17.9, 17.0, 17.0]
        register["air_handler"] = "AH-1"
        events = pd.DataFrame(
            {"air_handler": ["AH-1", "AH-2"], "happened_on": ["2021-06-01"] * 2, "event": "rebalanced"}
        )
        found = breaks(hood_series(surveys, register, instruments), register, events)
        assert found[["what", "on"]].astype(str).values.tolist() == [
            ["ventilation", "2022-03-01"],
            ["instrument kind", "2024-03-01"],
            ["sash height", "2024-03-01"],
        ]

    def test_without_a_break_nothing_is_said(self):
        found = one(*campus({"H": [100, 99, 98, 97, 96]}))
        assert found["breaks"] == ""
        assert pd.isna(found["slope_within"])


class TestDrift:
    def test_from_the_initial_survey(self):
        surveys, register = campus({"H": [104, 100, 99, 98]})
        surveys.loc[1, "occasion"] = "initial"
        found = drift(hood_series(surveys, register)).loc["H"]
        assert found["drift_fpm"] == pytest.approx(-2)
        assert found["drift_percent"] == pytest.approx(-2)
        assert (found["drift_from"], str(found["drift_since"])[:10]) == ("initial", "2022-03-01")

    def test_else_from_the_first_on_record(self):
        surveys, register = campus({"H": [104, 100], "J": [90]})
        found = drift(hood_series(surveys, register))
        assert found.loc["H", ["drift_fpm", "drift_from"]].tolist() == [-4, "first on record"]
        assert found.loc["J"].isna().all()
