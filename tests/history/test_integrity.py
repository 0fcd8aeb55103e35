"""Signs of made-up or careless readings: each raised where it is planted, and next to never where it is not."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from auditor.history.integrity import (
    copied_grids,
    digits_uneven,
    grid_fingerprint,
    grid_resembles,
    instrument_bias,
    integrity_signs,
    pace_implausible,
    readings_too_smooth,
)
from auditor.history.integrity.bias import mean_with_interval
from auditor.history.integrity.digits import _digit_chances
from auditor.history.integrity.grids import complete_grids
from auditor.history.integrity.pace import chance_of_pace
from auditor.history.integrity.smoothness import spread_chance

FPM = {"ft/min": 1.0, "m/s": 1 / 0.00508}


def honest(seed, hoods=60, years=3, rows=3, columns=5, unit="ft/min", decimals=0, per_workbook=12):
    """An invented campus's grids, (hoods x years, rows x columns) in `unit`, with a vertical gradient, a pattern of
    each hood's own, and luck; and the surveys they belong to."""
    rng = np.random.default_rng(seed)
    n, k = rows * columns, hoods * years
    cv = np.exp(rng.normal(np.log(0.05), 0.4586, (k, 1)))
    gradient = 0.5 * np.repeat(np.linspace(-1.2, 1.2, rows), columns)
    own = 0.6 * np.repeat(rng.normal(size=(hoods, n)), years, axis=0)
    mean = np.repeat(rng.normal(98, 11, (hoods, 1)), years, axis=0) + rng.normal(0, 4, (k, 1))
    grids = np.round(mean * (1 + cv * (gradient + own + 0.62 * rng.normal(size=(k, n)))) / FPM[unit], decimals)
    hood, year = np.divmod(np.arange(k), years)
    surveys = pd.DataFrame(
        {
            "survey_id": [f"s{i:04d}" for i in range(k)],
            "workbook": [f"{2021 + y} part {h // per_workbook}.xlsx" for h, y in zip(hood, year, strict=True)],
            "sheet": [f"H-{h}" for h in hood],
            "hood_id": [f"H-{h}" for h in hood],
            "surveyed_on": pd.to_datetime([f"{2021 + y}-03-{1 + h % 28:02d}" for h, y in zip(hood, year, strict=True)]),
            "sash_height_in": 18.0,
            "status": "accepted",
            "contractor": "Amber",
        }
    )
    surveys["workbook_sha256"] = "sha of " + surveys["workbook"]
    return surveys, grids, (rows, columns, unit)


def readings_of(surveys, grids, shape):
    rows, columns, unit = shape
    n = rows * columns
    return pd.DataFrame(
        {
            "survey_id": np.repeat(surveys["survey_id"].to_numpy(), n),
            "kind": "face",
            "row": np.tile(np.repeat(np.arange(rows), columns) + 1, len(surveys)),
            "column": np.tile(np.arange(n) % columns + 1, len(surveys)),
            "value": grids.ravel(),
            "velocity_fpm": grids.ravel() * FPM[unit],
            "unit": unit,
        }
    )


WAYS = {
    "moved along": lambda g: np.roll(g, 4),
    "moved on by one": lambda g: np.r_[g[1:], 97.0],
    "exchanged": lambda g: g.reshape(3, 5)[:, ::-1].ravel(),
    "upside down": lambda g: g.reshape(3, 5)[::-1].ravel(),
    "added": lambda g: g + 7,
    "times": lambda g: np.round(g * 1.08, 1),
}
KINDS = (
    {},
    {"rows": 2, "columns": 3},
    {"unit": "m/s", "decimals": 2},
    {"decimals": 1},
    {"unit": "m/s", "decimals": 3},
)


