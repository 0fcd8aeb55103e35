"""The workbooks of forty-odd invented firms, from files to exported tables through the command line."""

from __future__ import annotations

import contextlib
import io
import json
from pathlib import Path

import pytest

from auditor.cli import main
from tests.layouts.firms import FAULTS, SOUND, firms
from tests.layouts.pipeline import AS_OF, judge_tables, save
from tests.layouts.run import Tally

NEVER = ("wrong", "invented", "missed", "lost", "crash")


def _exported(folder: Path, table: str, store: str) -> list[dict]:
    out = folder / f"{table}.json"
    assert main(["export", table, "--format", "json", "-o", str(out), "--store", store]) == 0
    return json.loads(out.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def tally(tmp_path_factory: pytest.TempPathFactory) -> Tally:
    """What became of every workbook: register load, intake and export in a folder of its own."""
    folder = tmp_path_factory.mktemp("firms")
    cases = firms()
    files = save(folder, cases)
    store = f"sqlite:///{folder / 'store.db'}"
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["register", "load", str(folder / "register.csv"), "--store", store]) == 0
        assert main(["intake", str(files), "--json", "--as-of", AS_OF, "--store", store]) == 1  # something is held
        tables = {t: _exported(folder, t, store) for t in ("surveys", "readings", "discrepancies")}
    return judge_tables(cases, tables)


def test_the_pack_is_large_and_the_same_each_time() -> None:
    assert len(SOUND) >= 25
    assert len(FAULTS) >= 15
    assert [(c.name, c.data) for c in firms()] == [(c.name, c.data) for c in firms()]


def test_no_survey_is_misread_invented_or_lost(tally: Tally) -> None:
    assert [f for f in tally.failures if f[2].kind in NEVER] == []


def test_at_least_nine_in_ten_sound_surveys_are_read(tally: Tally) -> None:
    counts = {kind: tally.kinds[kind] for kind in tally.kinds}
    assert tally.kinds["read right"] >= 0.9 * tally.sound, counts


def test_every_fault_is_held_with_the_code_that_is_due(tally: Tally) -> None:
    assert tally.kinds["held, other code"] == 0
    assert tally.kinds["held right"] >= 20
    assert tally.codes_lost == 0
