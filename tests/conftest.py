"""What every test may use: the demo campus audited once, as the command does it."""

from __future__ import annotations

import contextlib
import io
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# No test is timed. In CI the examples are the same every time, so that a failure there can be had again.
settings.register_profile("suite", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("suite")


@dataclass(frozen=True)
class DemoRun:
    """What `hoodaudit demo --no-serve --json` did."""

    store: Path
    status: int
    document: dict[str, Any]


@pytest.fixture(scope="session")
def demo_run(tmp_path_factory: pytest.TempPathFactory) -> DemoRun:
    from auditor.cli import main

    store = tmp_path_factory.mktemp("demo") / "demo.db"
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        status = main(["demo", "--no-serve", "--json", "--store", str(store)])
    return DemoRun(store, status, json.loads(printed.getvalue()))


@pytest.fixture(scope="session")
def demo_store(demo_run: DemoRun) -> Path:
    """The record of the demo campus. Tests only read it."""
    return demo_run.store
