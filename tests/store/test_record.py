"""Recording: facts come back exactly, the same bytes change nothing, and a batch goes in whole or not at all."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.store import Batch, FileRecord, contract, open_store
from auditor.survey.columns import READINGS, TEXT_FIELDS
from tests.store import samples


def contents(store) -> dict[str, list]:
    return {name: samples.values(store.table(name)) for name in contract.TABLES}


def test_surveys_and_readings_come_back_exactly_as_written(store):
    batch = samples.batch()
    store.record(batch)
    surveys, readings = store.facts()
    assert samples.values(surveys) == samples.values(batch.surveys[surveys.columns])
    assert samples.values(readings) == samples.values(batch.readings[READINGS])
    assert list(readings.columns) == READINGS


def test_facts_of_some_surveys_are_those_alone(store):
    batch = samples.batch()
    store.record(batch)
    second = batch.surveys["survey_id"][1]
    surveys, readings = store.facts([second])
    assert surveys["survey_id"].tolist() == [second]
    assert samples.values(readings) == samples.values(batch.readings[READINGS][batch.readings["survey_id"] == second])


def test_facts_of_an_empty_store_have_their_columns(store):
    surveys, readings = store.facts()
    assert surveys.empty
    assert readings.empty
    assert list(readings.columns) == READINGS


texts = st.one_of(st.none(), st.text(st.characters(exclude_characters="\x00", exclude_categories=["Cs"])))
floats = st.one_of(st.none(), st.floats(allow_nan=False, allow_infinity=False))


@settings(max_examples=20, deadline=None)
@given(written=st.lists(st.tuples(texts, floats, texts), min_size=1, max_size=8), number=st.integers(0, 10**9))
def test_any_text_and_any_number_survives(written, number):
    batch = samples.batch(name=f"{number}.csv", hoods=["A-101"])
    rows = pd.concat([batch.readings.head(1)] * len(written), ignore_index=True)
    batch.readings = rows.assign(
        written=pd.Series([w[0] for w in written], dtype="str"),
        value=pd.Series([w[1] for w in written], dtype=float),
        position=pd.Series([w[2] for w in written], dtype="str"),
    )
    batch.surveys["observations"] = batch.surveys["observations_written"] = written[0][2]
    with open_store("sqlite://") as store:
        store.record(batch)
        surveys, readings = store.facts()
        assert samples.values(readings) == samples.values(batch.readings[READINGS])
        assert samples.values(surveys) == samples.values(batch.surveys[surveys.columns])
        assert store.verify() == []


def test_characters_that_no_database_keeps_are_marked_and_lose_nothing_else(store):
    batch = samples.batch()
    batch.readings["written"] = "9\x008"
    batch.surveys["observations"] = pd.Series(["half a pair \ud800 here"] * 2, dtype=object)
    batch.files[0].name = "nul\x00.xlsx"
    store.record(batch)
    assert set(store.table("readings")["written"]) == {"9\ufffd8"}
    assert store.table("surveys")["observations"][0] == "half a pair \ufffd here"
    assert store.verify() == []


def test_the_same_bytes_again_change_nothing(store):
    batch = samples.batch()
    assert store.record(batch).new == [batch.files[0].sha256]
    before, log = contents(store), store.head()
    again = samples.batch()
    again.files[0].received_at = "2027-01-01T00:00:00+00:00"
    again.surveys["status"] = "held"  # whatever else the batch says of them
    assert store.record(again).repeats == [batch.files[0].sha256]
    assert contents(store) == before
    assert store.head() == log
    arrivals = store.query("SELECT status FROM fact_arrival ORDER BY arrival_no")
    assert arrivals["status"].tolist() == ["read", "repeat"]


def test_the_same_bytes_under_another_name_are_listed_as_a_repeat_that_counts_nothing(store):
    batch = samples.batch()
    copy = FileRecord(batch.files[0].sha256, "copy.xlsx", "/in/copy.xlsx", batch.files[0].data)
    batch.files.append(copy)
    done = store.record(batch)
    assert (done.new, done.repeats) == ([copy.sha256], [])
    workbooks = store.table("workbooks")
    assert workbooks["status"].tolist() == ["read", "repeat"]
    assert workbooks["surveys"].tolist() == [2, 0]
    assert workbooks["sheets"].tolist() == [3, 0]


def test_known_names_the_bytes_that_are_there(store):
    batch = samples.batch()
    store.record(batch)
    assert store.known([batch.files[0].sha256, "0" * 64]) == {batch.files[0].sha256}


def test_bytes_are_kept_whole(store):
    kept = [b"PK\x03\x04 a zip", b"hood,date\nA-1,2026-01-01\n" * 500, b"", b"\x00\xff"]
    store.record(Batch(files=[FileRecord(samples.sha(data), "x.csv", data=data) for data in kept]))
    assert [store.workbook_bytes(samples.sha(data)) for data in kept] == kept
    assert store.workbook_bytes("0" * 64) is None
    assert store.verify() == []


def test_an_unreadable_file_is_kept_with_its_reason_and_its_discrepancy(store):
    sha256 = samples.sha(b"junk")
    found = {
        "workbook": "junk.xlsx", "workbook_sha256": sha256, "code": "file-unreadable", "severity": "hold",
        "message": "The file is damaged.", "remedy": "Send it again.",
    }  # fmt: skip
    file = FileRecord(sha256, "junk.xlsx", "", b"junk", status="unreadable", reason="the file is damaged")
    store.record(
        Batch(files=[file], discrepancies=pd.DataFrame([found]).reindex(columns=list(contract.DISCREPANCIES)[1:]))
    )
    (workbook,) = store.table("workbooks").to_dict("records")
    assert (workbook["status"], workbook["reason"], workbook["sheets"]) == ("unreadable", "the file is damaged", 0)
    (discrepancy,) = store.table("discrepancies").to_dict("records")
    assert (discrepancy["code"], discrepancy["workbook"], discrepancy["state"]) == (
        "file-unreadable",
        "junk.xlsx",
        "open",
    )


def test_sheets_and_what_they_showed_are_kept(store):
    batch = samples.batch()
    store.record(batch)
    assert store.sheets()["outcome"].tolist() == ["set aside", "read", "read"]
    assert store.sheets(batch.files[0].sha256)["sheet"].tolist() == ["Cover", "A-101", "A-102"]
    assert store.problems()["code"].tolist() == ["row-hidden", "sheet-hidden"]
    assert store.problems([batch.surveys["survey_id"][0]])["code"].tolist() == ["row-hidden"]
    assert store.problems([batch.surveys["survey_id"][1]]).empty


def test_a_batch_that_fails_leaves_nothing_behind(store):
    batch = samples.batch()
    stranger = samples.batch("other.xlsx")
    batch.surveys = pd.concat([batch.surveys, stranger.surveys], ignore_index=True)  # of a file that is not in it
    with pytest.raises(ValueError, match="not in the record"):
        store.record(batch)
    assert all(not rows for rows in contents(store).values())
    assert store.head()[0] == 0


def test_several_calls_in_one_transaction_stand_or_fall_together(store):
    def record_and_stop() -> None:
        with store.transaction():
            store.record(samples.batch())
            assert len(store.table("surveys")) == 2  # it sees its own writing
            raise RuntimeError("stop")

    with pytest.raises(RuntimeError, match="stop"):
        record_and_stop()
    assert store.table("workbooks").empty
    with store.transaction():
        store.record(samples.batch())
        store.release([store.table("surveys")["survey_id"][0]], "seen", "analyst")
    assert len(store.decisions()) == 1
    assert store.verify() == []


def test_tables_do_not_depend_on_the_order_in_which_workbooks_came():
    one, two = samples.batch("one.xlsx"), samples.batch("two.xlsx", ["B-7", "B-8"], "2026-03-03")
    seen = []
    for order in ([one, two], [two, one]):
        with open_store("sqlite://") as store:
            for batch in order:
                store.record(batch)
            rows = contents(store)
            rows["readings"].sort(key=repr)
            seen.append(rows)
    assert seen[0] == seen[1]


def test_large_sets_of_keys_are_looked_up_in_parts(store):
    store.record(samples.batch())
    ids = [f"nobody-{number}" for number in range(25_000)]
    wanted = store.table("surveys")["survey_id"].tolist()
    assert len(store.table("surveys", survey_id=ids + wanted)) == 2
    assert len(store.facts(ids + wanted)[0]) == 2
    assert len(store.grid_keys([*ids, "print-A-101"])) == 1
    days = [(one, pd.Timestamp("2026-03-02")) for one in [*ids[:6000], "A-101"]]
    assert store.occasions(days)["hood_id"].tolist() == ["A-101"]
    assert len(store.occasions()) == 2


def test_batch_frames_may_have_any_index_and_any_text_type(store):
    batch = samples.batch()
    batch.surveys.index = pd.Index([7, 7])
    batch.readings = batch.readings.astype(object).set_index(pd.Index(np.arange(len(batch.readings)) * 2))
    store.record(batch)
    assert store.table("readings")["velocity_fpm"].notna().sum() == 12
    assert set(TEXT_FIELDS) <= set(store.facts()[0].columns)
