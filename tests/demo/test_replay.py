"""The whole program over the sample campus gives exactly what the manifest planted: nothing lost, nothing added.

The manifest's verdicts are a second computation (`tests/demo/judge.py`), made from what the generator wrote.
"""

from __future__ import annotations

import contextlib
import io
import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from auditor.cli.main import main
from tests.demo.make_campus import FOLDER

MANIFEST = json.loads((FOLDER / "manifest.json").read_text(encoding="utf-8"))
TRUTH = [dict(zip(MANIFEST["survey_columns"], row, strict=True)) for row in MANIFEST["surveys"]]
YEAR = {w["workbook"]: str(w["year"]) for w in MANIFEST["workbooks"]}


@pytest.fixture(scope="module")
def printed(demo_run: Any) -> dict[str, Any]:
    """What `hoodaudit demo --no-serve --json` prints (tests/conftest.py runs it once)."""
    assert demo_run.status == 1  # done, but something is held
    return demo_run.document


def name(workbook: str) -> str:
    return Path(workbook).name


def key(row: dict[str, Any]) -> tuple[str, str, str | None]:
    """Workbook, sheet and, on a sheet of many hoods, the hood and its day."""
    form = row["workbook"].split("-")[0] in ("amber", "cobalt")
    many = None if form else f"{row['hood_id']} {(row['surveyed_on'] or '')[:10]}"
    return (name(row["workbook"]), row["sheet"], many)


@pytest.fixture(scope="module")
def found(printed: dict[str, Any]) -> dict[tuple, dict[str, Any]]:
    rows = {key(s): s for s in printed["surveys"]}
    assert len(rows) == len(printed["surveys"])
    return rows


def as_named(row: dict[str, Any]) -> dict[str, Any]:
    """A planted row with the hood as the sheet names it, for a tag that the register does not have."""
    return row | {"hood_id": row["hood_id"] or row.get("named")}


def test_every_workbook_is_accounted_for(printed: dict[str, Any]) -> None:
    got = {
        name(w["workbook"]): (w["status"], int(w["surveys"] or 0), int(w["held"] or 0)) for w in printed["workbooks"]
    }
    assert got == {w["workbook"]: (w["status"], w["surveys"], w["held"]) for w in MANIFEST["workbooks"]}


def test_every_survey_is_found_and_held_or_accepted_as_due(found: dict[tuple, dict[str, Any]]) -> None:
    due = {key(as_named(t)): t["status"] for t in TRUTH}
    assert {k: s["status"] for k, s in found.items()} == due


def test_every_accepted_survey_says_what_was_written(found: dict[tuple, dict[str, Any]]) -> None:
    for t in (t for t in TRUTH if t["status"] == "accepted"):
        s = found[key(t)]
        assert (s["hood_id"], s["surveyed_on"][:10]) == (t["hood_id"], t["surveyed_on"])
        assert (s["occasion"], s["contractor"], s["unit"]) == (t["occasion"], t["contractor"], t["unit"])
        assert s["face_points"] == t["face_points"]
        for column in ("face_mean_fpm", "face_min_fpm", "cross_draft_max_fpm"):
            assert s[column] == (None if t[column] is None else pytest.approx(t[column], abs=1e-5)), (column, key(t))


def test_every_verdict_is_that_of_the_second_computation(found: dict[tuple, dict[str, Any]]) -> None:
    accepted = [t for t in TRUTH if t["status"] == "accepted"]
    got = {key(t): found[key(t)]["verdict"] for t in accepted}
    assert got == {key(t): t["verdict"] for t in accepted}
    assert not [k for k, s in found.items() if s["status"] == "held" and s["verdict"]]


def test_verdicts_by_year(found: dict[tuple, dict[str, Any]]) -> None:
    counts = {year: dict.fromkeys(due, 0) for year, due in MANIFEST["expected_verdicts"].items()}
    for s in found.values():
        counts[YEAR[name(s["workbook"])]]["held" if s["status"] == "held" else s["verdict"]] += 1
    assert counts == MANIFEST["expected_verdicts"]