class TestResemblance:
    A, B = 7, 100  # surveys s0007 (hood 2, 2022) and s0100 (hood 33, 2022)

    def found(self, change, seed=1, **more):
        surveys, grids, shape = honest(seed, **more)
        grids[self.B] = change(grids[self.A])
        return grid_resembles(surveys, readings_of(surveys, grids, shape))

    @pytest.mark.parametrize("way", list(WAYS))
    def test_a_grid_made_of_another_is_asked_about(self, way):
        found = self.found(WAYS[way], decimals=1)
        assert found["survey_id"].tolist() == ["s0007", "s0100"]
        assert set(found["code"]) == {"grid-resembles"}
        assert (found["chance"] <= 0.001).all()
        assert "2022 part 2.xlsx" in found["detail"][0]
        assert "hood H-33" in found["detail"][0]

    def test_another_order_is_told_from_chance_by_the_number_of_decimals(self):
        def shuffled(grid):
            return np.random.default_rng(3).permutation(grid)

        assert len(self.found(shuffled, decimals=2, columns=6)) == 2
        assert self.found(shuffled, decimals=0).empty  # whole ft/min: fifteen values agree too easily in any order

    def test_rows_and_columns_exchanged(self):
        def transposed(grid):
            return grid.reshape(4, 4).T.ravel()

        assert len(self.found(transposed, rows=4, columns=4, decimals=1)) == 2

    def test_the_later_year_is_asked_about_not_the_earlier(self):
        surveys, grids, shape = honest(1, decimals=1)
        grids[101] = grids[self.A] + 7  # s0101 is of 2023
        assert grid_resembles(surveys, readings_of(surveys, grids, shape))["survey_id"].tolist() == ["s0101"]

    def test_an_exact_copy_is_not_a_resemblance(self):
        assert self.found(lambda g: g, decimals=1).empty

    def test_a_store_made_of_one_template_is_answered_in_bounded_time_and_memory(self):
        surveys, grids, shape = honest(1, hoods=1000, decimals=1)
        grids[:] = grids[0] + np.random.default_rng(1).integers(0, 2, grids.shape) * 0.1
        found = grid_resembles(surveys, readings_of(surveys, grids, shape))
        assert len(found) <= len(surveys)

    def test_the_amount_is_told_from_each_side(self):
        found = self.found(lambda g: g + 7, decimals=1)
        assert "-7 ft/min" in found["detail"][0]
        assert "+7 ft/min" in found["detail"][1]


class TestSmoothness:
    def named(self, grid, **more):
        surveys, grids, shape = honest(2, **more)
        grids[5] = grid
        found = readings_too_smooth(surveys, readings_of(surveys, grids, shape))
        return found["survey_id"].tolist()

    @pytest.mark.parametrize(
        "grid",
        [
            [100.0] * 15,
            [100.0, 100, 101, 100, 100] * 3,
            list(range(80, 110, 2)),
            [95.0, 104, 99, 92, 101] * 2 + [107.0, 96, 100, 103, 94],
        ],
        ids=["all equal", "hardly any spread", "equal steps", "a row repeated"],
    )
    def test_readings_that_air_does_not_give(self, grid):
        assert self.named(grid) == ["s0005"]

    def test_a_quiet_hood_is_left_alone(self):
        assert self.named(np.tile([97.0, 99, 98, 100, 96], 3) + np.repeat([0.0, 1, 3], 5)) == []

    def test_rounding_to_fives_is_not_taken_for_a_small_spread(self):
        surveys, grids, shape = honest(2)
        fives = np.round(grids / 5) * 5
        fives[5] = [100.0] * 12 + [105.0] * 3
        assert "s0005" not in readings_too_smooth(surveys, readings_of(surveys, fives, shape))["survey_id"].tolist()

    def test_the_chance_is_that_of_simulated_grids(self):
        rng = np.random.default_rng(8)
        cv = np.exp(rng.normal(np.log(0.05), 0.4586, (40_000, 1)))
        grids = 100 * (1 + cv * rng.normal(size=(40_000, 9)))
        surveys = pd.DataFrame({"survey_id": [f"s{i:05d}" for i in range(40_000)]})
        (made,) = complete_grids(readings_of(surveys, grids, (3, 3, "ft/min")))
        chance = spread_chance(made)
        for level in (0.5, 0.1, 0.01, 0.001):
            assert (chance <= level).mean() == pytest.approx(level, abs=3.5 * (level / 40_000) ** 0.5)


