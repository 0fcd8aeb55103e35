"""Several people at once: what comes of it is what would have come of one after the other."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
import threading
from pathlib import Path

from auditor.store import contract, open_store
from tests.store import samples

ROOT = Path(__file__).parents[2]

INTAKE = """
import sys
from auditor.store import open_store
from tests.store import samples
with open_store(sys.argv[1]) as store:
    for name in sys.argv[2:]:
        store.record(samples.batch(name, ["A-101", "B-7"], f"2026-03-{len(name):02d}"))
"""
RELEASE = """
import sys
from auditor.store import open_store
with open_store(sys.argv[1]) as store:
    for number in range(10):
        with store.transaction():
            store.tag("A-101", "posted", "technician", work_order=str(number))
"""


def start(code: str, *arguments: str) -> subprocess.Popen:
    return subprocess.Popen([sys.executable, "-c", code, *arguments], cwd=ROOT, stderr=subprocess.PIPE, text=True)


def names(letter: str) -> list[str]:
    return [f"{letter * number}.csv" for number in range(1, 11)]


def test_two_intakes_and_a_third_person_at_once(url):
    with open_store(url) as store:
        store.load_register(samples.register(), dt.date(2026, 1, 1))
    # Both bring in 'shared.csv': it goes in once.
    running = [
        start(INTAKE, url, *names("a"), "shared.csv"),
        start(INTAKE, url, "shared.csv", *names("b")),
        start(RELEASE, url),
    ]
    for one in running:
        _, errors = one.communicate(timeout=120)
        assert one.returncode == 0, errors
    with open_store(url) as together, open_store("sqlite://") as alone:
        alone.load_register(samples.register(), dt.date(2026, 1, 1))
        for name in [*names("a"), "shared.csv", *names("b")]:
            alone.record(samples.batch(name, ["A-101", "B-7"], f"2026-03-{len(name):02d}"))
        for name in contract.TABLES:
            one, other = (sorted(map(repr, samples.values(s.table(name)))) for s in (together, alone))
            assert one == other, name
        assert len(together.tags()) == 10
        assert together.verify() == []
        assert together.query("SELECT COUNT(*) AS n FROM fact_arrival WHERE status = 'repeat'")["n"][0] == 1


def test_readers_are_not_disturbed_while_somebody_writes(url):
    """Twenty readers see whole workbooks only, and none of them an error."""
    troubles: list[BaseException] = []
    over = threading.Event()

    def read() -> None:
        try:
            with open_store(url, read_only=True) as store:
                while not over.is_set():
                    assert store.table("workbooks")["surveys"].isin([4]).all()
                    assert len(store.query("SELECT survey_id FROM surveys")) % 4 == 0
        except BaseException as error:  # noqa: BLE001 - told in the main thread
            troubles.append(error)

    with open_store(url) as store:
        readers = [threading.Thread(target=read) for _ in range(20)]
        for reader in readers:
            reader.start()
        for number in range(5):
            store.record(samples.batch(f"{number}.csv", samples.HOODS))
        over.set()
        for reader in readers:
            reader.join(timeout=60)
        assert not troubles
        assert len(store.table("surveys")) == 20


def test_what_is_read_inside_a_transaction_still_holds_when_it_is_written(url):
    """A second writer waits until the first is done, and then sees what it did."""
    order: list[str] = []
    first_reads = threading.Event()

    def second() -> None:
        first_reads.wait(20)
        with open_store(url) as store, store.transaction():
            order.append(f"second sees {len(store.table('surveys'))}")
            store.record(samples.batch("two.csv"))

    thread = threading.Thread(target=second)
    thread.start()
    with open_store(url) as store, store.transaction():
        order.append(f"first sees {len(store.table('surveys'))}")
        first_reads.set()
        thread.join(0.5)
        store.record(samples.batch("one.csv"))
        order.append("first writes")
    thread.join(30)
    assert order == ["first sees 0", "first writes", "second sees 2"]


def test_two_programs_may_make_the_store_at_the_same_moment(tmp_path):
    path = str(tmp_path / "hoods.db")
    running = [
        start("import sys\nfrom auditor.store import open_store\nopen_store(sys.argv[1])", path) for _ in range(4)
    ]
    for one in running:
        _, errors = one.communicate(timeout=60)
        assert one.returncode == 0, errors
    with open_store(path, create=False) as store:
        assert store.table("surveys").empty
