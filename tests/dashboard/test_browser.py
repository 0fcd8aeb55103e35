"""The served demo in a real browser: by clicking from a building to a hood to its grid; every page in two widths."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.dashboard.conftest import SAMPLES

pytestmark = pytest.mark.browser

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
# Streamlit's page looks for its server below the page's own address first and then one level up: a 404 by design.
BY_DESIGN = "/_stcore/"
PAGES = {
    "": "This year", "cross-drafts": "Cross-drafts", "hood?hood=AV-103": "Hood AV-103", "work-list": "Work list",
    "intake": "Intake", "contractors": "Contractors",
}  # fmt: skip


@contextlib.contextmanager
def serving(store: Path, *more: str) -> Iterator[str]:
    """A record served as `hoodaudit dashboard` serves it; gives its address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "auditor", "dashboard", "--store", str(store), "--port", str(port)]
    process = subprocess.Popen(
        [*command, "--as-of", "2026-11-16", *more],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip
    try:
        _wait_for(f"http://127.0.0.1:{port}/_stcore/health", process)
        yield f"http://127.0.0.1:{port}"
    finally:
        os.killpg(process.pid, 15)
        process.wait(20)


@pytest.fixture(scope="module")
def served(demo_store: Path) -> Iterator[str]:
    """The demo's record, for looking only."""
    need_chromium()
    with serving(demo_store, "--read-only") as address:
        yield address


def need_chromium() -> None:
    if CHROMIUM is None:
        if os.environ.get("HOODAUDIT_REQUIRE_BROWSER"):
            pytest.fail("HOODAUDIT_REQUIRE_BROWSER is set, and there is no chromium")
        pytest.skip("there is no chromium here")


def _wait_for(url: str, process: subprocess.Popen) -> None:
    for _ in range(120):
        assert process.poll() is None, "the dashboard stopped by itself"
        try:
            with urllib.request.urlopen(url, timeout=2):
                return
        except OSError:
            time.sleep(0.5)
    pytest.fail("the dashboard did not answer within a minute")


class Visit:
    """A page in the browser, with what went wrong and whom it asked."""

    def __init__(self, page) -> None:
        self.page = page
        self.errors: list[str] = []
        self.hosts: set[str] = set()
        page.on("console", self._said)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("request", lambda request: self._asked(request.url))

    def _said(self, message) -> None:
        if message.type == "error" and BY_DESIGN not in message.location.get("url", ""):
            self.errors.append(f"{message.text} {message.location.get('url', '')}")

    def _asked(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme in ("http", "https", "ws", "wss"):
            self.hosts.add(parts.hostname or "")

    def settled(self) -> None:
        self.page.wait_for_selector("h1", timeout=60_000)
        self.page.wait_for_function(
            "() => !document.querySelector('[data-testid=stStatusWidget], [data-testid=stSpinner], [data-stale=true]')",
            timeout=60_000,
        )
        self.page.wait_for_timeout(300)

    def check(self) -> None:
        assert self.page.locator("[data-testid=stException]").count() == 0
        assert self.errors == []
        assert self.hosts == {"127.0.0.1"}


@pytest.fixture(scope="module")
def browser(served: str) -> Iterator:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        opened = player.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS, headless=True)
        yield opened
        opened.close()


@pytest.fixture
def visit(browser) -> Iterator[Visit]:
    context = browser.new_context(viewport={"width": 1440, "height": 1000})
    yield Visit(context.new_page())
    context.close()


def test_from_a_building_to_a_hood_to_its_grid_by_clicking(visit: Visit, served: str) -> None:
    page = visit.page
    page.goto(served)
    visit.settled()
    click_row(page, "buildings", 0)  # Avocet Hall
    page.wait_for_url(re.compile(r"/work-list\?.*building=Avocet"), timeout=30_000)
    visit.settled()
    click_row(page, "work", 0)
    page.wait_for_url(re.compile(r"/hood\?.*hood=AV-"), timeout=30_000)
    visit.settled()
    page.get_by_role("heading", name="Face velocities in the opening").wait_for(timeout=30_000)
    charts = page.locator("[data-testid=stVegaLiteChart]")
    charts.first.wait_for(timeout=30_000)
    charts.nth(1).wait_for(timeout=30_000)  # the trend, and the grid below it
    assert charts.count() >= 2
    visit.check()


def click_row(page, key: str, row: int) -> None:
    """A click on the first column of a row of the table that has that key."""
    table = page.locator(f".st-key-{key} [data-testid=stDataFrame]")
    table.scroll_into_view_if_needed(timeout=30_000)
    page.wait_for_timeout(500)
    table.click(position={"x": 40, "y": 35 + 17 + 35 * row})


def test_barred_hoods_are_one_click_away_and_lead_to_the_hood(visit: Visit, served: str) -> None:
    page = visit.page
    page.goto(f"{served}/intake?unit=mps")
    visit.settled()
    page.get_by_role("link", name=re.compile("must not be used")).click()
    page.wait_for_url(re.compile(r"/work-list\?.*state=do"), timeout=30_000)
    visit.settled()
    assert "unit=mps" in page.url
    page.get_by_role("link", name=re.compile(r"^[A-Z]{2}-\d{3}$")).first.click()
    page.wait_for_url(re.compile(r"/hood\?"), timeout=30_000)
    visit.settled()
    assert "unit=mps" in page.url
    visit.check()


def test_an_address_can_be_sent(visit: Visit, served: str) -> None:
    page = visit.page
    page.goto(f"{served}/hood?hood=AV-103&cell=C15&unit=mps")
    visit.settled()
    shown = page.get_by_label("Show the part of the sheet with")
    assert shown.input_value(timeout=30_000) == "C15: face reading, “48”"
    assert page.get_by_role("heading", level=1).inner_text() == "Hood AV-103"
    visit.check()


def test_a_faulty_workbook_from_its_upload_to_its_held_cell_to_its_release(
    visit: Visit, served: str, empty_store: Path, tmp_path: Path
) -> None:
    """The sheet's own average is made wrong by hand; a person then finds that only that figure was wrong."""
    import openpyxl

    book = openpyxl.load_workbook(SAMPLES / "2026" / "amber-2026-retests.xlsx")
    form = book[book.sheetnames[-1]]
    average = next(row[0].row for row in form.iter_rows(max_col=1) if row[0].value == "Average")
    form.cell(average, 2).value = 140.0
    book.save(tmp_path / "faulty.xlsx")
    store = tmp_path / "own.db"
    shutil.copy(empty_store, store)
    load = [sys.executable, "-m", "auditor", "register", "load", str(SAMPLES / "register.xlsx"), "--store", str(store)]
    subprocess.run([*load, "--as-of", "2026-11-16"], check=True, capture_output=True)
    page = visit.page
    with serving(store) as address:
        page.goto(f"{address}/intake")
        visit.settled()
        page.locator("input[type=file]").set_input_files(str(tmp_path / "faulty.xlsx"))
        page.get_by_text("faulty.xlsx").first.wait_for(timeout=30_000)
        page.get_by_role("button", name="Audit", exact=True).click()
        page.get_by_text(re.compile("Audited and recorded")).wait_for(timeout=60_000)
        visit.settled()
        click_row(page, "reasons-reported-mean-differs", 0)
        page.wait_for_url(re.compile(r"/held-survey\?.*cell=B"), timeout=30_000)
        visit.settled()
        page.get_by_label("Reason").fill("the average was typed by hand; the readings are right")
        page.get_by_label("By (your name)").last.fill("A. Analyst")
        page.get_by_role("button", name="Release", exact=True).click()
        page.get_by_text(re.compile("Released. The survey now counts")).wait_for(timeout=60_000)
        visit.check()


@pytest.mark.parametrize("width", [1440, 900])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_in_two_widths_light_and_dark(browser, served: str, width: int, scheme: str) -> None:
    context = browser.new_context(viewport={"width": width, "height": 1000}, color_scheme=scheme)
    visit = Visit(context.new_page())
    for path, title in PAGES.items() if width == 1440 else list(PAGES.items())[:3]:
        visit.page.goto(f"{served}/{path}")
        visit.settled()
        assert visit.page.get_by_role("heading", level=1).first.inner_text() == title
        wide = visit.page.evaluate("() => document.documentElement.scrollWidth")
        assert wide <= width, f"{title} is wider than the window"
    visit.check()
    context.close()
