"""Judges what the reader made of a workbook against the truth, reading by reading.

A survey counts as *certain* where nothing holds it: neither a problem of its own or of its sheet, nor a state that the
later checks hold (no unit, no date, a reading that is not a number ...). A certain survey that differs from the truth
is `wrong`, the one unforgivable outcome.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, replace
from typing import Any

from tests.layouts.truth import FPM_PER, INCH_PER, Case

# The codes that are cautions by default (the contract's list); every other code holds.
CAUTIONS = {
    "opening-differs", "place-differs", "grid-too-coarse", "reading-coerced", "reading-censored", "sash-differs",
    "opening-missing", "cross-draft-missing", "smoke-missing", "smoke-unclear", "instrument-missing",
    "instrument-unsuited", "calibration-missing", "reported-mean-unreadable", "grid-resembles",
    "readings-too-smooth", "digits-uneven", "pace-implausible", "sheet-hidden", "row-hidden", "example-left-in",
}  # fmt: skip
# Found by comparing surveys, never by reading one.
LATER = {"survey-repeated", "grid-copied"}
TODAY = dt.date(2026, 11, 25)
BAD = {"wrong", "invented", "missed", "crash"}  # what must never be


@dataclass(frozen=True)
class Outcome:
    """`kind`: 'read right', 'held though sound', 'lost', 'wrong', 'invented', 'held right', 'held, other code',
    'missed' (a fault that nothing shows), 'later' (judged only by the whole pipeline), 'crash'."""

    kind: str
    sheet: str
    hood: str
    detail: str = ""
    codes_due: tuple[str, ...] = ()
    codes_lost: tuple[str, ...] = ()
    facts_wrong: tuple[str, ...] = ()


def read(case: Case) -> tuple[list[Any], str]:
    """(sheet accounts, code of a refusal) of a case, through the reader's public door."""
    from auditor import sheets
    from auditor.workbook import read_workbook
    from auditor.workbook.cells import Unreadable

    try:
        book = read_workbook(case.data, case.name)
    except Unreadable as refusal:
        return [], refusal.code
    context = None
    if hasattr(sheets, "Context"):
        context = sheets.Context(known_hoods=frozenset(row["hood_id"] for row in case.register))
    return sheets.understand(book, context), ""


def judge(case: Case) -> list[Outcome]:
    """One outcome for each survey of the truth, and one for each survey that does not exist."""
    try:
        accounts, refusal = read(case)
    except Exception as error:  # noqa: BLE001 - a crash is an outcome here
        return [Outcome("crash", "", "", f"{type(error).__name__}: {error}")]
    return judge_accounts(case, accounts, refusal)


def judge_accounts(case: Case, accounts: list[Any], refusal: str = "") -> list[Outcome]:
    """As `judge`, of accounts already there."""
    pool = [(account, survey) for account in accounts for survey in account.surveys]
    out = []
    for truth in case.truth:
        match = _match(truth, pool)
        if match:
            pool.remove(match)
        sheet = [a for a in accounts if truth["sheet"] in (None, a.sheet)]
        out.append(_judge_one(truth, match, sheet, refusal))
    for account, survey in pool:
        if not holds(account, survey) and not any(p.code == "example-left-in" for p in survey.problems):
            out.append(Outcome("invented", account.sheet, _hood(survey), f"place {survey.place}"))
    return out


def _match(truth: dict, pool: list[tuple[Any, Any]]) -> tuple[Any, Any] | None:
    """The survey that shares most face cells with the truth; without cells, the one of the same hood."""
    here = [(a, s) for a, s in pool if a.sheet == truth["sheet"]]
    cells = set(truth.get("cells", []))
    scored = [(len(cells & {r.cell for r in s.readings}), -i, (a, s)) for i, (a, s) in enumerate(here)]
    best = max(scored, default=None, key=lambda x: x[:2])
    if best and best[0] > 0:
        return best[2]
    same = [(a, s) for a, s in here if truth["hood_id"] and same_hood(_hood(s), truth["hood_id"])]
    if same:
        return same[0]
    return here[0] if here and not cells else None


def _value(survey: Any, name: str) -> Any:
    found = survey.fields.get(name)
    return None if found is None else found.value


def _hood(survey: Any) -> str:
    return str(_value(survey, "hood") or "")


def same_hood(written: str, hood_id: str) -> bool:
    """Equal but for case, blanks, dashes and the words that mean 'hood'."""

    def bare(text: str) -> str:
        return re.sub(r"[^0-9A-Z]", "", text.upper())

    plain = re.sub(r"^\s*(fume\s+)?(hood|cupboard)\b\s*(id|no\.?|number|tag|#)?[\s:#.-]*", "", written, flags=re.I)
    return bool(bare(written)) and bare(hood_id) in (bare(written), bare(plain))


def _date(value: Any) -> dt.date | None:
    return value.date() if isinstance(value, dt.datetime) else value


