"""The judge is judged: tables made of the truth are all right, and every spoilt table is found out."""

from __future__ import annotations

import copy
from typing import Any

from tests.layouts.generator import make_case
from tests.layouts.pipeline import judge_tables
from tests.layouts.run import Tally
from tests.layouts.truth import Case

Tables = dict[str, list[dict[str, Any]]]


def _tables(cases: list[Case]) -> Tables:
    """What a perfect program would export."""
    tables: Tables = {"surveys": [], "readings": [], "discrepancies": []}
    for case in cases:
        for n, truth in enumerate(case.truth):
            survey_id = f"{case.name}-{n}"
            held = truth["status"] == "held"
            shape = truth["shape"] or [None, None]
            tables["surveys"].append({
                "survey_id": survey_id, "workbook": f"folder/{case.name}", "sheet": truth["sheet"],
                "hood_id": truth["hood_id"], "surveyed_on": truth["surveyed_on"], "unit": truth["unit"],
                "sash_height_in": truth["sash_height_in"], "status": truth["status"], "grid_rows": shape[0],
                "grid_columns": shape[1], "face_mean_fpm": truth["mean_fpm"],
            })  # fmt: skip
            for row, column, cell, velocity in truth["face"]:
                tables["readings"].append({"survey_id": survey_id, "kind": "face", "row": row, "column": column,
                                           "cell": cell, "velocity_fpm": velocity})  # fmt: skip
            for cell, velocity in truth["cross"]:
                tables["readings"].append({"survey_id": survey_id, "kind": "cross-draft", "cell": cell,
                                           "velocity_fpm": velocity})  # fmt: skip
            for code in truth["codes"]:
                caution = code in ("reading-coerced", "cross-draft-missing")
                tables["discrepancies"].append({
                    "survey_id": survey_id, "workbook": case.name, "sheet": truth["sheet"], "code": code.split("|")[0],
                    "severity": "hold" if held and not caution else "caution",
                })  # fmt: skip
    return tables


SOUND = [make_case(seed) for seed in range(25)]
FAULTY = [make_case(seed, "negative") for seed in range(5)]


def _judge(cases: list[Case], tables: Tables) -> Tally:
    return judge_tables(cases, tables)


def _spoilt(table: str, column: str, value: object, kind: str | None = None) -> Tally:
    tables = copy.deepcopy(_tables(SOUND))
    row = next(r for r in tables[table] if kind is None or r.get("kind") == kind)
    row[column] = value(row[column]) if callable(value) else value
    return _judge(SOUND, tables)


def test_a_perfect_record_is_right() -> None:
    tally = _judge(SOUND + FAULTY, _tables(SOUND + FAULTY))
    assert tally.bad == 0
    assert not tally.failures
    assert tally.kinds["read right"] > 40
    assert tally.kinds["held right"] == 5


def test_every_wrong_value_is_a_misread() -> None:
    other_unit = "mph" if SOUND[0].truth[0]["unit"] != "mph" else "m/s"
    changes = [("surveys", "hood_id", "Z-9", None), ("surveys", "surveyed_on", "2026-01-01", None),
               ("surveys", "unit", other_unit, None),
               ("surveys", "sash_height_in", lambda v: v + 1, None),
               ("surveys", "face_mean_fpm", lambda v: v + 0.1, None),
               ("readings", "velocity_fpm", lambda v: v + 0.1, "face"), ("readings", "cell", "ZZ99", "face"),
               ("readings", "velocity_fpm", lambda v: v + 1, "cross-draft")]  # fmt: skip
    for table, column, value, kind in changes:
        assert _spoilt(table, column, value, kind).kinds["wrong"] == 1, (table, column)


def test_a_moved_point_is_a_misread() -> None:
    tables = copy.deepcopy(_tables(SOUND))
    row = next(r for r in tables["readings"] if r["kind"] == "face" and r["row"])
    row["row"] += 1
    assert _judge(SOUND, tables).kinds["wrong"] == 1


def test_what_is_lost_invented_or_let_through_is_found() -> None:
    tables = copy.deepcopy(_tables(SOUND + FAULTY))
    gone = tables["surveys"].pop(0)
    twin = {**tables["surveys"][0], "survey_id": "twin"}
    tables["surveys"].append(twin)
    for row in tables["surveys"]:
        row["status"] = "accepted" if row["status"] == "held" else row["status"]
    tally = _judge(SOUND + FAULTY, tables)
    assert tally.kinds["lost"] == 1, gone
    assert tally.kinds["invented"] == 1
    assert tally.kinds["missed"] == 5
