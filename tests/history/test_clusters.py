"""Where cross-draft failures gather: what is claimed, what is not, and what it is put down to."""

from itertools import combinations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from auditor.history.drafts import clusters, cross_draft_failures, recurrence
from auditor.history.drafts.neighbourhoods import neighbourhoods
from auditor.history.drafts.reference import chances, highest_of_any_set, log_likelihood_ratio
from auditor.history.drafts.sharing import more_often, texts
from auditor.history.drafts.shrinkage import shrunk_rates
from auditor.history.frames import CLUSTERS
from tests.history import invented


def campus(seed, rooms=(), louder=None, persistent=0.0, **more):
    """(surveys, findings, register): an invented campus; `rooms` is a function of the register that picks the rooms
    made draughty, or their labels."""
    rng = np.random.default_rng(seed)
    hoods = invented.register(rng)
    picked = rooms(rng, hoods) if callable(rooms) else list(rooms)
    louder = invented.draughty(rng, hoods, picked, **more) if louder is None else louder(hoods)
    surveys = invented.surveys(rng, hoods, louder=louder, persistent=persistent)
    return surveys, invented.findings(surveys), hoods


def four_rooms_of_one_air_handler(rng, hoods):
    labels = invented.room_labels(hoods)
    table = hoods.assign(label=labels, size=labels.map(labels.value_counts()))
    big = table[table["size"] >= 3]
    per_handler = big.groupby("air_handler")["label"].nunique()
    handler = rng.choice(per_handler.index[per_handler >= 4])
    return list(rng.choice(big.loc[big["air_handler"] == handler, "label"].unique(), 4, replace=False))


def claimed(found):
    return set(zip(found.loc[found["claimed"], "level"], found.loc[found["claimed"], "group"], strict=True))


def handler_of(rooms, hoods):
    return hoods.loc[invented.room_labels(hoods).isin(rooms), "air_handler"].iloc[0]


class TestPublishedValues:
    def test_e25_the_likelihood_ratio_of_a_scan(self):
        """E25: the New York leukaemia zone, c = 106, E = 62.13, C = 552 (inputs as in the smerc package's
        documentation): 14.78206; zero where there is no excess."""
        found = log_likelihood_ratio(np.array([106, 60, 0]), np.array([62.13, 62.13, 62.13]), 552)
        assert found == pytest.approx([14.78206, 0, 0], abs=1e-4)

    def test_e26_shrinkage_of_eighteen_batting_averages(self):
        """E26: Efron and Morris (1975), hits of 45: mean 0.26543, factor 0.21165, .400 to .294, .156 to .242."""
        hits = np.array([18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7])
        found = shrunk_rates(hits, np.full(18, 45))
        assert hits.sum() / (18 * 45) == pytest.approx(0.26543, abs=5e-6)
        assert found[[0, -1]] == pytest.approx([0.294, 0.242], abs=5e-4)
        factor = (found[0] - found[-1]) / (18 / 45 - 7 / 45)
        assert factor == pytest.approx(0.21165, abs=5e-5)

    def test_e23_fishers_exact_test(self):
        """E23: [[8, 2], [1, 5]], two-sided p 0.034965 (scipy's documentation); ours is the one-sided one."""
        table = [[8, 2], [1, 5]]
        assert stats.fisher_exact(table).pvalue == pytest.approx(0.034965, abs=1e-6)
        failed = np.repeat([True, False, True, False], [8, 2, 1, 5])
        here = np.repeat([True, False], [10, 6])
        reference = stats.fisher_exact(table, alternative="greater").pvalue
        assert more_often(failed, here, ~here) == pytest.approx(reference)

    def test_identities_of_shrinkage(self):
        """Marshall (1991) [M]: without differences between groups all get the common rate; with surveys without bound
        each keeps its own."""
        assert shrunk_rates(np.array([2, 2, 2, 2]), np.array([20, 20, 20, 20])) == pytest.approx([0.1] * 4)
        many = np.array([1, 2, 3, 4, 5]) * 10**6
        assert shrunk_rates(many, np.full(5, 10**7)) == pytest.approx(many / 10**7, abs=1e-4)
        small_and_large = shrunk_rates(np.array([3, 300, 10, 10, 10]), np.array([10, 1000, 100, 100, 100]))
        assert abs(small_and_large[0] - 0.3) > abs(small_and_large[1] - 0.3)

    def test_the_reference_draws_as_enumeration_does(self):
        failures, expected = np.array([4.0, 3, 0, 1, 0, 0, 1, 0]), np.array([1.0, 1, 1, 1, 1, 1, 1.5, 1.5])
        pool = np.array(list(combinations(range(8), 3)))
        ratios = log_likelihood_ratio(failures[pool].sum(axis=1), expected[pool].sum(axis=1), 9)
        observed = log_likelihood_ratio(np.array([8.0, 5.0]), np.array([3.0, 3.0]), 9)
        exact = [(ratios >= value - 1e-9).mean() for value in observed]
        found = chances(observed, np.array([3, 3]), failures, expected, np.random.default_rng(1))
        assert found == pytest.approx(exact, abs=0.02)
        assert np.isnan(chances(observed, np.array([1, 8]), failures, expected, np.random.default_rng(1))).all()

    def test_the_bound_of_a_scan_is_the_best_of_all_sets(self):
        """Neill's (2012) [M] linear-time subset scanning, against every set of six rooms."""
        rng = np.random.default_rng(12)
        failures, expected = rng.poisson(1.2, (200, 6)).astype(float), rng.uniform(0.3, 2.5, (200, 6))
        sets = np.array([[number >> room & 1 for room in range(6)] for number in range(1, 64)], dtype=float)
        every = log_likelihood_ratio(failures @ sets.T, expected @ sets.T, 90, 70)
        assert every.max() > 0
        assert highest_of_any_set(failures, expected, 90, 70) == pytest.approx(every.max(axis=1), abs=1e-9)