def sash_in(survey: Any) -> float | None:
    found = survey.fields.get("sash_height")
    if found is None or found.value is None or found.unit not in INCH_PER:
        return None
    return float(found.value) * INCH_PER[found.unit]


def holds(account: Any, survey: Any) -> list[str]:
    """Why this survey is held, as codes; empty where it would be accepted."""
    codes = [p.code for p in [*survey.problems, *account.problems] if p.code not in CAUTIONS]
    face = [r for r in survey.readings if r.kind == "face"]
    states = {
        "unit-missing": any(r.unit is None for r in survey.readings),
        "hood-missing": not _hood(survey),
        "date-missing": _value(survey, "surveyed_on") is None,
        "sash-missing": sash_in(survey) is None,
        "readings-missing": not face,
        "grid-incomplete": any(r.outcome == "blank" for r in face),
        "reading-not-numeric": any(r.outcome == "not-numeric" for r in survey.readings),
        "unit-mismatch": len({r.unit for r in face}) > 1,
    }
    return codes + [code for code, state in states.items() if state and code not in codes]


def _judge_one(truth: dict, match: tuple[Any, Any] | None, sheets: list[Any], refusal: str) -> Outcome:
    sheet, hood = truth["sheet"] or "", truth["hood_id"] or ""
    due = tuple(truth["codes"])

    def outcome(kind: str, detail: str = "", raised: set[str] | None = None) -> Outcome:
        lost = tuple(c for c in due if raised is not None and not raised & set(c.split("|")))
        return Outcome(kind, sheet, hood, detail, due, lost)

    if set(due) & LATER:
        return outcome("later")
    if truth["sheet"] is None or refusal:
        right = refusal in "|".join(due).split("|") and bool(refusal)
        return outcome("held right" if right else ("missed" if not refusal else "held, other code"), refusal, {refusal})
    sheet_codes = {p.code for a in sheets for p in a.problems}
    if truth["status"] == "absent":
        marked = match and any(p.code == "example-left-in" for p in match[1].problems)
        if match and not marked and not holds(*match):
            return outcome("invented", "an example was read as a survey")
        raised = sheet_codes | ({p.code for p in match[1].problems} if match else set())
        return outcome("held right", "", raised)
    if match is None:
        return _unmatched(truth, sheets, sheet_codes, outcome)
    account, survey = match
    why = holds(account, survey)
    later = seen_later(truth, survey)
    raised = set(why) | {p.code for p in survey.problems} | sheet_codes | later
    if truth["status"] == "held":
        if raised & {c for code in due for c in code.split("|")}:
            return outcome("held right", "", raised)
        return outcome(
            "held, other code" if why else "missed", f"raised {', '.join(sorted(raised)) or 'nothing'}", raised
        )
    why += sorted(later - CAUTIONS - {c for code in due for c in code.split("|")} - set(why))
    if why and truth["status"] == "either":
        return outcome("held right", "", raised)
    if why:
        details = "; ".join(
            f"{p.code} {p.cell} {p.detail}" for p in [*survey.problems, *account.problems] if p.code in why
        )
        return outcome("held though sound", ", ".join(sorted(set(why))) + (f" ({details})" if details else ""), raised)
    difference = differs(truth, survey) if truth["face"] else ""
    judged = outcome("wrong", difference, raised) if difference else outcome("read right", "", raised)
    return replace(judged, facts_wrong=tuple(facts_wrong(truth, survey)))


def _unmatched(truth: dict, sheets: list[Any], sheet_codes: set[str], outcome: Any) -> Outcome:
    named = bool(sheet_codes - CAUTIONS) or any(a.outcome == "held" for a in sheets)
    what = "; ".join(
        f"{a.outcome}: {a.reason or ', '.join(p.code + ' ' + p.detail for p in a.problems)}" for a in sheets
    )
    if truth["status"] == "held":
        if not named:
            return outcome("missed", f"neither held nor named ({what})", sheet_codes)
        right = sheet_codes & {c for code in truth["codes"] for c in code.split("|")}
        return outcome("held right" if right else "held, other code", what, sheet_codes)
    if truth["status"] == "either" and named:
        return outcome("held right", what, sheet_codes)
    return outcome("held though sound" if named else "lost", what, sheet_codes)


