"""The tables have a version. `schema_1.sql` is the first schema as SQLite keeps it; it never changes again. A change
of tables takes a new version, a migration, and a file of its own here:

    HOODAUDIT_WRITE_SCHEMA=1 pytest tests/store/test_schema.py
"""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest

from auditor.store import StoreUnavailable, contract, open_store, schema, views
from auditor.store.tables import SCHEMA_VERSION
from tests.store import samples

HERE = Path(__file__).parent


def tables_of(path: Path) -> str:
    """What SQLite keeps of tables and indexes, one statement after the other."""
    with sqlite3.connect(path) as connection:
        rows = connection.execute(
            "SELECT sql FROM sqlite_master WHERE type <> 'view' AND sql IS NOT NULL ORDER BY type DESC, name"
        )
        return "".join(f"{' '.join(sql.split())};\n" for (sql,) in rows)


def test_the_tables_are_those_of_their_version(tmp_path):
    open_store(str(tmp_path / "hoods.db")).close()
    kept = HERE / f"schema_{SCHEMA_VERSION}.sql"
    if os.environ.get("HOODAUDIT_WRITE_SCHEMA") and not kept.exists():
        kept.write_text(tables_of(tmp_path / "hoods.db"))
    assert tables_of(tmp_path / "hoods.db") == kept.read_text(), "changed tables need a new SCHEMA_VERSION"


@pytest.mark.parametrize("version", range(1, SCHEMA_VERSION + 1))
def test_a_store_of_any_earlier_version_can_be_opened_and_used(tmp_path, version):
    path = tmp_path / "old.db"
    with sqlite3.connect(path) as connection:
        connection.executescript((HERE / f"schema_{version}.sql").read_text())
        connection.execute("INSERT INTO schema_version VALUES (?, 'views of that time')", [version])
    with open_store(str(path)) as store:
        store.record(samples.batch())
        assert store.verify() == []
        assert all(len(store.table(name)) for name in contract.TABLES if name != "register")
    assert tables_of(path) == (HERE / f"schema_{SCHEMA_VERSION}.sql").read_text()


def test_views_follow_their_definitions_without_a_new_version(url, monkeypatch):
    changed = {**views.definitions(), "verdicts": views.definitions()["verdicts"].replace("<> 'held'", "<> 'nothing'")}
    with monkeypatch.context() as patch:
        patch.setattr(views, "definitions", lambda: changed)
        with open_store(url) as store:
            batch = samples.batch()
            batch.surveys["status"] = "held"
            store.record(batch)
            assert len(store.table("verdicts")) == 2
    with open_store(url, read_only=True) as store:  # reading leaves everything as it is
        assert len(store.table("verdicts")) == 2
    with open_store(url) as store:
        assert store.table("verdicts").empty


def test_migrations_run_in_order_and_all_or_none(tmp_path, monkeypatch):
    path = str(tmp_path / "hoods.db")
    with open_store(path) as store:
        store.record(samples.batch())

    def fails(_connection) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    def adds(column: str):
        return lambda connection: connection.exec_driver_sql(f"ALTER TABLE fact_file ADD COLUMN {column} TEXT")

    monkeypatch.setattr(schema, "SCHEMA_VERSION", SCHEMA_VERSION + 2)
    monkeypatch.setattr(schema, "MIGRATIONS", {SCHEMA_VERSION: adds("one"), SCHEMA_VERSION + 1: fails})
    with pytest.raises(StoreUnavailable, match="check the disk"):
        open_store(path)
    with pytest.raises(StoreUnavailable, match="older version"):
        open_store(path, read_only=True)
    schema.MIGRATIONS[SCHEMA_VERSION + 1] = adds("two")
    with open_store(path) as store:
        names = store.query("SELECT name FROM pragma_table_info('fact_file')")["name"].tolist()
        assert names[-2:] == ["one", "two"]
        assert len(store.table("surveys")) == 2
        assert store.verify() == []
