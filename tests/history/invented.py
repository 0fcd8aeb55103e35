"""Invented campuses for tests: nothing in them is real. Rates follow the suggested generator of the trade facts,
section 6: hood means about N(98, 11) ft/min, largest cross-draft lognormal with median 9 and 95th percentile 20."""

from __future__ import annotations

import numpy as np
import pandas as pd

SIGMA_DRAFT = np.log(20 / 9) / 1.6449  # of the logarithm of a survey's largest cross-draft
FIRMS = ("Amber", "Cobalt", "Sienna")


def register(rng, hoods=260, buildings=9, floors=3):
    """Rooms of 1 to 5 hoods; each building has two air handlers, one for each wing, over all its floors."""
    rows, room, hood = [], 0, 0
    while hood < hoods:
        building, floor = room % buildings, (room // buildings) % floors
        number = room // (buildings * floors)
        wing = number % 2
        for _ in range(rng.choice([1, 2, 3, 4, 5], p=[0.25, 0.3, 0.25, 0.12, 0.08])):
            rows.append(
                {
                    "hood_id": f"H-{hood:05d}",
                    "building": f"Hall {building}",
                    "floor": str(floor + 1),
                    "room": f"{floor + 1}{number:02d}",
                    "air_handler": f"AH-{building}{'AB'[wing]}",
                    "working_sash_in": 18.0,
                    "x_ft": 25.0 * (number // 2) + 4 * rng.random(),
                    "y_ft": 30.0 * wing + 4 * rng.random(),
                }
            )
            hood += 1
        room += 1
    return pd.DataFrame(rows[:hoods])


def room_labels(hoods):
    return hoods["building"] + " / " + hoods["floor"] + " / " + hoods["room"]


def draughty(rng, hoods, rooms, years=5, factor=3.5, chance=0.8):
    """Factors on the drafts of the hoods in `rooms` (labels): each such room is draughty in at least 3 of the years."""
    labels = room_labels(hoods)
    louder = np.ones((len(hoods), years))
    for room in rooms:
        bad = rng.random(years) < chance
        bad[rng.choice(years, 3, replace=False)] = True
        louder[np.ix_(labels.eq(room).to_numpy(), bad)] = factor
    return louder


def surveys(rng, hoods, years=5, persistent=0.5, louder=None):
    """Surveys and cross-draft findings, one per hood and year.

    persistent: the share of the variance of a hood's log draft that stays with the hood. louder: (hoods, years), a
    factor on the drafts (see `draughty`).
    """
    n = len(hoods)
    base = np.log(9) + np.sqrt(persistent) * SIGMA_DRAFT * rng.normal(size=(n, 1))
    if louder is not None:
        base = np.where((louder > 1).any(axis=1, keepdims=True), np.log(9), base) + np.log(louder)
    draft = np.exp(base + np.sqrt(1 - persistent) * SIGMA_DRAFT * rng.normal(size=(n, years)))
    mean = rng.normal(98, 11, (n, 1)) + rng.normal(0, 4, (n, years))
    building = pd.factorize(hoods["building"])[0]
    table = pd.DataFrame(
        {
            "survey_id": [f"s{i:06d}" for i in range(n * years)],
            "hood_id": np.repeat(hoods["hood_id"].to_numpy(), years),
            "surveyed_on": pd.to_datetime(
                [f"{2021 + y}-{3 + y % 3:02d}-{1 + i % 28:02d}" for i in range(n) for y in range(years)]
            ),
            "face_mean_fpm": mean.ravel(),
            "cross_draft_max_fpm": draft.ravel(),
            "status": "accepted",
            "contractor": [FIRMS[(b + y) % 3] for b in building for y in range(years)],
            "instrument_id": [f"I-{(b + y) % 3}-{i % 2}" for i, b in enumerate(building) for y in range(years)],
            "sash_height_in": 18.0,
        }
    )
    return table.merge(hoods[["hood_id", "building", "floor", "room"]], on="hood_id", how="left")


def findings(table):
    """By the default profile: at most 20 ft/min, and at most 20 % of the mean face velocity."""
    ratio = table["cross_draft_max_fpm"] / table["face_mean_fpm"]
    outcomes = {"cross-draft-absolute": table["cross_draft_max_fpm"] > 20, "cross-draft-relative": ratio > 0.2}
    return pd.concat(
        [
            pd.DataFrame(
                {
                    "survey_id": table["survey_id"],
                    "hood_id": table["hood_id"],
                    "criterion": criterion,
                    "outcome": np.where(failed, "restricted", "pass"),
                }
            )
            for criterion, failed in outcomes.items()
        ],
        ignore_index=True,
    )
