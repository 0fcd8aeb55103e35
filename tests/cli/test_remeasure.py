"""`hoodaudit remeasure`: the same record, year and seed give the same plan; the first result is not in it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from auditor.cli import main


def plan(store: Path, capsys: pytest.CaptureFixture[str], *words: str) -> list[dict]:
    assert main(["remeasure", "2026", "--store", str(store), "--as-of", "2026-11-16", "--json", *words]) == 0
    return json.loads(capsys.readouterr().out)["plan"]


def test_about_a_twentieth_of_the_hoods_from_every_firm(demo_store: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawn = plan(demo_store, capsys)
    assert 11 <= len(drawn) <= 16  # 5 % of the 223 hoods accepted in 2026, at least 3 a firm
    assert {row["contractor"] for row in drawn} == {"Amber", "Cobalt", "Sienna"}
    assert not any("fpm" in name for name in drawn[0])


def test_the_draw_is_reproducible_and_the_seed_matters(demo_store: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first = plan(demo_store, capsys)
    assert plan(demo_store, capsys) == first
    assert plan(demo_store, capsys, "--seed", "2") != first


def test_a_firm_that_was_measured_again_shows_its_bias(tmp_path: Path) -> None:
    import datetime as dt

    from auditor.answers.remeasuring import firms
    from auditor.audit import Terms
    from auditor.criteria import load_profiles
    from auditor.files import Source
    from auditor.intake import take_in
    from auditor.store import open_store
    from tests.intake.forms import REGISTER, form, workbook

    base = [[101, 98, 104], [97, 102, 95]]
    first, second = [], []
    for n in range(1, 6):
        grid = [[v + 3 * n + (i * j * n) % 4 for j, v in enumerate(row)] for i, row in enumerate(base)]
        first.append(form(f"H-{n}", Contractor="Amber", grid=[[v + 6 for v in row] for row in grid]))
        spread = [[v + (n + i - j) % 3 for j, v in enumerate(row)] for i, row in enumerate(grid)]
        second.append(form(f"H-{n}", Contractor="Cobalt", Date=dt.date(2026, 5, 1), grid=spread))
    with open_store(str(tmp_path / "record.db")) as store:
        store.load_register(REGISTER, dt.date(2026, 1, 1))
        sources = [Source("first.xlsx", "", workbook(*first)), Source("second.xlsx", "", workbook(*second))]
        take_in(sources, store, Terms(dt.date(2026, 11, 16), load_profiles()))
        found = firms(store, 2026).set_index("contractor").loc["Amber"]
    assert found["hoods"] == 5
    assert found["bias_low_fpm"] <= 5 <= found["bias_high_fpm"]  # 6 less the 1 that the second readings add on average
