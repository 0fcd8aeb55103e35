"""Surveys in few words: '8x100 38' is eight points of 100 and one of 38; 'blank' and '<20' as on a sheet."""

from __future__ import annotations

import re

import pandas as pd

from auditor.criteria import Judgement, judge, load_profiles
from auditor.survey import compute, match_hoods, normalise

PROFILES = load_profiles()
LENGTHS = {"sash": "sash_height", "width": "opening_width", "height": "opening_height"}


def points(text: str) -> list[tuple[str, float | None, float | None, str]]:
    """(written, value, bound, outcome) of each reading of a text."""
    out: list[tuple[str, float | None, float | None, str]] = []
    for word in text.split():
        found = re.fullmatch(r"(?:(\d+)x)?(.+)", word)
        assert found
        times, body = found.groups()
        if body == "blank":
            one: tuple[str, float | None, float | None, str] = ("", None, None, "blank")
        elif body.startswith("<"):
            one = (body, None, float(body[1:]), "censored")
        elif re.fullmatch(r"-?[\d.]+", body):
            one = (body, float(body), None, "number")
        else:
            one = (body, None, None, "not-numeric")
        out += [one] * int(times or 1)
    return out


def readings_of(
    survey_id: str, kind: str, text: str, unit: str = "ft/min", shape: tuple[int, int] | None = None, **beside
) -> list[dict]:
    column = "B" if kind == "face" else "H"
    rows = []
    for i, (written, value, bound, outcome) in enumerate(points(text)):
        place = {"row": i // shape[1] + 1, "column": i % shape[1] + 1} if shape else {"row": None, "column": None}
        rows.append(
            {
                "survey_id": survey_id, "workbook": "w.xlsx", "workbook_sha256": "0" * 64, "sheet": "s",
                "cell": f"{column}{i + 1}", "kind": kind, "position": None, "direction": None, "pass_number": 1,
                "written": written, "value": value, "outcome": outcome, "bound": bound, "unit": unit, "hidden": False,
                **place, **{k: v[i] if isinstance(v, list) else v for k, v in beside.items()},
            }
        )  # fmt: skip
    return rows


def survey(
    face: str = "9x100",
    cross: str = "10",
    smoke: str | None = "captured",
    unit: str = "ft/min",
    shape: tuple[int, int] | None = None,
    survey_id: str = "s1",
    edges: list[float | None] | None = None,
    places: list[tuple[str, str]] | None = None,
    **fields,
) -> tuple[dict, list[dict]]:
    """One survey and its readings, as written. Other fields by their own names; lengths as sash=18 (inches)."""
    row = {
        "survey_id": survey_id, "hood": "H-1", "surveyed_on": pd.Timestamp("2026-03-02"), "unit": unit,
        "sash_height": 18.0, "sash_height_unit": "in", "opening_width": 60.0, "opening_width_unit": "in",
        "opening_height": None, "opening_height_unit": "in", "smoke_local": smoke, "smoke_local_cell": "B30",
        "smoke_gross": None, "operating_mode": None, "observations": None, "tracer": None, "instrument_kind": None,
        "grid_rows": shape[0] if shape else None, "grid_columns": shape[1] if shape else None,
    }  # fmt: skip
    for name, value in fields.items():
        row[LENGTHS.get(name, name)] = value
    rows = readings_of(survey_id, "face", face, unit, shape, **({"edge_in": edges} if edges else {}))
    beside = {"position": [p for p, _ in places], "direction": [d for _, d in places]} if places else {}
    return row, rows + readings_of(survey_id, "cross-draft", cross, unit, **beside)


def frames(
    *surveys: tuple[dict, list[dict]], register: dict | list[dict] | None = None
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Normalised, matched and computed frames of surveys. `register` completes the register's row of their hood H-1; a
    list of them gives each survey a hood of its own."""
    wide = pd.DataFrame([row for row, _ in surveys])
    readings = pd.DataFrame([r for _, rows in surveys for r in rows], columns=_columns(surveys))
    hood = {"hood_id": "H-1", "building": "Wren Hall", "room": "12", "hood_type": "general chemical"}
    rows = [{**hood, **(register if isinstance(register, dict) else {})}]
    if isinstance(register, list):
        wide["hood"] = [f"H-{i}" for i in range(1, len(wide) + 1)]
        rows = [{**hood, **mine, "hood_id": tag} for mine, tag in zip(register, wide["hood"], strict=True)]
    wide, readings = normalise(wide, readings)
    return compute(match_hoods(wide, pd.DataFrame(rows)), readings), readings


def _columns(surveys: tuple[tuple[dict, list[dict]], ...]) -> list[str]:
    names = [k for _, rows in surveys for r in rows for k in r]
    return list(dict.fromkeys(names or readings_of("x", "face", "1")[0]))


def judged(
    *surveys: tuple[dict, list[dict]],
    register: dict | list[dict] | None = None,
    profile: str = "common-practice",
    **more,
) -> Judgement:
    wide, readings = frames(*surveys, register=register)
    return judge(wide, readings, PROFILES, default=profile, **more)


def verdict(*args, register: dict | None = None, profile: str = "common-practice", **kw) -> str:
    return str(judged(survey(*args, **kw), register=register, profile=profile).verdicts["verdict"].iloc[0])


def outcomes(j: Judgement) -> dict[str, str]:
    return dict(zip(j.findings["criterion"], j.findings["outcome"], strict=True))
