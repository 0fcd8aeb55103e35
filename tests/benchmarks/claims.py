"""How often the history's claims are false, and how often what is planted is found: the long form of the tests.

Run as `python -m tests.benchmarks.claims [--campuses N] [--seed S]`; prints one Markdown table. Everything is invented
(tests/history/invented.py, tests/history/test_integrity.py); nothing is timed.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parents[2]))

from auditor.history.drafts import clusters
from auditor.history.integrity import copied_grids, grid_fingerprint, integrity_signs
from auditor.history.planning import firm_accuracy
from auditor.history.rates import wilson
from auditor.history.trends import trends
from tests.history import invented, test_integrity
from tests.history.test_clusters import four_rooms_of_one_air_handler

PERSISTENT = (0.0, 0.5, 0.9)  # share of a hood's draft that stays with it from year to year
Row = tuple[str, str, int, int]
Plant = Callable[..., tuple[list[str], float]]


def claimed(found: pd.DataFrame) -> set[tuple[str, str]]:
    return set(zip(found.loc[found["claimed"], "level"], found.loc[found["claimed"], "group"], strict=True))


def campus(
    seed: list[int], plant: Callable[..., tuple[list[str], float]] | None
) -> tuple[pd.DataFrame, list[str], set]:
    """Register, planted rooms, and what is claimed on one campus of 260 hoods and five years."""
    rng = np.random.default_rng(seed)
    hoods = invented.register(rng)
    rooms, chance = plant(rng, hoods) if plant else ([], 0.0)
    louder = invented.draughty(rng, hoods, rooms, chance=chance)
    surveys = invented.surveys(rng, hoods, louder=louder, persistent=PERSISTENT[seed[0] % 3])
    return hoods, rooms, claimed(clusters(surveys, invented.findings(surveys), hoods))


def two_rooms(rng: np.random.Generator, hoods: pd.DataFrame) -> tuple[list[str], float]:
    sizes = invented.room_labels(hoods).value_counts()
    return sorted(rng.choice(sorted(sizes.index[sizes >= 3]), 2, replace=False)), 0.8


def air_handler(rng: np.random.Generator, hoods: pd.DataFrame) -> tuple[list[str], float]:
    return four_rooms_of_one_air_handler(rng, hoods), 0.8


def building(rng: np.random.Generator, hoods: pd.DataFrame) -> tuple[list[str], float]:
    name = rng.choice(sorted(hoods["building"].unique()))
    return sorted(invented.room_labels(hoods[hoods["building"] == name]).unique()), 0.3


def cluster_rows(campuses: int, seed: int) -> Iterator[Row]:
    nothing = [campus([s, seed, 0], None)[2] for s in range(campuses)]
    yield "campuses with nothing planted", "with a cluster claimed", sum(map(bool, nothing)), campuses
    found = other = rooms_found = rooms_planted = handlers = buildings = others = 0
    for s in range(campuses):
        _, rooms, got = campus([s, seed, 1], two_rooms)
        found += len(got & {("room", room) for room in rooms})
        other += bool(got - {("room", room) for room in rooms})
        hoods, rooms, got = campus([s, seed, 2], air_handler)
        name = hoods.loc[invented.room_labels(hoods).isin(rooms), "air_handler"].iloc[0]
        planted = {("room", room) for room in rooms}
        handlers += ("air handler", name) in got
        rooms_found, rooms_planted = rooms_found + len(got & planted), rooms_planted + len(planted)
        others += bool(got - planted - {("air handler", name)})
        hoods, rooms, got = campus([s, seed, 3], building)
        halls = {("building", room.split(" / ")[0]) for room in rooms}
        parts = {("air handler", name) for name in hoods.loc[invented.room_labels(hoods).isin(rooms), "air_handler"]}
        buildings += bool(got & halls) or parts <= got
    yield "two rooms of 3 and more hoods, 3 to 5 years draughty", "found", found, 2 * campuses
    yield "the same campuses", "with anything else claimed", other, campuses
    yield "four rooms of 3 and more hoods on one air handler", "air handler found", handlers, campuses
    yield "the same campuses", "rooms found", rooms_found, rooms_planted
    yield "the same campuses", "with anything else claimed", others, campuses
    yield "a building draughty in 3 to 5 years", "found, or all its air handlers", buildings, campuses


def integrity_rows(campuses: int, seed: int) -> Iterator[Row]:
    asked = workbooks = found = planted = 0
    for s in range(campuses):
        surveys, grids, shape = test_integrity.honest(
            [s, seed, 4], hoods=240, **test_integrity.KINDS[s % len(test_integrity.KINDS)]
        )
        readings = test_integrity.readings_of(surveys, grids, shape)
        surveys["grid_fingerprint"] = grid_fingerprint(surveys, readings)
        copied = surveys.loc[surveys["survey_id"].isin(copied_grids(surveys)["survey_id"]), "workbook_sha256"]
        asked += len(set(copied) | set(integrity_signs(surveys, readings)["workbook_sha256"]))
        workbooks += surveys["workbook_sha256"].nunique()
        surveys, grids, shape = test_integrity.honest([s, seed, 5])
        pairs = np.random.default_rng([s, seed]).permutation(len(surveys))[:40].reshape(20, 2)
        grids[pairs[:, 1]] = grids[pairs[:, 0]]
        surveys["grid_fingerprint"] = grid_fingerprint(surveys, test_integrity.readings_of(surveys, grids, shape))
        held = set(copied_grids(surveys)["survey_id"])
        later = [surveys.loc[pair].sort_values(["surveyed_on", "survey_id"])["survey_id"].iloc[-1] for pair in pairs]
        found, planted = found + sum(one in held for one in later), planted + len(later)
    yield "honest workbooks", "asked about", asked, workbooks
    yield "copied grids of 15 readings", "found", found, planted


def other_rows(campuses: int, seed: int) -> Iterator[Row]:
    inside = claims = tested = 0
    for s in range(20 * campuses):
        rng = np.random.default_rng([s, seed, 6])
        true = rng.normal(98, 11, 13)
        first = true + 4 + rng.normal(0, 2.5, 13)
        pairs = pd.DataFrame({"contractor": "Amber", "first_fpm": first, "second_fpm": true})
        row = firm_accuracy(pairs).iloc[0]
        inside += row["bias_low_fpm"] <= 4 <= row["bias_high_fpm"]
    rng = np.random.default_rng([seed, 7])
    for _ in range(campuses):
        hoods = invented.register(rng)
        found = trends(invented.surveys(rng, hoods, years=7), hoods)
        claims += int(found["trend"].isin(["rising", "falling"]).sum())
        tested += int(found["p_value"].notna().sum())
    yield "a firm's planted bias, 13 hoods measured again", "inside its 95 % interval", int(inside), 20 * campuses
    yield "steady hoods, seven years", "called rising or falling", claims, tested


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--campuses", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    print("| what | how many | of | share | 95 % |\n| --- | --- | --- | --- | --- |")
    for rows in (cluster_rows, integrity_rows, other_rows):
        for what, outcome, count, of in rows(asked.campuses, asked.seed):
            low, high = wilson(np.array([float(count)]), np.array([float(of)]))
            share = f"{100 * count / of:.1f} %"
            print(
                f"| {what}: {outcome} | {count} | {of} | {share} | {100 * low[0]:.1f} to {100 * high[0]:.1f} % |",
                flush=True,
            )


if __name__ == "__main__":
    main()
