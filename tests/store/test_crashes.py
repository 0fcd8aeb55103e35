"""A pulled plug, a full disk: each workbook is in the store whole or not at all, and running again completes it."""

from __future__ import annotations

import itertools
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

from auditor.store import StoreUnavailable, bulk, open_store
from tests.store import samples

ROOT = Path(__file__).parents[2]
KILLS = int(os.environ.get("HOODAUDIT_TEST_KILLS", "3"))

WRITER = """
import datetime, sys
from auditor.store import open_store
from tests.store import samples
with open_store(sys.argv[1]) as store:
    print("ready", flush=True)
    for number in range(40):
        store.load_register(samples.register().assign(department=str(number)), datetime.date(2026, 1, 1 + number % 28))
        batch = samples.batch(f"{number}.csv", [f"H-{n}" for n in range(20)])
        store.record(batch)
        store.release([batch.surveys["survey_id"][0]], "seen", "analyst")
        print("done", number, flush=True)
"""


def write(url: str) -> subprocess.Popen:
    command = [sys.executable, "-c", WRITER, url]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def whole(store) -> int:
    """Checks that every workbook is there with all that belongs to it; how many there are."""
    workbooks = store.table("workbooks")
    assert store.verify() == []
    assert (workbooks["surveys"] == 20).all()
    assert (workbooks["sheets"] == 21).all()
    assert len(store.table("surveys")) == 20 * len(workbooks)
    assert len(store.table("readings")) == 140 * len(workbooks)
    assert len(store.table("verdicts")) == 20 * len(workbooks)
    assert len(store.register()) in (0, 4)
    released = store.decisions()["survey_id"].nunique()  # a workbook may lack the release that would have followed
    assert released in (len(workbooks), len(workbooks) - 1)
    return len(workbooks)


def test_killed_at_any_moment_the_store_holds_workbooks_whole_or_not_at_all(url):
    chance = random.Random(7)
    reported = 0
    for _ in range(KILLS):
        writer = write(url)
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
        time.sleep(chance.uniform(0.05, 0.6))
        writer.send_signal(signal.SIGKILL)
        out, _ = writer.communicate(timeout=30)
        reported = max(reported, sum(line.startswith("done") for line in out.splitlines()))
        with open_store(url) as store:
            assert whole(store) >= reported, "what was reported done was lost"
            assert store.query("SELECT COUNT(*) AS n FROM fact_arrival")["n"][0] >= reported
    with open_store(url) as store:
        here = len(store.table("workbooks"))
        for number in range(here + 1):
            store.record(samples.batch(f"{number}.csv", [f"H-{n}" for n in range(20)]))
        assert len(store.table("workbooks")) == here + 1


FILLER = """
import resource, signal, sys
from auditor.store import open_store, StoreUnavailable
from tests.store import samples
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with open_store(sys.argv[1]) as store:
    resource.setrlimit(resource.RLIMIT_FSIZE, (1_500_000, 1_500_000))
    for number in range(400):
        try:
            store.record(samples.batch(f"{number}.csv", [f"H-{n}" for n in range(20)]))
        except StoreUnavailable as error:
            print(number, str(error).splitlines())
            break
"""


def test_a_disk_that_takes_no_more_is_told_and_loses_nothing(tmp_path):
    """The limit on the size of a file stands in for a full disk."""
    path = tmp_path / "hoods.db"
    command = [sys.executable, "-c", FILLER, str(path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=120)
    number, _, message = done.stdout.partition(" ")
    assert "disk" in message, done.stdout + done.stderr
    assert message.count("', '") == 0
    assert "Traceback" not in done.stderr
    with open_store(str(path)) as store:
        assert store.verify() == []
        assert len(store.table("workbooks")) == int(number) > 0
        batch = samples.batch(f"{number}.csv", [f"H-{n}" for n in range(20)])
        assert store.record(batch).new == [batch.files[0].sha256]


def test_a_backup_of_a_live_store_is_whole(tmp_path):
    """SQLite's own backup while somebody writes: what DEVELOPERS.md tells people to do."""
    path, copy = tmp_path / "hoods.db", tmp_path / "copy.db"
    writer = write(str(path))
    assert writer.stdout is not None
    for _ in range(3):
        writer.stdout.readline()
    with sqlite3.connect(path) as source, sqlite3.connect(copy) as target:
        source.backup(target)
    writer.send_signal(signal.SIGKILL)
    writer.communicate(timeout=30)
    with open_store(str(copy)) as store:
        assert whole(store) >= 1


def test_a_fault_at_any_write_takes_the_whole_batch_back(tmp_path, monkeypatch):
    """The first bulk write fails as on a bad disk, then the second, and so on until the batch goes in."""
    real = bulk.insert

    def failing_at(step: int):
        left = iter(range(step - 1, -1, -1))

        def insert(*arguments):
            if next(left, -1) == 0:
                raise sqlite3.OperationalError("disk I/O error")
            real(*arguments)

        return insert

    with open_store(str(tmp_path / "hoods.db")) as store:
        store.record(samples.batch("first.csv"))
        head = store.head()
        for step in itertools.count(1):
            monkeypatch.setattr(bulk, "insert", failing_at(step))
            try:
                store.record(samples.batch("second.csv"))
                break
            except StoreUnavailable as error:
                told = str(error)
            assert "check the disk" in told
            assert store.head() == head
            assert store.table("workbooks")["workbook"].tolist() == ["first.csv"]
            assert store.verify() == []
        assert step > 10
        assert len(store.table("workbooks")) == 2
        assert store.verify() == []