class TestClaims:
    def test_the_rooms_and_their_air_handler_are_found_and_nothing_else(self):
        picked = []

        def rooms(rng, hoods):
            picked.extend(four_rooms_of_one_air_handler(rng, hoods))
            return picked

        surveys, findings, hoods = campus(3, rooms)
        found = clusters(surveys, findings, hoods)
        handler = handler_of(picked, hoods)
        assert claimed(found) == {("air handler", handler)} | {("room", room) for room in picked}
        row = found[found["group"] == handler].iloc[0]
        assert row["failures"] > 3 * row["expected"]
        assert f"air handler {handler}" in row["shared"]
        assert row["years"].count(",") >= 2
        assert row["remedy"].startswith("1. ")

    def test_one_terrible_room_is_no_evidence_against_its_floor_or_building(self):
        def rooms(rng, hoods):
            return [invented.room_labels(hoods).value_counts().index[0]]

        found = clusters(*campus(5, rooms, factor=6.0, chance=1.0))
        assert {level for level, _ in claimed(found)} == {"room"}

    def test_a_building_is_found_as_a_whole(self):
        def rooms(rng, hoods):
            return sorted(invented.room_labels(hoods[hoods["building"] == "Hall 4"]).unique())

        assert ("building", "Hall 4") in claimed(clusters(*campus(2, rooms, chance=0.3)))

    def test_the_columns_are_the_contracts_and_every_group_is_there(self):
        surveys, findings, hoods = campus(1)
        found = clusters(surveys, findings, hoods)
        assert found.columns.tolist()[: len(CLUSTERS)] == CLUSTERS
        assert set(found.loc[found["level"] == "room", "group"]) == set(invented.room_labels(hoods))
        assert found.loc[found["level"] == "building", "surveys"].sum() == len(surveys)
        assert (found["claimed"] == (found["q_value"] <= 0.05)).all()
        assert (found["tests"] == found["p_alone"].notna().sum()).all()
        for level in ("room", "floor", "building", "air handler"):
            part = found[found["level"] == level]
            assert part["expected"].sum() == pytest.approx(part["failures"].sum())

    def test_order_of_rows_changes_nothing(self):
        surveys, findings, hoods = campus(4, four_rooms_of_one_air_handler)
        shuffled = clusters(surveys.sample(frac=1, random_state=1), findings.sample(frac=1, random_state=2), hoods)
        pd.testing.assert_frame_equal(clusters(surveys, findings, hoods), shuffled)

    def test_held_surveys_and_unjudged_drafts_are_not_counted(self):
        surveys, findings, hoods = campus(1)
        surveys.loc[::13, "status"] = "held"
        findings.loc[findings["survey_id"].isin(surveys["survey_id"][1:1200:13][:50]), "outcome"] = "not judged"
        found = clusters(surveys, findings, hoods)
        assert found.loc[found["level"] == "building", "surveys"].sum() == len(surveys) - 150
        for level in ("room", "floor", "building", "air handler"):
            assert found.loc[found["level"] == level, "held"].sum() == 100

    def test_nothing_gives_nothing(self):
        surveys, findings, hoods = campus(1)
        assert clusters(surveys.iloc[:0], findings, hoods).empty
        assert clusters(surveys, findings.iloc[:0], hoods).empty
        quiet = findings.assign(outcome="pass")
        assert claimed(clusters(surveys, quiet, hoods)) == set()

    def test_a_register_without_floors_air_handlers_and_places_still_gives_rooms(self):
        surveys, findings, hoods = campus(3, four_rooms_of_one_air_handler)
        bare = hoods[["hood_id", "building", "room"]]
        found = clusters(surveys.drop(columns="floor"), findings, bare)
        assert set(found["level"]) == {"room", "building"}
        assert found.loc[found["claimed"], "level"].eq("room").sum() >= 3


