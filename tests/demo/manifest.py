"""The truth about the demo campus, for a test to replay: what was planted, where, and what it comes to."""

from __future__ import annotations

import calendar
import datetime as dt
from collections import Counter, defaultdict
from itertools import pairwise
from typing import Any

from tests.demo import campus
from tests.demo.campaigns import REPAIRED
from tests.demo.campus import BUILDINGS, DRAFTY_ROOMS, TODAY, Hood
from tests.demo.surveys import Survey

SURVEY_COLUMNS = [
    "workbook", "sheet", "anchor", "hood_id", "surveyed_on", "occasion", "contractor", "unit", "status", "verdict",
    "unmet", "named", "face_cells", "face_points", "face_mean_fpm", "face_min_fpm", "cross_draft_max_fpm",
]  # fmt: skip
Surveys = dict[int, list[Survey]]


def file_name(path: str) -> str:
    return path.rsplit("/", 1)[-1]


def hood_named(s: Survey) -> str | None:
    """The register's hood that the sheet names, None where it names none or one unknown."""
    return s.hood.hood_id if s.hood_known and s.written.get("hood", s.hood.hood_id) else None


def named(s: Survey) -> str | None:
    """The hood as the sheet has it."""
    return s.written.get("hood", s.hood.hood_id)


def date_written(s: Survey) -> str | None:
    date = s.written.get("date", s.date)
    return date.isoformat() if isinstance(date, dt.date) else None


def survey_row(s: Survey) -> list[Any]:
    """One survey by SURVEY_COLUMNS. Figures and verdict only of accepted ones, from the numbers as written."""
    place = [file_name(s.workbook), s.sheet, s.cells.get("hood"), hood_named(s), date_written(s), s.occasion]
    start = [*place, s.contractor, s.written.get("unit", s.unit)]
    if s.held:
        return [*start, "held", None, None, named(s), s.cells.get("grid"), None, None, None, None]
    verdict, unmet = s.truth()
    face, cross = s.face_fpm, s.cross_fpm
    figures = [sum(face) / len(face), min(face), max(cross) if cross else None]
    return [
        *start, "accepted", verdict, unmet, named(s), s.cells["grid"], len(face),
        *(None if f is None else round(float(f), 6) for f in figures),
    ]  # fmt: skip


def planted_row(s: Survey, index: int) -> dict[str, Any]:
    f = s.faults[index]
    return {
        "code": f.code,
        "severity": f.severity,
        "workbook": file_name(s.workbook),
        "sheet": s.sheet,
        "cell": s.cells.get(f.key) if f.key else None,
        "cell_is_exact": f.exact,
        "field": f.field,
        "anchor": s.cells.get("hood"),
        "hood_id": hood_named(s),
        "named": named(s),
        "true_hood": s.hood.hood_id,
        "surveyed_on": date_written(s),
        "story": f.story,
    }


def month_later(date: dt.date, months: int) -> dt.date:
    year, month = divmod(date.year * 12 + date.month - 1 + months, 12)
    return dt.date(year, month + 1, min(date.day, calendar.monthrange(year, month + 1)[1]))


def last_accepted(by_year: Surveys) -> dict[str, Survey]:
    last: dict[str, Survey] = {}
    for s in sorted((s for ss in by_year.values() for s in ss if not s.held), key=lambda s: s.date):
        last[s.hood.hood_id] = s
    return last


def overdue(hoods: list[Hood], by_year: Surveys, lost: set[str]) -> list[dict[str, Any]]:
    """Hoods in service whose last accepted survey is older than their interval, and why."""
    last, rows = last_accepted(by_year), []
    held = {s.hood.hood_id for s in by_year[TODAY.year] if s.held}
    for h in hoods:
        if h.in_service == "no" or h.hood_id not in last:
            continue
        due = month_later(last[h.hood_id].date, h.interval_months)
        if due < TODAY:
            why = "not visited"
            if h.hood_id in lost:
                why = "its sheet is in the damaged file"
            elif h.hood_id in held:
                why = "this year's survey is held"
            rows.append({"hood_id": h.hood_id, "last_surveyed_on": last[h.hood_id].date.isoformat(),
                         "next_due": due.isoformat(), "why": why})  # fmt: skip
    return rows


