from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from auditor.answers.record import open_record
from auditor.answers.reviewing import Review, review
from auditor.cli import main
from auditor.documents.review import FILES, Pack, compose

TODAY = dt.date(2026, 11, 25)
YEAR = 2026


@pytest.fixture(scope="session")
def gathered(demo_store: Path) -> Review:
    with open_record(str(demo_store)) as store:
        return review(store, YEAR, TODAY)


@pytest.fixture(scope="session")
def pack(gathered: Review) -> Pack:
    return compose(gathered.year, gathered.today, gathered.facts, gathered.tables)


@pytest.fixture(scope="session")
def made(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The four files as the command writes them, by ending."""
    folder = tmp_path_factory.mktemp("review") / "new" / "folder"
    words = ["review", str(YEAR), "-o", str(folder), "--store", str(demo_store), "--as-of", TODAY.isoformat()]
    assert main(words) == 0
    found = {path.suffix[1:]: path.read_bytes() for path in folder.glob(f"hood-review-{YEAR}.*")}
    assert set(found) == set(FILES)
    return found