class TestNeighbourhoods:
    def test_rooms_that_stand_together_are_found_where_nothing_else_joins_them(self):
        rng = np.random.default_rng(8)
        rows = [
            {
                "hood_id": f"H{room:03d}-{k}", "building": "Ash", "floor": str(room // 12), "room": str(room),
                "air_handler": f"AH-{room % 7}", "x_ft": 20.0 * (room % 4), "y_ft": 20.0 * (room % 12 // 4),
            }
            for room in range(96)
            for k in range(2)
        ]  # fmt: skip
        hoods = pd.DataFrame(rows)
        labels = invented.room_labels(hoods)
        corner = [f"Ash / 2 / {room}" for room in (24, 25, 28, 29)]
        surveys = invented.surveys(rng, hoods, louder=invented.draughty(rng, hoods, corner), persistent=0.0)
        table = cross_draft_failures(surveys, invented.findings(surveys), hoods)
        found = neighbourhoods(table, hoods, np.random.default_rng(1)).set_index("level")
        assert len(found) == 8
        best = found.sort_values("p_value").iloc[0]
        assert set(best["rooms"]) == set(corner)
        assert best["p_value"] < 1e-3
        assert (found["p_value"].iloc[[0, 1, 3, 4, 5, 6, 7]] > 0.005).all()
        assert labels.nunique() == 96

    def test_without_places_there_are_none(self):
        surveys, findings, hoods = campus(1)
        table = cross_draft_failures(surveys, findings, hoods)
        assert neighbourhoods(table, hoods.drop(columns=["x_ft", "y_ft"]), np.random.default_rng(1)).empty


class TestSharedCause:
    def readings(self, surveys, side, direction="parallel"):
        rows = [
            {"survey_id": s, "kind": "cross-draft", "position": place, "direction": d, "velocity_fpm": v / k}
            for s, v in zip(surveys["survey_id"], surveys["cross_draft_max_fpm"], strict=True)
            for place, d, k in ((side, direction, 1), ("centre", "vertical", 1.2), ("other", "perpendicular", 1.2))
        ]
        return pd.DataFrame(rows)

    def test_the_side_of_the_draft_is_named_with_its_remedies_in_order(self):
        surveys, findings, hoods = campus(3, four_rooms_of_one_air_handler)
        readings = self.readings(surveys, "left end")
        found = clusters(surveys.assign(contractor="Amber", instrument_id="I-1"), findings, hoods, readings)
        assert (found["follows"] == "").all()  # a place is not put down to whoever measures everywhere
        row = found[found["claimed"] & (found["level"] == "air handler")].iloc[0]
        assert "at the left in 100 % of the failures" in row["shared"]
        steps = texts()["steps"]
        positions = [row["remedy"].index(steps[name]) for name in ("openings", "aim", "outlet", "balance", "retest")]
        assert positions == sorted(positions)
        assert steps["velocity"] not in row["remedy"]

    def test_an_instrument_that_fails_everywhere_is_named_first(self):
        """One instrument reads drafts three times too high; two halls happen to be measured with it."""
        rng = np.random.default_rng(6)
        hoods = invented.register(rng)
        surveys = invented.surveys(rng, hoods, persistent=0.0)
        wrong = surveys["building"].isin(["Hall 2"]) | (rng.random(len(surveys)) < 0.06)
        surveys["instrument_id"] = np.where(wrong, "I-9", surveys["instrument_id"])
        surveys.loc[wrong, "cross_draft_max_fpm"] *= 3
        found = clusters(surveys, invented.findings(surveys), hoods)
        row = found[found["claimed"] & (found["group"] == "Hall 2")].iloc[0]
        assert row["follows"] == "instrument I-9"
        assert row["shared"].startswith("The failures follow instrument I-9 and not the place")
        assert row["remedy"].startswith("1. " + texts()["steps"]["instrument"])

    def test_one_room_on_a_quiet_air_handler_is_not_put_down_to_it(self):
        def rooms(rng, hoods):
            return [invented.room_labels(hoods).value_counts().index[0]]

        surveys, findings, hoods = campus(5, rooms, factor=6.0, chance=1.0)
        row = clusters(surveys, findings, hoods, self.readings(surveys, "right"))[lambda t: t["claimed"]].iloc[0]
        assert "the cause is likely in the room itself" in row["shared"]
        assert "supply outlets or its volume" not in row["shared"]
        assert "at the right" in row["shared"]
        assert row["remedy"].startswith("1. " + texts()["steps"]["openings"])

    def test_text_from_a_sheet_stays_text(self):
        surveys, findings, hoods = campus(3, four_rooms_of_one_air_handler)
        hoods["air_handler"] = "{elsewhere} {0} " + hoods["air_handler"]
        found = clusters(surveys, findings, hoods)
        assert found["shared"].str.contains(r"air handler {elsewhere} {0} AH-", regex=False).any()


class TestRecurrence:
    def test_two_of_the_last_three_campaigns(self):
        register = pd.DataFrame({"hood_id": ["A", "B"], "building": "Ash", "floor": "1", "room": ["101", "102"]})
        failed = {"A": [2022, 2024], "B": [2021, 2022, 2024]}
        rows = [(hood, year, year in failed[hood]) for hood in "AB" for year in range(2021, 2026)]
        surveys = pd.DataFrame(rows, columns=["hood_id", "year", "bad"])
        surveys["survey_id"] = surveys.index.astype(str)
        surveys["surveyed_on"] = pd.to_datetime(surveys.pop("year").astype(str) + "-03-01")
        surveys["status"] = "accepted"
        outcome = np.where(surveys["bad"], "restricted", "pass")
        findings = surveys.assign(criterion="cross-draft-absolute", outcome=outcome)
        table = cross_draft_failures(surveys, findings, register)
        assert recurrence(table).empty  # the last three are 2023 to 2025
        found = recurrence(table[table["year"] <= 2024])
        assert found[["room", "campaigns", "years"]].values.tolist() == [
            ["Ash / 1 / 101", 2, "2022, 2024"],
            ["Ash / 1 / 102", 2, "2022, 2024"],
        ]
        assert found["surveys"].tolist() == [3, 3]


class TestRatesOfClaims:
    """The short form of tests/benchmarks/claims.py."""

    def test_campuses_with_nothing_planted_give_next_to_no_claims(self):
        found = [clusters(*campus([seed, 50], persistent=(0.0, 0.5, 0.9)[seed % 3])) for seed in range(6)]
        assert (
            sum(one["claimed"].any() for one in found) <= 2
        )  # at 5 %, three or more of six come by chance in 1 of 450

    def test_clusters_of_the_demos_size_are_found(self):
        found = 0
        for seed in range(3):
            picked = []

            def rooms(rng, hoods, picked=picked):
                picked.extend(four_rooms_of_one_air_handler(rng, hoods))
                return picked

            surveys, findings, hoods = campus([seed, 51], rooms, persistent=0.5)
            found += ("air handler", handler_of(picked, hoods)) in claimed(clusters(surveys, findings, hoods))
        assert found >= 2
