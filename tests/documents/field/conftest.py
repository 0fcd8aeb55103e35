from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pandas as pd
import pytest

from auditor.audit import Terms
from auditor.criteria import load_profiles
from auditor.documents.field import Book, HoodToSurvey, Limits, Previous
from auditor.store import open_store
from auditor.store.store import Store

# Openings from a narrow hood to one of 8 ft; what intake must accept of each.
OPENINGS = {"H-1": (96.0, 28.0, 18.0), "H-2": (48.0, 28.0, 20.0), "H-3": (72.0, 36.0, 30.0), "H-4": (30.0, 24.0, 11.0)}
COMMON = Limits(60, 25, 80, 150, 20, 20)


@pytest.fixture(scope="session")
def terms() -> Terms:
    return Terms(dt.date(2026, 11, 16), load_profiles())


def register() -> pd.DataFrame:
    rows = [
        (tag, "Alder", "1", str(100 + n), *size, "AHU-1", "vertical", dt.datetime(2010, 1, 1))
        for n, (tag, size) in enumerate(OPENINGS.items())
    ]
    columns = [
        "hood_id", "building", "floor", "room", "opening_width_in", "opening_height_in", "working_sash_in",
        "air_handler", "sash_type", "installed_on",
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=columns)


@pytest.fixture
def store(tmp_path) -> Iterator[Store]:
    with open_store(str(tmp_path / "record.db")) as opened:
        opened.load_register(register(), dt.date(2026, 1, 1))
        yield opened


def hood(tag: str = "H-1", **changes) -> HoodToSurvey:
    width, height, sash = OPENINGS[tag]
    given = {
        "building": "Alder", "floor": "1", "room": str(100 + list(OPENINGS).index(tag)),
        "hood_type": "general chemical",
        "opening_width_in": width, "opening_height_in": height, "working_sash_in": sash, "why": "overdue",
        "limits": COMMON, "previous": Previous(dt.date(2025, 4, 2), 97.0, 88.0, 11.0, "pass"),
    }  # fmt: skip
    return HoodToSurvey(tag, **(given | changes))


def book(*hoods: HoodToSurvey, **changes) -> Book:
    given = {"title": "Alder, floor 1", "issued_on": dt.date(2026, 11, 1), "instruments": ["TA-12", "TA-15"]}
    return Book(hoods=hoods or [hood(tag) for tag in OPENINGS], **(given | changes))