def verdict_counts(by_year: Surveys) -> dict[str, dict[str, int]]:
    counts = {}
    for year, surveys in by_year.items():
        found = Counter("held" if s.held else s.truth()[0] for s in surveys)
        counts[str(year)] = {k: found.get(k, 0) for k in ("pass", "restricted", "fail", "not judged", "held")}
    return counts


def failed_on_draft(s: Survey) -> bool:
    return not s.held and any(c.startswith("cross-draft") for c in s.truth()[1])


def cross_draft_rooms(hoods: list[Hood], by_year: Surveys) -> list[dict[str, Any]]:
    rows = []
    for r in DRAFTY_ROOMS:
        inside = [h for h in hoods if (h.code, h.room) == (r.building, r.room)]
        failing = {
            str(y): sorted({s.hood.hood_id for s in ss if s.hood in inside and failed_on_draft(s)})
            for y, ss in by_year.items()
        }
        rows.append(
            {
                "group": f"{inside[0].building} / {r.floor} / {r.room}",
                "building": inside[0].building,
                "floor": r.floor,
                "room": r.room,
                "air_handler": r.air_handler,
                "side": r.side,
                "cause": r.cause,
                "hoods": [h.hood_id for h in inside],
                "years": [int(y) for y, f in failing.items() if f],
                "failing": failing,
            }
        )
    return rows


def clusters(hoods: list[Hood]) -> list[dict[str, str]]:
    """The groups that share the planted cross-drafts, named as the contract names groups."""
    names = {h.code: h.building for h in hoods}
    rooms = [{"level": "room", "group": f"{names[r.building]} / {r.floor} / {r.room}"} for r in DRAFTY_ROOMS]
    shared = Counter(r.air_handler for r in DRAFTY_ROOMS)
    return rooms + [{"level": "air handler", "group": a} for a, n in shared.items() if n > 1]


def declining_buildings(by_year: Surveys) -> list[dict[str, Any]]:
    """The planted slope, and the least-squares slope of the building's yearly mean over accepted surveys."""
    rows = []
    for b in BUILDINGS:
        if not b.decline_fpm_per_year:
            continue
        means: dict[int, float] = {}
        for year, surveys in by_year.items():
            own = [sum(s.face_fpm) / len(s.face_fpm) for s in surveys if s.hood.code == b.code and not s.held]
            means[year] = float(sum(own) / len(own))
        middle, level = sum(means) / len(means), sum(means.values()) / len(means)
        slope = sum((y - middle) * (m - level) for y, m in means.items()) / sum((y - middle) ** 2 for y in means)
        rows.append({"building": b.name, "planted_fpm_per_year": b.decline_fpm_per_year,
                     "measured_fpm_per_year": round(slope, 3),
                     "mean_fpm": {str(y): round(m, 3) for y, m in means.items()}})  # fmt: skip
    return rows


def falling_hoods(by_year: Surveys) -> dict[str, list[str]]:
    """Hoods whose accepted means fall from every survey to the next, at least five of them: planted, and by chance."""
    series: dict[str, list[Survey]] = defaultdict(list)
    for s in sorted((s for ss in by_year.values() for s in ss if not s.held), key=lambda s: s.date):
        series[s.hood.hood_id].append(s)
    found: dict[str, list[str]] = {"in declining buildings": [], "elsewhere, by chance": []}
    for hood_id, surveys in sorted(series.items()):
        means = [sum(s.face_fpm) / len(s.face_fpm) for s in surveys]
        if len(means) >= 5 and all(a > b for a, b in pairwise(means)):
            declines = campus.BY_CODE[hood_id[:2]].decline_fpm_per_year
            found["in declining buildings" if declines else "elsewhere, by chance"].append(hood_id)
    return found


