"""Records for the screens: the demo's (session fixture `demo_store`), an empty one, one with a single survey."""

from __future__ import annotations

import contextlib
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_workbooks"
TODAY = "2026-11-16"
PAGES = ["this_year", "cross_drafts", "hood", "work_list", "intake", "contractors"]


@pytest.fixture(scope="session")
def manifest() -> dict[str, Any]:
    return json.loads((SAMPLES / "manifest.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def empty_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from auditor.store import open_store

    path = tmp_path_factory.mktemp("empty") / "empty.db"
    open_store(str(path), create=True).close()
    return path


@pytest.fixture(scope="session")
def one_survey_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's register and one workbook that holds one survey."""
    from auditor.cli import main

    path = tmp_path_factory.mktemp("one") / "one.db"
    workbook = SAMPLES / "2026" / "amber-2026-retests.xlsx"
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        main(["register", "load", str(SAMPLES / "register.xlsx"), "--store", str(path), "--as-of", TODAY])
        main(["intake", str(workbook), "--store", str(path), "--as-of", TODAY])
    return path


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch) -> Callable[..., AppTest]:
    """screen(store, 'hood', hood='AV-103'): that page over that record, run once."""

    def opened(store: Path, page: str = "this_year", **query: str) -> AppTest:
        monkeypatch.setenv("HOODAUDIT_STORE", str(store))
        monkeypatch.setenv("HOODAUDIT_TODAY", TODAY)
        test = AppTest.from_file(str(ROOT / "dashboard" / "app.py"), default_timeout=60)
        if page != "this_year":
            test.run()
            test.switch_page(f"screens/{page}.py")
        for key, value in query.items():
            test.query_params[key] = value
        return test.run()

    return opened


def links(test: AppTest) -> list[str]:
    """The labels of all links on the page."""
    return [element.proto.label for element in test.get("page_link")]
