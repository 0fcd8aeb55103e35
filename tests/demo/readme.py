"""The README of the sample folder, with the figures that the demo really has."""

from __future__ import annotations

from typing import Any

from tests.demo.campus import SPECIAL

TEXT = """# Sample workbooks: Tern Hill, a campus that does not exist

The campus, its buildings, hoods, contractors (Amber, Cobalt, Sienna), people's initials and every figure here are
**invented**, by `tests/demo/make_campus.py`. Nothing was measured anywhere; do not quote it as if it had been.

| file | what it is |
| --- | --- |
| `register.xlsx` | {hoods} hoods in 9 buildings; instruments; events of the ventilation |
| `2022/` | one row to a reading, csv |
| `2023/` | one row to a hood, a sheet to each hood size |
| `2024/` | one row to a hood, csv, in m/s, a file to each hood size |
| `2025/` | one row to a reading, xlsx |
| `2026/` | this year's, from three contractors: Amber (a form per sheet, ft/min), \
Cobalt (a form per sheet, m/s, labels above the values), Sienna (a row per hood, named points) |
| `demo.toml` | the demo's own 'today' ({today}), and the days within which each campaign falls |
| `manifest.json` | the truth: every planted fault with its cell, every verdict, and what the campus hides |

{workbooks} workbooks, {surveys} surveys, {held} of them due to be held. Surveys by year:

| year | pass | restricted | fail | not judged | held |
| --- | --- | --- | --- | --- | --- |
{rows}

## How the figures were drawn (assumptions, not data)
Hood means about N(98, 10) ft/min, variable volume narrower, low-flow about 73; a room effect of SD 4; spread within a
grid lognormal, median 5 %, 90th percentile 9 %; the lowest row 5 to 10 % faster; the largest cross-draft lognormal,
median 9, 95th percentile 20 ft/min outside the planted rooms, drawn so that no other room fails twice; 5 % of hoods
lose 1 ft/min a year; smoke that escapes or reverses in 0.7 % of surveys. Low-flow hoods come out restricted every year,
since the limits called common practice, which have no source, are the only ones here. Of all other hoods outside the
planted rooms {outside:.1f} % were restricted or failed over the five years (accepted surveys, retests left out).

## What is planted
- Four rooms on one air handler with cross-drafts from the left that come back, and one room beside a door.
- Two buildings whose hoods lose 4 and 5 ft/min a year.
- A hood that failed, was repaired and passed its retest; hoods to be taken out of use; hoods overdue and never
  surveyed.
- A held sheet that hides a point at 38 ft/min.
- Data faults of {codes} kinds: {list}.
"""


def readme(truth: dict[str, Any]) -> str:
    counts = truth["expected_verdicts"]
    rows = [f"| {y} | " + " | ".join(str(v) for v in c.values()) + " |" for y, c in counts.items()]
    rooms = {h for r in truth["cross_draft_rooms"] for h in r["hoods"]}
    columns = truth["survey_columns"]
    surveys = [dict(zip(columns, row, strict=True)) for row in truth["surveys"]]
    ordinary = [
        s["verdict"] != "pass"
        for s in surveys
        if s["status"] == "accepted"
        and s["occasion"] != "retest"
        and s["verdict"] != "not judged"
        and s["hood_id"] not in rooms
        and SPECIAL.get(s["hood_id"]) != "low-flow"
    ]
    codes = sorted({p["code"] for p in truth["planted"]})
    return TEXT.format(
        **truth["totals"],
        today=truth["today"],
        rows="\n".join(rows),
        outside=100 * sum(ordinary) / len(ordinary),
        codes=len(codes),
        list=", ".join(f"`{c}`" for c in codes),
    )