def reference(s: Survey) -> dict[str, Any]:
    place = {"workbook": file_name(s.workbook), "sheet": s.sheet, "anchor": s.cells.get("hood")}
    return {"hood_id": s.hood.hood_id, "surveyed_on": s.date.isoformat(), **place}


def do_not_use(by_year: Surveys) -> list[dict[str, Any]]:
    """Hoods whose last accepted survey is a fail, with the criteria not met."""
    found = [s for s in last_accepted(by_year).values() if s.truth()[0] == "fail"]
    return [reference(s) | {"unmet": s.truth()[1]} for s in sorted(found, key=lambda s: s.hood.hood_id)]


def held_but_dangerous(by_year: Surveys) -> list[dict[str, Any]]:
    """Planted: a held sheet that hides a point below 60 ft/min."""
    rows = []
    for s in (s for ss in by_year.values() for s in ss if s.held):
        low = [(i, j, v) for i, row in enumerate(s.face, 1) for j, v in enumerate(row, 1)
               if s.unit == "ft/min" and isinstance(v, int) and 10 < v < 60]  # fmt: skip
        for i, j, v in low:
            cell = s.cells[f"face:{i}:{j}"]
            rows.append(reference(s) | {"point_fpm": v, "cell": cell, "provisional_verdict": "fail"})
    return rows


def retested(by_year: Surveys) -> list[dict[str, Any]]:
    """Every retest, beside the survey that made it needed."""
    rows = []
    for surveys in by_year.values():
        for s in (s for s in surveys if s.occasion == "retest"):
            before = max((o for o in surveys if o.hood is s.hood and o.date < s.date), key=lambda o: o.date)
            planted = s.hood.hood_id in REPAIRED and s.year == TODAY.year
            rows.append({"first": reference(before) | {"verdict": before.truth()[0], "unmet": before.truth()[1]},
                         "retest": reference(s) | {"verdict": s.truth()[0]}, "planted": planted})  # fmt: skip
    return rows


def make_manifest(
    hoods: list[Hood], by_year: Surveys, files: list[dict[str, Any]], others: list[dict[str, Any]], lost: set[str]
) -> dict[str, Any]:
    """`files`: path and status of each workbook; `others`: faults that belong to no survey."""
    surveys = [s for ss in by_year.values() for s in ss]
    books = []
    for f in files:
        own = [s for s in surveys if s.workbook == f["path"]]
        held = sum(s.held for s in own)
        books.append(f | {"surveys": len(own), "accepted": len(own) - held, "held": held})
    planted = others + [planted_row(s, i) for s in surveys for i in range(len(s.faults))]
    last = last_accepted(by_year)
    return {
        "note": "Everything here is invented. Made by tests/demo/make_campus.py; verdicts by tests/demo/judge.py.",
        "title": campus.TITLE,
        "today": TODAY.isoformat(),
        "totals": {
            "hoods": len(hoods),
            "workbooks": len(files),
            "unreadable": sum(f["status"] == "unreadable" for f in files),
            "surveys": len(surveys),
            "accepted": sum(not s.held for s in surveys),
            "held": sum(s.held for s in surveys),
        },
        "workbooks": books,
        "expected_verdicts": verdict_counts(by_year),
        "planted": planted,
        "do_not_use": do_not_use(by_year),
        "held_but_dangerous": held_but_dangerous(by_year),
        "retested": retested(by_year),
        "overdue": overdue(hoods, by_year, lost),
        "never_surveyed": sorted(h.hood_id for h in hoods if h.hood_id not in last and h.in_service == "yes"),
        "out_of_service": sorted(campus.OUT_OF_SERVICE_SINCE_2025),
        "cross_draft_rooms": cross_draft_rooms(hoods, by_year),
        "clusters": clusters(hoods),
        "declining_buildings": declining_buildings(by_year),
        "falling_hoods": falling_hoods(by_year),
        "survey_columns": SURVEY_COLUMNS,
        "surveys": [survey_row(s) for s in surveys],
    }
