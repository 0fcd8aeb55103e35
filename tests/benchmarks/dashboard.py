"""How long the screens take over a large record: the demo's, multiplied to 50,000 surveys and a million readings.

Prints the time of each answer, cold, and, where Chromium is there, of the first chart beside an empty page's.
`python tests/benchmarks/dashboard.py [COPIES]`
"""

from __future__ import annotations

import datetime as dt
import os
import shutil
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TODAY = "2026-11-16"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
# Column -> what a copy number :k makes of it.
CHANGED = {
    "survey_no": "survey_no + :k * 100000", "survey_id": "survey_id || '-' || :k", "hood_id": "hood_id || '-' || :k",
    "row_no": "row_no + :k * 100000", "discrepancy_id": "discrepancy_id || '-' || :k",
    "building": "building || ' ' || (:k % 5)", "room": "room || '-' || :k",
    "grid_fingerprint": "grid_fingerprint || :k",
    "discrepancy_no": "discrepancy_no + :k * 1000000", "register_no": "register_no + :k * 100000",
    "air_handler": "air_handler || '-' || :k",
}  # fmt: skip
TABLES = ("fact_survey", "fact_reading", "judged_survey", "judged_verdict", "judged_finding", "judged_discrepancy",
          "register_row")  # fmt: skip


def demo(path: Path) -> None:
    command = [sys.executable, "-m", "auditor", "demo", "--no-serve", "--store", str(path)]
    subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT, check=False)


def multiply(path: Path, copies: int) -> None:
    """Copies every survey, reading, judgement and hood under other keys, by the database itself."""
    with sqlite3.connect(path) as base:
        for table in TABLES:
            told = list(base.execute(f"PRAGMA table_info({table})"))
            names = [row[1] for row in told]
            keys = [row[1] for row in told if row[5]]
            changed = ", ".join(_other(name, keys) for name in names)
            listed = ", ".join(f'"{name}"' for name in names)
            own = list(base.execute(f"SELECT MAX(rowid) FROM {table}")) if keys != ["survey_no", "reading_no"] else []
            limit = f"WHERE rowid <= {own[0][0]}" if own else "WHERE survey_no < 100000"
            for k in range(1, copies):
                base.execute(f"INSERT INTO {table} ({listed}) SELECT {changed} FROM {table} {limit}", {"k": k})
        base.execute("ANALYZE")


def _other(name: str, keys: list[str]) -> str:
    if name in CHANGED:
        return CHANGED[name]
    numbered = keys == [name] and name.endswith("_no")
    return f'"{name}" + :k * 1000000' if numbered else f'"{name}"'


def timed(label: str, question: Callable[[], object]) -> None:
    start = time.perf_counter()
    question()
    print(f"{time.perf_counter() - start:8.2f} s  {label}", flush=True)


def answers(path: Path) -> None:
    from auditor.answers import drafts, held, hood_states, record, surveys, tables, years

    with record.open_record(str(path)) as store:
        day = dt.date.fromisoformat(TODAY)
        counted = store.query("SELECT (SELECT COUNT(*) FROM fact_survey) a, (SELECT COUNT(*) FROM fact_reading) b")
        print(f"{counted.iloc[0, 0]:,} surveys, {counted.iloc[0, 1]:,} readings")
        one = store.query("SELECT survey_id FROM surveys WHERE status = 'accepted' LIMIT 1").iloc[0, 0]
        timed("state of the record", store.state)
        timed("states of all hoods", lambda: hood_states(store, day))
        timed("coverage", lambda: years.coverage(store, 2026))
        timed("verdicts by building", lambda: years.verdicts_by(store, "building", 2026))
        timed("verdicts of the campus", lambda: years.verdicts_by(store, "year", 2026))
        timed("change", lambda: years.change(store, 2026))
        timed("moves", lambda: years.moves(store, 2026))
        timed("trends", lambda: tables.trends(store))
        timed("cross-drafts by year", lambda: drafts.drafts_by_year(store))
        timed("clusters", lambda: tables.clusters(store))
        timed("reasons held", lambda: held.held_reasons(store))
        timed("held surveys", lambda: held.held_surveys(store))
        timed("one survey with its grid", lambda: surveys.survey(store, str(one)))


def browser(path: Path) -> None:
    chromium = shutil.which("chromium")
    if chromium is None:
        return
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder:
        empty = Path(folder) / "empty.py"
        empty.write_text("import streamlit as st\nst.title('Empty')\n", encoding="utf-8")
        for label, module, page, wait in (
            ("an empty page", "streamlit", empty, "h1"),
            ("the first chart", "dashboard.serve", ROOT / "dashboard" / "app.py", "[data-testid=stVegaLiteChart] svg"),
        ):
            serving, address = serve(module, page, path)
            try:
                with sync_playwright() as player:
                    opened = player.chromium.launch(executable_path=chromium, args=ARGUMENTS, headless=True)
                    for visit in ("first visit", "second visit", "third visit"):
                        tab = opened.new_context().new_page()
                        start = time.perf_counter()
                        tab.goto(address)
                        tab.wait_for_selector(wait, timeout=120_000, state="attached")
                        print(f"{time.perf_counter() - start:8.2f} s  {label}, {visit}", flush=True)
                        tab.close()
                    opened.close()
            finally:
                serving.terminate()
                serving.wait()


def serve(module: str, page: Path, store: Path) -> tuple[subprocess.Popen, str]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [sys.executable, "-m", module, "run", str(page), "--server.address=127.0.0.1", f"--server.port={port}",
             "--server.headless=true", "--browser.gatherUsageStats=false", "--server.fileWatcherType=none"]  # fmt: skip
    environment = os.environ | {"HOODAUDIT_STORE": str(store), "HOODAUDIT_TODAY": TODAY, "HOODAUDIT_READ_ONLY": "1"}
    serving = subprocess.Popen(words, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT)
    address = f"http://127.0.0.1:{port}"
    for _ in range(100):
        try:
            urllib.request.urlopen(f"{address}/_stcore/health", timeout=1).close()
            break
        except OSError:
            time.sleep(0.2)
    return serving, address


def main(copies: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.db"
        demo(path)
        timed(f"{copies} copies of the demo", lambda: multiply(path, copies))
        answers(path)
        browser(path)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
