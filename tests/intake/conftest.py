from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

import pytest

from auditor.audit import Terms
from auditor.criteria import load_profiles
from auditor.files import Source
from auditor.intake import Outcome, take_in
from auditor.store import open_store
from auditor.store.store import Store
from tests.intake.forms import REGISTER


@pytest.fixture(scope="session")
def terms() -> Terms:
    return Terms(dt.date(2026, 11, 16), load_profiles())


@pytest.fixture
def store(tmp_path) -> Iterator[Store]:
    with open_store(str(tmp_path / "record.db")) as opened:
        opened.load_register(REGISTER, dt.date(2026, 1, 1))
        yield opened


@pytest.fixture
def intake(store: Store, terms: Terms) -> Callable[..., Outcome]:
    """intake(name=bytes, …): takes in workbooks of these names."""

    def run(check: bool = False, **books: bytes) -> Outcome:
        sources = [Source(f"{name}.xlsx", f"{name}.xlsx", data) for name, data in books.items()]
        return take_in(sources, store, terms, check=check)

    return run
