"""The register's rows are dated: a past survey is judged by the hood as it was then."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest

from auditor.survey.columns import REGISTER
from tests.store import samples

FIRST, SECOND = dt.date(2025, 1, 15), dt.date(2026, 2, 1)


def moved() -> pd.DataFrame:
    rows = samples.register()
    rows.loc[0, ["building", "room", "air_handler"]] = ["Birch", "9", "AH-2"]
    return rows


@pytest.fixture
def twice(store):
    store.load_register(samples.register(), FIRST)
    change = store.load_register(moved(), SECOND)
    assert (change.added, change.changed) == ([], ["A-101"])
    assert change.unchanged == ["A-102", "B-7", "B-8"]
    return store


def test_a_first_load_adds_everything_with_the_contracts_columns(store):
    change = store.load_register(samples.register(), FIRST)
    assert change.added == samples.HOODS
    register = store.register()
    assert list(register.columns) == REGISTER
    assert register["working_sash_in"].tolist()[:3] == [18.0] * 3
    assert register["interval_months"].tolist()[:3] == [12, 12, 6]
    assert register["in_service"].tolist() == [True, True, True, False]
    assert register["installed_on"][0] == pd.Timestamp("2015-03-01")
    assert register["x_ft"].isna().all()


def test_the_first_rows_hold_for_surveys_of_any_age(store):
    store.load_register(samples.register(), FIRST)
    assert len(store.register(dt.date(1950, 1, 1))) == 4


def test_the_same_register_again_changes_nothing(store):
    store.load_register(samples.register(), FIRST)
    head, before = store.head(), samples.values(store.register_history())
    assert store.load_register(samples.register(), SECOND).unchanged == samples.HOODS
    assert (store.head(), samples.values(store.register_history())) == (head, before)


def test_a_hood_that_moves_keeps_its_past_place(twice):
    now = twice.register().set_index("hood_id")
    then = twice.register(dt.date(2026, 1, 31)).set_index("hood_id")
    assert (now["room"]["A-101"], then["room"]["A-101"]) == ("9", "101")
    assert twice.register(SECOND).set_index("hood_id")["air_handler"]["A-101"] == "AH-2"
    assert twice.table("register").set_index("hood_id")["building"]["A-101"] == "Birch"
    assert len(now) == len(then) == 4


def test_history_joins_without_a_gap(twice):
    rows = twice.register_history()
    mine = rows[rows["hood_id"] == "A-101"]
    assert mine["valid_to"].tolist()[0] == mine["valid_from"].tolist()[1] == pd.Timestamp(SECOND)
    assert pd.isna(mine["valid_to"].tolist()[1])
    assert len(rows) == 5


def test_a_correction_on_the_same_day_leaves_one_row_for_every_day(twice):
    rows = moved()
    rows.loc[0, "room"] = "10"
    twice.load_register(rows, SECOND)
    history = twice.register_history()
    assert history[history["hood_id"] == "A-101"]["room"].tolist() == ["101", "10"]
    assert len(twice.register(SECOND)) == 4


def test_the_day_of_a_change_can_be_given(store):
    store.load_register(samples.register(), FIRST)
    day = pd.Timestamp("2025-11-30")
    store.load_register(moved().assign(valid_from=[day] + [pd.NaT] * 3), SECOND)
    assert store.register(dt.date(2025, 11, 29)).set_index("hood_id")["room"]["A-101"] == "101"
    assert store.register(dt.date(2025, 11, 30)).set_index("hood_id")["room"]["A-101"] == "9"


def test_a_column_that_is_absent_changes_nothing_and_an_empty_one_does(twice):
    change = twice.load_register(moved()[["hood_id", "building"]], dt.date(2026, 3, 1))
    assert change.unchanged == samples.HOODS
    change = twice.load_register(moved()[["hood_id"]].assign(air_handler=None), dt.date(2026, 3, 1))
    assert change.changed == samples.HOODS
    assert twice.register()["air_handler"].isna().all()


def test_a_hood_that_a_file_leaves_out_stays(twice):
    twice.load_register(moved().head(1), dt.date(2026, 3, 1))
    assert len(twice.register()) == 4


def test_a_tag_in_other_capitals_is_the_same_hood(twice):
    rows = moved().head(1).assign(hood_id="a-101")
    assert twice.load_register(rows, dt.date(2026, 3, 1)).unchanged == ["A-101"]


def test_instruments_events_and_aliases_are_added_once(store):
    instruments = pd.DataFrame({"instrument_id": ["T-1"], "kind": ["thermal"], "accuracy_percent": [3.0]})
    events = pd.DataFrame(
        {"happened_on": [pd.Timestamp("2025-06-01")], "event": ["rebalanced"], "air_handler": ["AH-1"]}
    )
    aliases = pd.DataFrame({"alias": ["H1"], "hood_id": ["A-101"]})
    for _ in range(2):
        store.load_register(samples.register(), FIRST, instruments=instruments, events=events, aliases=aliases)
    assert store.instruments()[["instrument_id", "accuracy_percent"]].values.tolist() == [["T-1", 3.0]]
    assert store.events()["happened_on"].tolist() == [pd.Timestamp("2025-06-01")]
    assert store.aliases().to_dict("records") == [{"alias": "H1", "hood_id": "A-101"}]
    assert store.verify() == []
