"""Answers over the demo campus against what its manifest planted."""

from __future__ import annotations

import datetime as dt
import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from auditor.answers import deciding, drafts, hood_states, record, surveys, tables, years

MANIFEST = Path(__file__).resolve().parents[2] / "sample_workbooks" / "manifest.json"
TODAY = dt.date(2026, 11, 16)


@pytest.fixture(scope="module")
def planted() -> dict[str, Any]:
    told = json.loads(MANIFEST.read_text(encoding="utf-8"))
    told["surveys"] = [dict(zip(told["survey_columns"], row, strict=True)) for row in told["surveys"]]
    return told


@pytest.fixture(scope="module")
def store(demo_store: Path) -> Iterator[Any]:
    with record.open_record(str(demo_store)) as opened:
        yield opened


def of_year(planted: dict[str, Any], year: int, status: str) -> list[dict[str, Any]]:
    return [s for s in planted["surveys"] if s["status"] == status and str(s["surveyed_on"]).startswith(str(year))]


@pytest.mark.parametrize("year", [2022, 2023, 2025])
def test_totals_of_a_year_are_what_was_planted(store, planted, year: int) -> None:
    told = years.totals(store, year)
    verdicts = Counter(s["verdict"] for s in of_year(planted, year, "accepted"))
    assert told["accepted"] == sum(verdicts.values())
    assert {name: told[name] for name in verdicts} == dict(verdicts)


def test_coverage_counts_every_hood_in_service_once(store, planted) -> None:
    table = years.coverage(store, 2025)
    parts = table[["accepted", "held_only", "not_surveyed"]].sum(axis=1)
    assert parts.tolist() == table["in_service"].tolist()
    assert table["accepted"].iloc[-1] == len({s["hood_id"] for s in of_year(planted, 2025, "accepted")})
    assert table["accepted"].iloc[-1] == table["accepted"].iloc[:-1].sum()


def test_moves_join_each_hood_with_its_verdict_before(store) -> None:
    moved = years.moves(store, 2026)
    assert not moved["hood_id"].duplicated().any()
    assert (moved["before"] != moved["now"]).all()
    grades = {"pass": 0, "restricted": 1, "fail": 2}
    worse = moved["now"].map(grades) > moved["before"].map(grades)
    assert (worse == moved["direction"].eq("worse")).all()


def test_recurring_rooms_are_the_planted_ones(store, planted) -> None:
    named = {f"{row['building']} / {row['floor']} / {row['room']}" for row in planted["cross_draft_rooms"]}
    assert named <= set(drafts.recurring_rooms(store)["room"])


def test_what_is_to_decide_begins_with_the_held_hood_that_fails(store, planted) -> None:
    found = deciding.matters(store, 2026, hood_states(store, TODAY), tables.trends(store), tables.clusters(store))
    assert len(found) <= deciding.MOST
    assert found["kind"].tolist()[:3] == ["settle", "correct", "room air"]
    assert found["subject"].iloc[0] == planted["held_but_dangerous"][0]["hood_id"]
    assert "AHU-CU4" in found["subject"].iloc[2]


def test_points_beyond_a_limit_are_those_that_the_finding_names(store) -> None:
    """The finding of the lowest point, made by the judge, and the marks of the grid, made for the screen, agree."""
    failing = store.query(
        "SELECT survey_id, cell FROM findings WHERE criterion = 'face-point-low' AND outcome = 'fail' LIMIT 5"
    )
    assert len(failing) > 0
    for survey_id, cell in failing.itertuples(index=False):
        found = surveys.survey(store, survey_id)
        assert found is not None
        low = found.readings[found.readings["beyond"].str.contains("lowest")]
        assert cell in set(low["cell"])
        assert (low["velocity_fpm"] < 60).all(), "common practice: at least 60 at any grid point"
        rest = found.readings[found.readings["kind"].eq("face") & ~found.readings.index.isin(low.index)]
        assert (rest["velocity_fpm"].dropna() >= 60).all()


def test_a_grid_is_compared_with_the_hoods_survey_before(store) -> None:
    one = store.query("SELECT survey_id FROM surveys WHERE hood_id = 'AV-103' AND surveyed_on LIKE '2026%'").iloc[0, 0]
    changes, before = surveys.grid_before(store, one)
    assert pd.Timestamp(before["surveyed_on"]).year == 2025
    assert (changes["velocity_fpm"] - changes["before_fpm"] - changes["change_fpm"]).abs().max() < 1e-9
    assert len(changes) == before["grid_rows"] * before["grid_columns"]


def test_past_due_counts_every_hood_whose_day_is_past_whatever_else_is_wrong_with_it(demo_store) -> None:
    """The manifest lists them from the generator's own calendar; screens, review and decisions share this answer."""
    import datetime as dt
    import json
    from pathlib import Path

    from auditor.answers.states import hood_states, past_due
    from auditor.store import open_store

    manifest = json.loads((Path(__file__).parents[2] / "sample_workbooks/manifest.json").read_text(encoding="utf-8"))
    with open_store(str(demo_store), read_only=True) as store:
        late = past_due(hood_states(store, dt.date(2026, 11, 16)))
    assert set(late["hood_id"]) == {h["hood_id"] for h in manifest["overdue"]} | set(manifest["never_surveyed"])
