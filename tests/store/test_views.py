"""The public tables: the contract's names and columns, and rules that hold whatever was derived."""

from __future__ import annotations

import re
from pathlib import Path

import pandas as pd
import pytest
import sqlalchemy as sa

from auditor.store import contract, views
from auditor.survey import columns
from tests.store import samples

CONTRACT = Path(__file__).parents[2].parent / "shared" / "contract.md"


@pytest.fixture
def full(store):
    store.load_register(samples.register(), pd.Timestamp("2026-01-01").date())
    store.record(samples.batch())
    return store


def test_columns_agree_with_those_of_the_frames():
    assert list(contract.REGISTER) == columns.REGISTER
    assert list(contract.WORKBOOKS) == columns.WORKBOOKS
    assert list(contract.FINDINGS) == columns.FINDINGS
    assert list(contract.VERDICTS) == columns.VERDICTS
    assert set(contract.READING_FACTS) == set(columns.READINGS[4:])


@pytest.mark.skipif(not CONTRACT.exists(), reason="the contract is not beside this checkout")
@pytest.mark.parametrize("name", contract.TABLES)
def test_columns_are_the_contracts_in_its_order(name):
    line = next(line for line in CONTRACT.read_text().splitlines() if line.startswith(f"- **{name}**:"))
    words = re.sub(r"\([^)]*\)", "", line.split(":", 1)[1].split(". `register load`")[0])
    assert re.findall(r"`(\w+)`", words) == list(contract.TABLES[name])


def test_views_and_frames_have_exactly_these_columns(full):
    for name, columns_due in contract.TABLES.items():
        assert list(full.query(f"SELECT * FROM {name}").columns) == list(columns_due)
        assert list(full.table(name).columns) == list(columns_due)
        assert len(full.table(name)) > 0


def test_there_is_a_view_for_every_public_table(full):
    with full._connection() as connection:
        assert set(sa.inspect(connection).get_view_names()) == set(contract.TABLES) == set(views.definitions())


def test_types_do_not_change_when_a_table_is_empty(store, full):
    for name in contract.TABLES:
        some = full.table(name)
        assert list(full.table(name, **{next(iter(some.columns)): "nothing"}).dtypes) == list(some.dtypes)


def test_the_register_stands_behind_the_place_of_a_survey(full):
    first = full.table("surveys").iloc[0]
    assert (first["building"], first["floor"]) == ("Alder", "1")  # written on the sheet: 'Alder hall', no floor


def test_a_held_survey_has_a_provisional_verdict_and_no_other(store):
    batch = samples.batch(verdicts=samples.verdicts(samples.batch().surveys, "fail"))
    batch.surveys["status"] = ["held", "accepted"]
    store.record(batch)
    held, accepted = (store.table("surveys", status=status).iloc[0] for status in ("held", "accepted"))
    assert (held["provisional_verdict"], accepted["verdict"]) == ("fail", "fail")
    assert held[["verdict", "guarded_verdict"]].isna().all()
    assert pd.isna(accepted["provisional_verdict"])
    assert store.table("verdicts")["survey_id"].tolist() == [accepted["survey_id"]]
    assert store.table("workbooks")["held"].tolist() == [1]


def test_filters_take_a_value_a_list_or_nothing(full):
    assert len(full.table("surveys", hood_id="A-101")) == 1
    assert len(full.table("surveys", hood_id=["A-101", "A-102"], status="accepted")) == 2
    assert len(full.table("surveys", room=None)) == 2
    assert len(full.table("surveys", surveyed_on=pd.Timestamp("2026-03-02"))) == 2
    assert full.table("surveys", hood_id=[]).empty


def test_unknown_names_are_told(full):
    with pytest.raises(ValueError, match="no table 'hoods'"):
        full.table("hoods")
    with pytest.raises(ValueError, match="no column 'x'"):
        full.table("surveys", x=1)


def test_text_in_a_filter_is_a_value_and_never_sql(full):
    assert full.table("surveys", hood_id="' OR 1=1 --").empty
    assert len(full.query("SELECT * FROM surveys WHERE hood_id = :hood", {"hood": "A-101"})) == 1


def test_aggregates_run_in_the_database(full):
    counts = full.query("SELECT building, COUNT(*) AS surveys FROM surveys GROUP BY building")
    assert counts.to_dict("records") == [{"building": "Alder", "surveys": 2}]