def test_the_discrepancies_are_the_planted_ones_and_no_others(printed: dict[str, Any]) -> None:
    sid = {s["survey_id"]: s["hood_id"] for s in printed["surveys"]}

    def place(hood: str | None, sheet: str | None, workbook: str) -> tuple[str, str, str | None]:
        form = workbook.split("-")[0] in ("amber", "cobalt")
        return (name(workbook), sheet or "", None if form else hood)

    got = Counter(
        (*place(sid.get(d["survey_id"]), d["sheet"], d["workbook"]), d["code"], d["severity"])
        for d in printed["discrepancies"]
    )
    due = Counter(
        (*place(p["hood_id"] or p["named"], p["sheet"], p["workbook"]), p["code"], p["severity"])
        for p in MANIFEST["planted"]
    )
    assert got - due == Counter(), "raised, but not planted"
    assert due - got == Counter(), "planted, but not raised"


def test_a_discrepancy_names_the_cell_at_fault(printed: dict[str, Any]) -> None:
    got = {(name(d["workbook"]), d["sheet"] or "", d["code"], d["cell"] or None) for d in printed["discrepancies"]}
    exact = [p for p in MANIFEST["planted"] if p["cell_is_exact"]]
    assert {(p["workbook"], p["sheet"] or "", p["code"], p["cell"]) for p in exact} <= got


def test_a_held_sheet_with_a_point_at_38_is_a_provisional_fail(found: dict[tuple, dict[str, Any]]) -> None:
    dangerous = {k for k, s in found.items() if s["provisional_verdict"] == "fail"}
    assert dangerous == {(h["workbook"], h["sheet"], None) for h in MANIFEST["held_but_dangerous"]}


# --- what the record says about the campus ---------------------------------------------------------------------------
@pytest.fixture(scope="module")
def states(demo_store: Path) -> list[dict[str, Any]]:
    """What `hoodaudit due --json` prints on the demo's own day."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        main(["due", "--json", "--store", str(demo_store), "--as-of", MANIFEST["today"]])
    return json.loads(out.getvalue())


def hoods(states: list[dict[str, Any]], state: str) -> set[str]:
    return {s["hood_id"] for s in states if s["state"] == state}


def test_the_overdue_and_the_never_surveyed_are_found(states: list[dict[str, Any]]) -> None:
    late = {s["hood_id"] for s in states if (s["overdue_days"] or 0) > 0 and s["state"] != "out of service"}
    assert late == {o["hood_id"] for o in MANIFEST["overdue"]}
    assert hoods(states, "never surveyed") == set(MANIFEST["never_surveyed"])


def test_hoods_not_to_be_used_are_the_failed_and_the_held_but_dangerous(states: list[dict[str, Any]]) -> None:
    assert hoods(states, "do not use") == {h["hood_id"] for h in MANIFEST["do_not_use"]}
    assert hoods(states, "do not use until settled") == {h["hood_id"] for h in MANIFEST["held_but_dangerous"]}
    (repaired,) = [r["retest"]["hood_id"] for r in MANIFEST["retested"] if r["planted"]]
    assert repaired not in hoods(states, "do not use") | hoods(states, "awaiting retest")


def test_cross_draft_clusters_are_claimed_where_planted_and_nowhere_else(demo_store: Path) -> None:
    from auditor.history.drafts import clusters
    from auditor.store import open_store

    with open_store(str(demo_store), read_only=True) as store:
        tables = [store.table(t) for t in ("surveys", "findings", "register", "readings")]
    found = clusters(*tables)
    claimed = found[found["claimed"].astype(bool)]
    got = set(zip(claimed["level"], claimed["group"], strict=True))
    assert got == {(c["level"], c["group"]) for c in MANIFEST["clusters"]}


def test_the_declining_buildings_fall_and_no_other_does(demo_store: Path) -> None:
    """Half the hoods or more of a building left to decline are called falling, elsewhere no more than chance gives:
    5 % of the hoods tested, both directions together, so less than 10 % in any building."""
    from auditor.history.trends import trends
    from auditor.store import open_store

    with open_store(str(demo_store), read_only=True) as store:
        register = store.table("register")
        found = trends(store.table("surveys"), register).merge(register[["hood_id", "building"]], on="hood_id")
    share = found["trend"].eq("falling").groupby(found["building"]).mean()
    declining = {b["building"] for b in MANIFEST["declining_buildings"]}
    assert set(share[share >= 0.5].index) == declining
    assert (share[~share.index.isin(declining)] < 0.10).all()
