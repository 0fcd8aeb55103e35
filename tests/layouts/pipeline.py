"""The whole command judged: generated files in a folder, `hoodaudit intake`, and what `hoodaudit export` tells."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path
from typing import Any

from tests.layouts.check import CAUTIONS, Outcome
from tests.layouts.run import Tally, report
from tests.layouts.truth import Case

AS_OF = "2026-11-25"
Row = dict[str, Any]


def save(folder: Path, cases: list[Case]) -> Path:
    """Writes `folder/files`, and beside it `register.csv` and `truth.json`; returns the files' folder."""
    files = folder / "files"
    files.mkdir(parents=True, exist_ok=True)
    register: dict[str, Row] = {}
    for case in cases:
        (files / case.name).write_bytes(case.data)
        register.update({row["hood_id"]: row for row in case.register})
    with (folder / "register.csv").open("w", newline="", encoding="utf-8") as out:
        names = list(next(iter(register.values()), {"hood_id": "", "building": "", "room": ""}))
        writer = csv.DictWriter(out, names)
        writer.writeheader()
        writer.writerows(register.values())
    truth = {case.name: case.truth for case in cases}
    (folder / "truth.json").write_text(json.dumps(truth, indent=1), encoding="utf-8")
    return files


def command(*arguments: str, store: str) -> str:
    """Output of one `hoodaudit` command. Raises RuntimeError where it could not do its work (status 2 or 3) or gave a
    traceback."""
    done = subprocess.run(
        [sys.executable, "-m", "auditor.cli", *arguments, "--store", store],
        capture_output=True,
        text=True,
        check=False,
        timeout=1800,
    )
    if done.returncode not in (0, 1) or "Traceback" in done.stderr:
        raise RuntimeError(f"hoodaudit {' '.join(arguments[:2])}: status {done.returncode}\n{done.stderr[-2000:]}")
    return done.stdout


