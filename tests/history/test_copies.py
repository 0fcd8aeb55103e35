"""Copied grids and repeated surveys: what is held, what is named, what is left alone."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.history.integrity import copied_grids, grid_fingerprint, repeated_surveys
from auditor.history.integrity.fingerprint import chance_of_coincidence

GRID = [104, 98, 101, 95, 110, 93, 99, 107, 102]  # 3 x 3, ft/min
FPM_PER_MS = 1 / 0.00508  # exact: 1 ft/min = 0.00508 m/s


def survey(survey_id, grid, hood_id="H-1", surveyed_on="2025-03-03", sash_height_in=18.0, workbook=None, placed=True):
    """One survey's row and its readings' rows."""
    row = {
        "survey_id": survey_id,
        "workbook": workbook or f"{survey_id}.xlsx",
        "sheet": f"sheet {survey_id}",
        "hood_id": hood_id,
        "surveyed_on": pd.Timestamp(surveyed_on) if surveyed_on else pd.NaT,
        "sash_height_in": sash_height_in,
        "contractor": "Amber",
    }
    places = [(i // 3 + 1, i % 3 + 1) if placed else (None, None) for i in range(len(grid))]
    readings = [
        {"survey_id": survey_id, "kind": "face", "row": r, "column": c, "velocity_fpm": v}
        for (r, c), v in zip(places, grid, strict=True)
    ]
    return row, readings


def frames(*made):
    surveys = pd.DataFrame([row for row, _ in made])
    readings = pd.DataFrame([r for _, rows in made for r in rows])
    surveys["grid_fingerprint"] = grid_fingerprint(surveys, readings)
    return surveys, readings


def held(*made):
    return sorted(copied_grids(frames(*made)[0])["survey_id"])


class TestFingerprint:
    def test_it_is_the_grid_in_places_order_whatever_order_it_was_written_in(self):
        row, readings = survey("a", GRID)
        shuffled = [readings[i] for i in np.random.default_rng(0).permutation(len(readings))]
        surveys, _ = frames((row, shuffled))
        assert surveys["grid_fingerprint"][0] == "104 98 101 95 110 93 99 107 102"

    def test_without_places_the_written_order_counts(self):
        surveys, _ = frames(survey("a", GRID), survey("b", GRID, placed=False), survey("c", GRID[::-1], placed=False))
        a, b, c = surveys["grid_fingerprint"]
        assert a == b != c

    def test_cross_drafts_do_not_count(self):
        row, readings = survey("a", GRID)
        draft = {"survey_id": "a", "kind": "cross-draft", "row": None, "column": None, "velocity_fpm": 12.0}
        assert frames((row, [draft, *readings]))[0]["grid_fingerprint"][0].startswith("104 98")

    @pytest.mark.parametrize("grid", [[], [101, 99, 103], [101, 99, 103, None, None]])
    def test_fewer_than_four_numbers_give_none(self, grid):
        surveys, _ = frames(survey("a", grid), survey("b", GRID))
        assert pd.isna(surveys["grid_fingerprint"][0])
        assert surveys["grid_fingerprint"][1]

    def test_a_cell_without_a_number_keeps_its_place(self):
        surveys, _ = frames(survey("a", [104, None, *GRID[2:]]))
        assert surveys["grid_fingerprint"][0] == "104 - 101 95 110 93 99 107 102"

    @given(st.lists(st.integers(20, 300), min_size=4, max_size=30))
    @settings(max_examples=50, deadline=None)
    def test_whole_feet_per_minute_survive_metres_per_second_with_three_decimals(self, grid):
        metric = [round(v * 0.00508, 3) * FPM_PER_MS for v in grid]
        surveys, _ = frames(survey("a", grid), survey("b", metric))
        assert surveys["grid_fingerprint"].nunique() == 1


class TestCopiedGrids:
    def test_another_hood_in_the_same_campaign_holds_both(self):
        surveys, _ = frames(survey("a", GRID), survey("b", GRID, hood_id="H-2", surveyed_on="2025-03-04"))
        found = copied_grids(surveys)
        assert found["survey_id"].tolist() == ["a", "b"]
        assert found["code"].tolist() == ["grid-copied"] * 2
        assert found["other_survey_id"].tolist() == ["b", "a"]
        for part in ("b.xlsx", "sheet b", "H-2", "2025-03-04"):
            assert part in found["detail"][0]

    @pytest.mark.parametrize(("later", "expect"), [("2026-03-03", ["b"]), ("2025-12-27", ["a", "b"])])
    def test_another_date_holds_the_later_or_both_within_300_days(self, later, expect):
        assert held(survey("a", GRID), survey("b", GRID, surveyed_on=later)) == expect

    def test_exactly_300_days_holds_the_later_only(self):
        assert held(survey("a", GRID), survey("b", GRID, surveyed_on="2025-12-28")) == ["b"]

    @given(st.permutations(range(6)))
    @settings(max_examples=10, deadline=None)
    def test_the_order_of_rows_changes_nothing(self, order):
        made = [
            survey("a", GRID),
            survey("b", GRID, hood_id="H-2"),
            survey("c", GRID, surveyed_on="2024-03-01"),
            survey("d", GRID, surveyed_on="2026-03-01"),
            survey("e", [v + 1 for v in GRID], hood_id="H-3"),
            survey("f", GRID),
        ]
        surveys, _ = frames(*made)
        shuffled = surveys.iloc[list(order)]
        pd.testing.assert_frame_equal(copied_grids(shuffled), copied_grids(surveys))
        pd.testing.assert_frame_equal(repeated_surveys(shuffled), repeated_surveys(surveys))

    def test_the_same_hood_on_the_same_date_is_no_copy(self):
        assert held(survey("a", GRID), survey("b", GRID)) == []

    def test_without_hood_or_date_nothing_is_said_yet(self):
        assert held(survey("a", GRID), survey("b", GRID, hood_id=None), survey("c", GRID, surveyed_on=None)) == []

    @pytest.mark.parametrize("decimals", [2, 3])
    def test_a_copy_into_metres_per_second_is_found(self, decimals):
        metric = [round(v * 0.00508, decimals) * FPM_PER_MS for v in GRID]
        assert held(survey("a", GRID), survey("b", metric, hood_id="H-2")) == ["a", "b"]

    def test_a_copy_from_metres_per_second_is_found(self):
        metric = [0.53, 0.50, 0.51, 0.48, 0.56, 0.47, 0.50, 0.54, 0.52]
        imperial = [round(v * FPM_PER_MS) for v in metric]
        there = survey("a", [v * FPM_PER_MS for v in metric])
        assert held(there, survey("b", imperial, hood_id="H-2")) == ["a", "b"]

    def test_one_reading_changed_is_no_exact_copy(self):
        assert held(survey("a", GRID), survey("b", [*GRID[:-1], 103], hood_id="H-2")) == []

    def test_readings_rounded_so_coarsely_that_hoods_agree_by_chance_prove_nothing(self):
        flat = [100.0] * 9
        tens = [100.0, 100, 90, 100, 110, 100, 100, 90, 100]
        assert held(survey("a", flat), survey("b", flat, hood_id="H-2")) == []
        assert held(survey("a", tens), survey("b", tens, hood_id="H-2")) == []
        odd = [100.0] * 8 + [63.0]  # one odd reading does not make a flat grid a fingerprint
        assert held(survey("a", odd), survey("b", odd, hood_id="H-2")) == []

    def test_the_chance_is_that_of_simulated_pairs(self):
        """The stated chance against counting: two honest readings of spread s, in whole ft/min."""
        rng = np.random.default_rng(5)
        a, b = np.rint(rng.normal(100, 3.5, (2, 400_000)))
        stated = chance_of_coincidence(np.array([95.0, 105, 97.5, 102.5]) + 0.5, 1.0)  # spread 4.56: of chance 3.2
        assert np.mean(a == b) == pytest.approx(0.0804, abs=0.003)
        one = 1 / np.sqrt(1 + 4 * np.pi * 3.5**2)
        assert one == pytest.approx(0.0803, abs=1e-4)
        assert 1e-7 < stated < 1e-4

    def test_honest_campuses_have_next_to_no_copies(self):
        rng = np.random.default_rng(11)
        made = 0
        for _ in range(5):
            grids = rng.normal(98, 11, (1300, 1)) * (1 + 0.05 * rng.normal(size=(1300, 6)))
            surveys = pd.DataFrame({"survey_id": [f"s{i}" for i in range(1300)], "workbook": "w", "sheet": "s"})
            surveys["hood_id"] = [f"H{i // 5}" for i in range(1300)]
            surveys["surveyed_on"] = pd.to_datetime([f"{2021 + i % 5}-03-01" for i in range(1300)])
            surveys["grid_fingerprint"] = [" ".join(str(v) for v in np.rint(g).astype(int)) for g in grids]
            made += len(copied_grids(surveys))
        assert made <= 2  # of 6,500 surveys, 4 million pairs compared, at six points the hardest case

    def test_plain_dates_are_dates_too(self):
        surveys, _ = frames(survey("a", GRID), survey("b", GRID, surveyed_on="2026-03-03"))
        surveys["surveyed_on"] = surveys["surveyed_on"].dt.date
        assert copied_grids(surveys)["survey_id"].tolist() == ["b"]


class TestRepeatedSurveys:
    def test_other_readings_concern_both(self):
        surveys, _ = frames(survey("a", GRID), survey("b", GRID[::-1], sash_height_in=457 / 25.4))
        found = repeated_surveys(surveys)
        assert found["survey_id"].tolist() == ["a", "b"]
        assert found["code"].tolist() == ["survey-repeated"] * 2
        assert found["other_survey_id"].tolist() == ["b", "a"]
        assert found["duplicate_of"].isna().all()
        assert "b.xlsx" in found["detail"][0]

    def test_the_same_readings_again_are_a_duplicate(self):
        surveys, _ = frames(survey("b", GRID), survey("a", GRID))
        found = repeated_surveys(surveys)
        assert found[["survey_id", "duplicate_of"]].values.tolist() == [["b", "a"]]
        assert found["code"].isna().all()

    def test_a_duplicate_of_a_repeated_survey_is_both(self):
        surveys, _ = frames(survey("a", GRID), survey("b", GRID), survey("c", GRID[::-1]))
        found = repeated_surveys(surveys)
        assert found[found["code"].notna()]["survey_id"].tolist() == ["a", "b", "c"]
        assert found[found["code"].isna()]["survey_id"].tolist() == ["b"]

    @pytest.mark.parametrize(
        "other", [{"sash_height_in": 6.0}, {"surveyed_on": "2025-03-04"}, {"hood_id": "H-2"}, {"sash_height_in": None}]
    )
    def test_another_setting_date_or_hood_is_no_repetition(self, other):
        surveys, _ = frames(survey("a", GRID), survey("b", GRID[::-1], **other))
        assert repeated_surveys(surveys).empty

    def test_hoods_without_a_sash_are_compared_too(self):
        made = [survey(k, g, sash_height_in=None) for k, g in (("a", GRID), ("b", GRID[::-1]))]
        assert repeated_surveys(frames(*made)[0])["survey_id"].tolist() == ["a", "b"]

    def test_a_survey_without_readings_repeats_nothing(self):
        surveys, _ = frames(survey("a", GRID), survey("b", []))
        assert repeated_surveys(surveys).empty

    def test_a_few_readings_are_told_apart_by_their_mean(self):
        surveys, _ = frames(survey("a", [90, 92]), survey("b", [90, 95]), survey("c", [90, 92]))
        surveys["face_mean_fpm"] = [91.0, 92.5, 91.0]
        found = repeated_surveys(surveys)
        assert found[found["code"].notna()]["survey_id"].tolist() == ["a", "b", "c"]
        assert found[found["code"].isna()][["survey_id", "duplicate_of"]].values.tolist() == [["c", "a"]]

    def test_no_surveys_give_no_rows(self):
        surveys, _ = frames(survey("a", GRID))
        assert repeated_surveys(surveys.iloc[:0]).empty
        assert copied_grids(surveys.iloc[:0]).empty
