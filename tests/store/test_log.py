"""The log is unbroken as long as nobody goes behind its back; every way of doing so is found and named."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from contextlib import suppress

import pandas as pd
import pytest
import sqlalchemy as sa

from auditor.store.engine import begun
from tests.store import samples


@pytest.fixture
def kept(store):
    """A store with something of every kind in it."""
    happened = {"happened_on": [pd.Timestamp("2025-06-01")], "event": ["rebalanced"], "air_handler": ["AH-1"]}
    store.load_register(samples.register(), dt.date(2026, 1, 1), events=pd.DataFrame(happened))
    store.record(samples.batch())
    store.record(samples.batch("cobalt.csv", ["B-7"], "2026-03-09"))
    survey = store.table("surveys")["survey_id"][0]
    store.settle(survey, {"unit": "ft/min"}, "telephone call", "analyst", dt.datetime(2026, 3, 10, 9, 0))
    store.release([survey], "seen", "analyst")
    store.tag("A-101", "posted", "technician", work_order="W-17")
    assert store.verify() == []
    return store


def tamper(store, statement: str, **values) -> None:
    with begun(store._engine, writing=True) as connection:
        done = connection.execute(sa.text(statement), values)
        assert done.rowcount > 0, "the tampering itself did not take place"


ALTERATIONS = {
    "a reading's value": "UPDATE fact_reading SET value = value + 20 WHERE survey_no = 1 AND reading_no = 3",
    "a reading's text": "UPDATE fact_reading SET written = '120' WHERE survey_no = 1 AND reading_no = 1",
    "a reading removed": "DELETE FROM fact_reading WHERE survey_no = 2 AND reading_no = 7",
    "a reading moved": 'UPDATE fact_reading SET "row" = 9 WHERE survey_no = 1 AND reading_no = 1',
    "a survey's fields": "UPDATE fact_survey SET fields = '{}' WHERE survey_no = 1",
    "a survey's sheet": "UPDATE fact_survey SET sheet = 'B-9' WHERE survey_no = 1",
    "what a sheet showed": "DELETE FROM fact_problem WHERE code = 'row-hidden'",
    "a workbook's bytes": "UPDATE fact_file SET data = :data WHERE file_no = 1",
    "a workbook's bytes gone": "UPDATE fact_file SET data = NULL WHERE file_no = 1",
    "a decision's words": "UPDATE decision SET detail = '{}' WHERE kind = 'settle'",
    "a decision's author": "UPDATE decision SET made_by = 'somebody else' WHERE kind = 'release'",
    "a decision's day": "UPDATE decision SET made_at = '2020-01-01T00:00:00' WHERE kind = 'settle'",
    "a decision removed": "DELETE FROM decision WHERE kind = 'tag'",
    "a register row": "UPDATE register_row SET room = '999' WHERE hood_id = 'A-101'",
    "a register row closed": "UPDATE register_row SET valid_to = '2026-02-01' WHERE hood_id = 'A-101'",
    "a register row added": "INSERT INTO register_row (row_no, load_no, hood_id, valid_from) "
    "VALUES (99, 1, 'Z-9', '1900-01-01')",
    "an event": "UPDATE register_event SET event = 'nothing'",
    "an event removed": "DELETE FROM register_event",
    "an instrument added": "INSERT INTO register_instrument (row_no, instrument_id) VALUES (9, 'T-9')",
    "a log entry's words": "UPDATE log_entry SET body = '{}' WHERE kind = 'release'",
    "every log entry's words": "UPDATE log_entry SET body = '[]'",
    "log entries that are no JSON": "UPDATE log_entry SET body = 'words'",
    "a workbook's entry": "UPDATE log_entry SET body = '{}' WHERE kind = 'workbook'",
    "a log entry's author": "UPDATE log_entry SET made_by = 'x' WHERE entry_no = 2",
    "a log entry removed": "DELETE FROM log_entry WHERE entry_no = 3",
    "the log's end removed": "DELETE FROM log_entry WHERE entry_no = (SELECT MAX(entry_no) FROM log_entry)",
    "the mark of its end": "UPDATE log_head SET entry_no = entry_no - 1",
}


def breaks_after(store, statement: str) -> list[str]:
    """What `verify` finds after an alteration, which is then taken back."""

    class TakeBack(Exception):
        pass

    found: list[str] = []
    with suppress(TakeBack), store.transaction(), store._connection() as connection:
        data = {"data": b"PK other bytes"} if ":data" in statement else {}
        assert connection.execute(sa.text(statement), data).rowcount > 0, "the alteration did not take place"
        found += store.verify()
        raise TakeBack
    return found


def test_every_alteration_is_found(kept):
    found = {what: breaks_after(kept, statement) for what, statement in ALTERATIONS.items()}
    assert [what for what, breaks in found.items() if not breaks] == []
    assert all(isinstance(one, str) and one for breaks in found.values() for one in breaks)
    assert kept.verify() == []


def test_a_break_names_the_workbook(kept):
    tamper(kept, ALTERATIONS["a reading's value"])
    (found,) = kept.verify()
    assert "amber.xlsx" in found
    assert "readings were altered" in found


def test_something_added_behind_the_logs_back_is_found(kept):
    tamper(kept, "INSERT INTO fact_file (file_no, sha256, workbook) VALUES (99, 'x', 'slipped-in.xlsx')")
    assert any("slipped-in.xlsx" in one and "not in the log" in one for one in kept.verify())


def test_a_forged_decision_is_found(kept):
    tamper(
        kept,
        "INSERT INTO decision (decision_no, kind, survey_id, detail, made_by, made_at) "
        "VALUES (99, 'release', 's', '{}', 'x', '2026-01-01')",
    )
    assert any("decision 99" in one for one in kept.verify())


def test_a_chain_made_anew_is_found_by_a_head_that_was_written_down(kept):
    """Who can write to the database can also compute a new chain: only what was noted elsewhere shows it."""
    head = kept.head()
    tamper(kept, "UPDATE decision SET made_by = 'somebody else' WHERE kind = 'tag'")
    with begun(kept._engine, writing=True) as connection:
        rows = connection.execute(sa.text("SELECT * FROM log_entry ORDER BY entry_no")).mappings().all()
        previous = "0" * 64
        for row in rows:
            by = "somebody else" if row["kind"] == "tag" else row["made_by"]
            new = the_hash(row["entry_no"], row["kind"], row["subject"], by, row["made_at"], row["body"], previous)
            connection.execute(
                sa.text("UPDATE log_entry SET made_by = :by, previous_hash = :p, hash = :h WHERE entry_no = :n"),
                {"by": by, "p": previous, "h": new, "n": row["entry_no"]},
            )
            previous = new
        connection.execute(sa.text("UPDATE log_head SET hash = :h"), {"h": previous})
    assert kept.verify() == []
    assert kept.verify(expected_head=head) != []


def the_hash(*entry) -> str:
    """An entry's hash as the documentation has it: SHA-256 of the entry's parts as a JSON array without blanks."""
    return hashlib.sha256(json.dumps(entry, separators=(",", ":"), ensure_ascii=False).encode()).hexdigest()


def test_hashes_can_be_recomputed_by_anyone(kept):
    rows = kept.query("SELECT * FROM log_entry ORDER BY entry_no").to_dict("records")
    previous = "0" * 64
    for row in rows:
        parts = [row[name] for name in ("entry_no", "kind", "subject", "made_by", "made_at", "body")]
        assert row["previous_hash"] == previous
        assert row["hash"] == the_hash(*parts, previous)
        previous = row["hash"]
    assert kept.head() == (len(rows), previous)
    assert [row["kind"] for row in rows] == ["register", "events", "workbook", "workbook", "settle", "release", "tag"]


def test_judging_again_leaves_the_log_as_it_is(kept):
    head = kept.head()
    batch = samples.batch()
    batch.surveys["status"] = "held"
    kept.replace_judgements(batch)
    assert (kept.head(), kept.verify()) == (head, [])


def test_decisions_come_back_in_order_with_who_and_why(kept):
    decisions = kept.decisions()
    assert decisions["kind"].tolist() == ["settle", "release", "tag"]
    assert decisions["detail"][0] == {"values": {"unit": "ft/min"}, "evidence": "telephone call"}
    assert decisions["made_at"][0] == "2026-03-10T09:00:00"
    assert decisions["detail"][1]["reason"] == "seen"
    assert len(kept.decisions([decisions["survey_id"][0]])) == 2
    assert kept.decisions(["nobody"]).empty


def test_the_log_of_notices(kept):
    kept.tag("A-101", "removed", "technician", dt.date(2026, 5, 1))
    tags = kept.tags()
    assert tags["action"].tolist() == ["posted", "removed"]
    assert tags["work_order"].tolist()[0] == "W-17"
    assert pd.isna(tags["work_order"][1])
    assert tags["made_at"][1] == "2026-05-01"


REFUSED = [
    (lambda s: s.settle("nobody", {"unit": "m/s"}, "e", "a"), "no survey 'nobody'"),
    (lambda s: s.settle("nobody", {}, "e", "a"), "values is missing"),
    (lambda s: s.settle("nobody", {"unit": "m/s"}, " ", "a"), "evidence is missing"),
    (lambda s: s.release(["nobody"], "r", "a"), "no survey 'nobody'"),
    (lambda s: s.release([], "r", "a"), "surveys is missing"),
    (lambda s: s.release(["nobody"], "r", ""), "by is missing"),
    (lambda s: s.tag("Z-9", "posted", "a"), "'Z-9' is not in the register"),
    (lambda s: s.tag("A-101", "lost", "a"), "posted or removed"),
]


def test_a_decision_without_subject_or_reason_is_not_kept(kept):
    head = kept.head()
    for call, message in REFUSED:
        with pytest.raises(ValueError, match=message):
            call(kept)
    assert kept.head() == head