def seen_later(truth: dict, survey: Any) -> set[str]:
    """Codes that the later checks must raise from what was read here."""
    face = [r for r in survey.readings if r.kind == "face"]
    fpm = [r.value * FPM_PER[r.unit] for r in face if r.value is not None and r.unit in FPM_PER]
    mean = sum(fpm) / len(fpm) if fpm else None
    day, due = _date(_value(survey, "surveyed_on")), _date(_value(survey, "calibration_due"))
    reported, sash = survey.fields.get("reported_mean"), sash_in(survey)
    own = [r.value for r in face if r.value is not None]
    states = {
        "unit-mismatch": mean is not None and not (10 < mean < 1500 and min(fpm) > 3),
        "reading-implausible": any(v <= 0 or v > 500 for v in fpm) or any((v or 0) < 0 for v in own),
        "date-implausible": day is not None and day > TODAY,
        "hood-unknown": bool(_hood(survey)) and truth["hood_id"] is None,
        "sash-implausible": sash is not None and sash > 40,
        "calibration-expired": day is not None and due is not None and due < day,
        "reported-mean-differs": bool(own) and _mean_differs(_value(survey, "reported_mean"), sum(own) / len(own)),
        "reported-verdict-differs": "fail" in str(_value(survey, "reported_verdict") or "").casefold(),
        "place-differs": str(_value(survey, "room") or "") == truth.get("facts", {}).get("room"),
        "instrument-unsuited": _value(survey, "instrument_kind") == "pitot",
        "smoke-unclear": bool(_value(survey, "smoke_local")),
        "reported-mean-unreadable": reported is not None and reported.value is None,
        "reading-coerced": any(r.outcome == "coerced" for r in survey.readings),
        "reading-censored": any(r.outcome == "censored" for r in survey.readings),
        "row-hidden": any(r.hidden for r in survey.readings),
        "sheet-hidden": any(r.hidden for r in survey.readings),
        "cross-draft-missing": not any(r.kind == "cross-draft" for r in survey.readings),
    }  # fmt: skip
    return {code for code, state in states.items() if state}


def _mean_differs(reported: Any, mean: float) -> bool:
    """Beyond the rounding that the reported figure itself shows."""
    if not isinstance(reported, int | float):
        return False
    decimals = len(f"{reported:.6f}".rstrip("0").partition(".")[2])
    return abs(reported - mean) > 0.51 * 10.0**-decimals


def _near(a: float | None, b: float | None, tolerance: float) -> bool:
    return (a is None and b is None) or (a is not None and b is not None and abs(a - b) <= tolerance)


def differs(truth: dict, survey: Any) -> str:
    """How a certain survey differs from the truth; '' where it does not."""
    if truth["hood_id"] and not same_hood(_hood(survey), truth["hood_id"]):
        return f"hood {_hood(survey)!r} for {truth['hood_id']}"
    day = _date(_value(survey, "surveyed_on"))
    if (day.isoformat() if day else None) != truth["surveyed_on"]:
        return f"date {day} for {truth['surveyed_on']}"
    if not _near(sash_in(survey), truth["sash_height_in"], 0.05):
        return f"sash {sash_in(survey)} in for {truth['sash_height_in']}"
    face = {r.cell: r for r in survey.readings if r.kind == "face"}
    wrong = _compare_cells("face", {c: v for _, _, c, v in truth["face"]}, face)
    if wrong:
        return wrong
    units = {r.unit for r in face.values()}
    if units != {truth["unit"]}:
        return f"unit {units} for {truth['unit']}"
    if not truth.get("place_free") and (wrong := _compare_places(truth, survey, face)):
        return wrong
    if truth.get("cross_free"):
        return ""
    cross = {r.cell: r for r in survey.readings if r.kind == "cross-draft"}
    return _compare_cells("cross-draft", dict(truth["cross"]), cross)


def facts_wrong(truth: dict, survey: Any) -> list[str]:
    """Facts beyond the needed ones that were read, and read as something else."""
    wrong = []
    for name, want in truth.get("facts", {}).items():
        got = _value(survey, name)
        if got is None:
            continue
        if isinstance(want, float):
            same = isinstance(got, int | float) and abs(got - want) <= 0.02 * abs(want)
        elif name in ("calibration_due", "calibrated_on"):
            same = str(_date(got)) == want
        else:
            same = str(got).strip().removesuffix(".0").casefold() == want.casefold()
        if not same:
            wrong.append(f"{name} {got!r} for {want!r}")
    return wrong


def _compare_cells(kind: str, want: dict[str, float | None], have: dict[str, Any]) -> str:
    if set(want) != set(have):
        lost, extra = sorted(set(want) - set(have)), sorted(set(have) - set(want))
        return f"{kind} cells: lost {' '.join(lost) or 'none'}, extra {' '.join(extra) or 'none'}"
    for cell, velocity in want.items():
        reading = have[cell]
        got = None if reading.value is None else reading.value * FPM_PER.get(reading.unit, float("nan"))
        if not _near(got, velocity, 0.01):
            return f"{kind} {cell}: {got} ft/min ({reading.written!r} {reading.unit}) for {velocity}"
    return ""


def _compare_places(truth: dict, survey: Any, face: dict[str, Any]) -> str:
    for row, column, cell, _ in truth["face"]:
        got = (face[cell].row, face[cell].column)
        if got != (row, column):
            return f"{cell}: at row {got[0]}, column {got[1]} for {row}, {column}"
    shape = [survey.grid_rows, survey.grid_columns]
    if shape != (truth["shape"] or [None, None]):
        return f"grid {shape} for {truth['shape']}"
    places = [(r.row, r.column, r.pass_number) for r in face.values() if r.row is not None]
    return "" if len(places) == len(set(places)) else "two readings at one place in one pass"