class TestDigits:
    def test_heaped_digits_are_asked_about_once_per_workbook(self):
        surveys, grids, shape = honest(3)
        mine = surveys["workbook"].eq("2022 part 1.xlsx").to_numpy()
        heaped = np.where(np.random.default_rng(1).random(grids.shape) < 0.5, np.round(grids / 5) * 5, grids)
        grids[mine] = heaped[mine]
        found = digits_uneven(surveys, readings_of(surveys, grids, shape))
        assert found["workbook"].tolist() == ["2022 part 1.xlsx"]
        assert found["survey_id"].isna().all()
        assert "end in 0 and 5" in found["detail"][0]

    def test_in_metres_per_second_too(self):
        surveys, grids, shape = honest(3, unit="m/s", decimals=2)
        mine = surveys["workbook"].eq("2022 part 1.xlsx").to_numpy()
        grids[mine] = np.round(grids[mine] / 0.05) * 0.05
        assert "2022 part 1.xlsx" in digits_uneven(surveys, readings_of(surveys, grids, shape))["workbook"].tolist()

    def test_one_sheet_with_more_decimals_does_not_make_the_others_round(self):
        surveys, grids, shape = honest(3)
        grids[20] += 0.5
        assert digits_uneven(surveys, readings_of(surveys, grids, shape)).empty

    def test_velocities_alone_are_taken_back_into_their_unit(self):
        surveys, grids, shape = honest(3, unit="m/s", decimals=2)
        readings = readings_of(surveys, grids, shape)
        assert digits_uneven(surveys, readings.drop(columns="value")).empty
        whole, without = (next(iter(complete_grids(r))) for r in (readings, readings.drop(columns="value")))
        assert (whole.own == without.own).all()

    @given(st.floats(20, 180), st.floats(2, 20))
    @settings(max_examples=25, deadline=None)
    def test_expected_digits_are_those_of_a_rounded_normal(self, mean, spread):
        whole = np.arange(-200, 400)
        chance = stats.norm.cdf(whole + 0.5, mean, spread) - stats.norm.cdf(whole - 0.5, mean, spread)
        reference = [chance[whole % 10 == digit].sum() for digit in range(10)]
        assert _digit_chances(np.array([mean]), np.array([spread]))[0] == pytest.approx(reference, abs=2e-4)


class TestPace:
    def test_more_hoods_than_a_day_holds(self):
        surveys, _, _ = honest(4, hoods=70, years=1)
        surveys["surveyed_on"] = pd.Timestamp("2021-03-08")
        surveys["surveyor"] = "K. L."
        found = pace_implausible(surveys)
        assert sorted(found["workbook"]) == sorted(surveys["workbook"].unique())
        assert found["detail"].str.contains("70 hoods carry the name of surveyor K. L. on 2021-03-08").all()

    def test_thirty_hoods_a_day_and_two_firms_with_the_same_initials_are_honest(self):
        surveys, _, _ = honest(4, hoods=70, years=1)
        surveys["surveyed_on"] = pd.Timestamp("2021-03-08")
        surveys["surveyor"], surveys["contractor"] = "K. L.", np.where(np.arange(70) < 35, "Amber", "Cobalt")
        assert pace_implausible(surveys).empty

    def test_a_hood_with_two_settings_counts_once(self):
        surveys, _, _ = honest(4, hoods=35, years=1)
        twice = pd.concat([surveys, surveys.assign(survey_id=surveys["survey_id"] + "b")])
        twice["surveyed_on"], twice["instrument_id"] = pd.Timestamp("2021-03-08"), "I-1"
        assert pace_implausible(twice).empty

    def test_the_chance_is_that_of_simulated_days(self):
        minutes = np.random.default_rng(1).normal(15, 6, (20_000, 45)).sum(axis=1)
        assert chance_of_pace(np.array([45.0]))[0] == pytest.approx((minutes <= 600).mean(), abs=0.005)