def exported(cases: list[Case]) -> dict[str, list[Row]]:
    """The tables surveys, readings and discrepancies after an intake of the cases into a fresh store."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        files = save(folder, cases)
        store = f"sqlite:///{folder / 'store.db'}"
        command("register", "load", str(folder / "register.csv"), store=store)
        command("intake", str(files), "--json", "--as-of", AS_OF, store=store)
        tables = ("surveys", "readings", "discrepancies")
        return {t: json.loads(command("export", t, "--format", "json", store=store)) for t in tables}


def exported_here(cases: list[Case]) -> dict[str, list[Row]]:
    """As `exported`, within this process and without the command line."""
    import datetime as dt

    from auditor.audit import Terms
    from auditor.criteria import load_profiles
    from auditor.files import Source
    from auditor.intake import load_register, take_in
    from auditor.store import open_store

    terms = Terms(dt.date.fromisoformat(AS_OF), load_profiles())
    with tempfile.TemporaryDirectory() as name:
        files = save(Path(name), cases)
        store = open_store(f"sqlite:///{name}/store.db")
        load_register(store, (files.parent / "register.csv").read_bytes(), "register.csv", terms)
        take_in([Source(case.name, str(files / case.name)) for case in cases], store, terms)
        tables = ("surveys", "readings", "discrepancies")
        return {t: json.loads(store.table(t).to_json(orient="records", date_format="iso")) for t in tables}


def base_name(row: Row) -> str:
    return str(row["workbook"]).replace("\\", "/").rsplit("/", 1)[-1]


def judge_tables(cases: list[Case], tables: dict[str, list[Row]]) -> Tally:
    """Outcomes of every case, by the exported rows."""
    surveys, readings, discrepancies = defaultdict(list), defaultdict(list), defaultdict(list)
    for row in tables["surveys"]:
        if row["status"] != "superseded":
            surveys[base_name(row)].append(row)
    for row in tables["readings"]:
        readings[row["survey_id"]].append(row)
    for row in tables["discrepancies"]:
        discrepancies[base_name(row)].append(row)
    tally = Tally()
    for case in cases:
        tally.add(case.name, case, _judge_case(case, surveys[case.name], readings, discrepancies[case.name]))
    return tally


def _judge_case(case: Case, pool: list[Row], readings: dict[str, list[Row]], found: list[Row]) -> list[Outcome]:
    pool, out = list(pool), []
    for truth in case.truth:
        match = _match(truth, pool, readings)
        if match:
            pool.remove(match)
        here = [d for d in found if d.get("sheet") in (truth["sheet"], None, "") or truth["sheet"] is None]
        out.append(_judge_one(truth, match, readings[match["survey_id"]] if match else [], here))
    out += [
        Outcome("invented", s["sheet"], s["hood_id"] or "", f"from {s['survey_id']}")
        for s in pool
        if s["status"] == "accepted"
    ]
    return out


def _match(truth: dict, pool: list[Row], readings: dict[str, list[Row]]) -> Row | None:
    """The survey with most of the truth's face cells, else the hood's, else an unclaimed one without cells."""
    here = [s for s in pool if s["sheet"] == truth["sheet"]]
    cells = set(truth["cells"])
    ranked = sorted(here, key=lambda s: -len(cells & {r["cell"] for r in readings[s["survey_id"]]}))
    if ranked and cells & {r["cell"] for r in readings[ranked[0]["survey_id"]]}:
        return ranked[0]
    same = [s for s in here if truth["hood_id"] and s["hood_id"] == truth["hood_id"]]
    return same[0] if same else (here[0] if here and not cells else None)


def _judge_one(truth: dict, match: Row | None, readings: list[Row], here: list[Row]) -> Outcome:
    own = [d for d in here if not match or d.get("survey_id") in (match["survey_id"], None, "")]
    raised = {d["code"] for d in own if (d["severity"] == "caution") == (d["code"] in CAUTIONS)}
    due = tuple(truth["codes"])
    lost = tuple(c for c in due if not raised & set(c.split("|")))
    status, hood = truth["status"], truth["hood_id"] or ""
    holding = sorted({d["code"] for d in own if d["severity"] == "hold"})
    accepted = bool(match) and match["status"] == "accepted"

    def outcome(kind: str, detail: str = "") -> Outcome:
        return Outcome(kind, truth["sheet"] or "", hood, detail, due, lost)

    if status == "absent":
        return outcome("invented", "read as a survey") if accepted else outcome("held right")
    if not accepted:
        named = (match and match["status"] == "held") or holding
        if status == "accepted":
            return outcome("held though sound" if named else "lost", ", ".join(holding))
        if not named:
            return outcome("missed", "neither held nor named")
        return outcome("held right" if not lost or status == "either" else "held, other code", ", ".join(holding))
    if status == "held":
        return outcome("missed", f"accepted; raised {', '.join(sorted(raised)) or 'nothing'}")
    wrong = _differs(truth, match or {}, readings)
    return outcome("wrong", wrong) if wrong else outcome("read right")


def _near(a: Any, b: Any, tolerance: float) -> bool:
    if a is None or b is None:
        return a is None and b is None
    return abs(float(a) - float(b)) <= tolerance


def _differs(truth: dict, survey: Row, readings: list[Row]) -> str:
    """How an accepted survey differs from the truth; '' where it does not."""
    plain = {
        "hood_id": survey["hood_id"],
        "surveyed_on": (survey["surveyed_on"] or "")[:10] or None,
        "unit": survey["unit"],
    }
    for name, value in plain.items():
        if value != truth[name]:
            return f"{name} {value!r} for {truth[name]!r}"
    if not _near(survey["sash_height_in"], truth["sash_height_in"], 0.05):
        return f"sash {survey['sash_height_in']} for {truth['sash_height_in']}"
    if not truth["face"]:
        return ""
    censored = any(v is None for *_, v in truth["face"])
    if not censored and not _near(survey["face_mean_fpm"], truth["mean_fpm"], 0.05):
        return f"mean {survey['face_mean_fpm']} for {truth['mean_fpm']}"
    have = {kind: {r["cell"]: r for r in readings if r["kind"] == kind} for kind in ("face", "cross-draft")}
    want = {"face": {c: v for _, _, c, v in truth["face"]}, "cross-draft": dict(truth["cross"])}
    for kind in ["face"] if truth.get("cross_free") else ["face", "cross-draft"]:
        if set(have[kind]) != set(want[kind]):
            return f"{kind} cells {sorted(have[kind])} for {sorted(want[kind])}"
        for cell, velocity in want[kind].items():
            if not _near(have[kind][cell]["velocity_fpm"], velocity, 0.01):
                return f"{kind} {cell}: {have[kind][cell]['velocity_fpm']} for {velocity}"
    return "" if truth.get("place_free") else _places(truth, survey, have["face"])


def _places(truth: dict, survey: Row, face: dict[str, Row]) -> str:
    for row, column, cell, _ in truth["face"]:
        got = (face[cell]["row"], face[cell]["column"])
        if not (_near(got[0], row, 0) and _near(got[1], column, 0)):
            return f"{cell}: at {got} for {row}, {column}"
    shape = truth["shape"] or [None, None]
    got = (survey["grid_rows"], survey["grid_columns"])
    return "" if _near(got[0], shape[0], 0) and _near(got[1], shape[1], 0) else f"grid {got} for {shape}"


def main(cases: list[Case], show: int, here: bool = False) -> int:
    """Runs and prints; returns how many outcomes must never be."""
    tally = judge_tables(cases, exported_here(cases) if here else exported(cases))
    report(tally, show, features=False)
    print(f"pipeline: {tally.summary()}")
    return tally.bad