class TestBias:
    def campus(self, seed, bias):
        rng = np.random.default_rng(seed)
        rows = [
            (f"H{h}", f"I-{k}", level + (bias if k == 2 else 0) + rng.normal(0, 4))
            for h, level in enumerate(rng.normal(98, 11, 40))
            for k in rng.choice(4, 3, replace=False)
        ]
        table = pd.DataFrame(rows, columns=["hood_id", "instrument_id", "face_mean_fpm"])
        return table.assign(status="accepted", sash_height_in=18.0)

    def test_the_interval_covers_the_planted_bias(self):
        inside = 0
        for seed in range(80):
            row = instrument_bias(self.campus(seed, 6.0)).set_index("group").loc["I-2"]
            inside += row["low_fpm"] <= 6.0 <= row["high_fpm"]
        assert inside / 80 >= 0.88

    def test_it_is_said_in_words(self):
        found = instrument_bias(self.campus(1, -8.0)).set_index("group")
        assert "ft/min lower than the other surveys of the same" in found.loc["I-2", "detail"]
        assert found.loc["I-2", "q_value"] < 0.01

    def test_an_instrument_seen_alone_or_rarely_is_not_judged(self):
        table = self.campus(1, 0.0)
        assert instrument_bias(table[table["hood_id"].isin(["H1", "H2"])]).empty
        assert instrument_bias(table[table["instrument_id"] == "I-1"]).empty

    def test_the_interval_is_scipys(self):
        values = np.array([1.0, 3.0, 2.5, -1.0, 4.0])
        mean, low, high, p = mean_with_interval(values)
        reference = stats.t.interval(0.95, 4, values.mean(), stats.sem(values))
        assert (mean, low, high) == pytest.approx((values.mean(), *reference))
        assert p == pytest.approx(stats.ttest_1samp(values, 0).pvalue)


class TestTogether:
    def test_honest_workbooks_are_asked_about_in_at_most_one_percent(self):
        asked = workbooks = 0
        for seed, more in enumerate(KINDS):
            surveys, grids, shape = honest([seed, 9], hoods=240, **more)
            readings = readings_of(surveys, grids, shape)
            surveys["grid_fingerprint"] = grid_fingerprint(surveys, readings)
            signs = integrity_signs(surveys, readings)
            copies = surveys[surveys["survey_id"].isin(copied_grids(surveys)["survey_id"])]
            asked += len(set(signs["workbook_sha256"]) | set(copies["workbook_sha256"]))
            workbooks += surveys["workbook_sha256"].nunique()
        assert workbooks == 300
        assert asked <= 7  # at 1 %, more than 7 of 300 come by chance in 1 of 90

    def test_copied_grids_are_always_found(self):
        surveys, grids, shape = honest(5)
        rng = np.random.default_rng(5)
        pairs = rng.permutation(len(surveys))[:40].reshape(20, 2)
        grids[pairs[:, 1]] = grids[pairs[:, 0]]
        surveys["grid_fingerprint"] = grid_fingerprint(surveys, readings_of(surveys, grids, shape))
        found = set(copied_grids(surveys)["survey_id"])
        for pair in pairs:
            first, second = surveys.loc[pair].sort_values("surveyed_on")["survey_id"]
            assert second in found
            near = np.ptp(surveys.loc[pair, "surveyed_on"]) < pd.Timedelta(days=300)
            assert (first in found) == near

    def test_how_files_came_changes_nothing(self):
        surveys, grids, shape = honest(6, decimals=1)
        grids[100] = np.round(grids[7] + 7, 1)
        grids[30] = 100.0
        readings = readings_of(surveys, grids, shape)
        whole = integrity_signs(surveys, readings)
        assert set(whole["code"]) >= {"grid-resembles", "readings-too-smooth"}
        shuffled = integrity_signs(surveys.sample(frac=1, random_state=1), readings.sample(frac=1, random_state=1))
        pd.testing.assert_frame_equal(whole, shuffled)

    def test_nothing_gives_nothing(self):
        surveys, grids, shape = honest(6, hoods=2)
        readings = readings_of(surveys, grids, shape)
        assert integrity_signs(surveys.iloc[:0], readings.iloc[:0]).empty
        assert integrity_signs(surveys, readings.iloc[:0]).empty
