"""Faults: each spoils one thing in a sound workbook and names the discrepancy code that is due."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from random import Random

from tests.layouts.canvas import ErrorValue, Formula
from tests.layouts.firm import WORDS, Firm
from tests.layouts.truth import FPM_PER, Reading, Survey

FORMS = ("one-per-sheet", "several-per-sheet")
GRIDS = (*FORMS, "several-settings", "row-per-hood")
ALL = (*GRIDS, "row-per-reading")

OF_FILE = frozenset({"not-a-workbook", "web-page", "picture", "damaged", "empty-file", "encrypted", "swollen"})
# fault -> shapes that can carry it. Blanks in a long table may be read as 'the same as above', so a missing fact is
# planted only where its absence is certain.
SHAPES_OF: dict[str, tuple[str, ...]] = {
    "unit-missing": ALL, "unit-wrong": ALL, "unit-unknown": ALL, "two-units": ALL, "two-notes": ("one-per-sheet",),
    "missing-point": ALL, "word-in-grid": ALL, "excel-error": ALL, "no-stored-value": ALL, "tenfold": ALL,
    "negative": ALL, "zero": ALL, "ambiguous-date": ALL, "date-missing": (*FORMS, "row-per-hood"),
    "date-future": ALL, "hood-missing": (*FORMS, "row-per-hood"), "hood-unknown": ALL,
    "sash-missing": (*FORMS, "row-per-hood"), "sash-implausible": (*FORMS, "row-per-hood", "row-per-reading"),
    "bad-mean": (*FORMS, "row-per-hood"), "mean-only": (*FORMS, "row-per-hood"),
    "calibration-expired": (*FORMS, "row-per-hood"), "mean-error": FORMS, "censored": ALL,
    "hidden-sheet": ("one-per-sheet",), "hidden-row": FORMS, "example": ("one-per-sheet",),
    "repeated": FORMS, "copied": (*FORMS, "row-per-hood"), "unrecognisable": ("unrecognisable",),
    "verdict-fail": FORMS, "room-differs": FORMS, "pitot": FORMS, "smoke-unclear": FORMS,
    **dict.fromkeys(OF_FILE, ("one-per-sheet",)),
}  # fmt: skip
DUE: dict[str, str] = {
    "unit-missing": "unit-missing", "unit-wrong": "unit-mismatch", "unit-unknown": "unit-unknown",
    "two-units": "unit-mismatch", "two-notes": "unit-mismatch", "missing-point": "grid-incomplete",
    "word-in-grid": "reading-not-numeric", "excel-error": "reading-not-numeric",
    "no-stored-value": "reading-not-numeric", "tenfold": "reading-implausible", "negative": "reading-implausible",
    "zero": "reading-implausible", "ambiguous-date": "date-ambiguous", "date-missing": "date-missing",
    "date-future": "date-implausible", "hood-missing": "hood-missing", "hood-unknown": "hood-unknown",
    "sash-missing": "sash-missing", "sash-implausible": "sash-implausible", "bad-mean": "reported-mean-differs",
    "mean-only": "readings-missing|grid-incomplete", "calibration-expired": "calibration-expired",
    "mean-error": "reported-mean-unreadable", "censored": "reading-censored", "hidden-sheet": "sheet-hidden",
    "hidden-row": "row-hidden", "example": "example-left-in", "repeated": "survey-repeated", "copied": "grid-copied",
    "unrecognisable": "layout-not-recognised|layout-ambiguous|grid-incomplete|readings-missing",
    "verdict-fail": "reported-verdict-differs", "room-differs": "place-differs", "pitot": "instrument-unsuited",
    "smoke-unclear": "smoke-unclear",
    **dict.fromkeys(OF_FILE - {"encrypted", "swollen"}, "file-unreadable"),
    "encrypted": "file-encrypted", "swollen": "file-too-large",
}  # fmt: skip
ONLY_CAUTION = {"mean-error", "censored", "hidden-sheet", "hidden-row", "room-differs", "pitot", "smoke-unclear"}
# Faults that no single sheet shows: they are found by comparing surveys.
BETWEEN_SURVEYS = {"repeated", "copied"}


def prepare_firm(rng: Random, firm: Firm, fault: str) -> None:
    """Habits that a fault needs."""
    if fault in ("unit-missing", "two-notes", "unit-wrong", "unit-unknown", "two-units"):
        firm.unit = firm.unit if firm.unit in ("ft/min", "m/s") else "ft/min"
        firm.decimals = 0 if firm.unit == "ft/min" else 2
        firm.unit_word = rng.choice(WORDS["units"][firm.unit])
        firm.unit_mode = rng.choice(["field", "heading", "note-top", "note-bottom", "heading-next"])
    if fault == "unit-missing":
        firm.unit_mode = "none"
    if fault == "unit-wrong":
        firm.unit_word = rng.choice(WORDS["units"]["m/s" if firm.unit == "ft/min" else "ft/min"])
    if fault == "unit-unknown":
        firm.unit_word = rng.choice(["cfm", "Pa", "in. w.g.", "L/s", "rpm"])
        firm.unit_mode = rng.choice(["field", "heading"])
    if fault == "two-notes":
        firm.unit_mode = rng.choice(["note-top", "note-bottom"])
    if fault in ("ambiguous-date", "calibration-expired", "date-future"):
        firm.date_style, firm.date_proof = "true", "self"
    if fault == "hood-missing":
        firm.labels["sheet"] = "Sheet{n}"
    if fault == "no-stored-value":
        firm.file_format = "openpyxl"
    if fault in ("hidden-sheet", "hidden-row"):
        firm.file_format = rng.choice(["openpyxl", "xlsxwriter"])
    if fault in ("excel-error", "mean-error", "no-stored-value") and firm.unit_mode == "cell":
        firm.unit_mode = "field"
    if fault in OF_FILE or fault == "example":
        firm.file_format = "openpyxl"


def spoil(rng: Random, firm: Firm, fault: str, surveys: list[Survey]) -> None:
    """Plants the fault in the surveys before they are laid out."""
    code, one = DUE[fault], rng.choice(surveys)
    if fault in ("unit-missing", "unit-wrong", "unit-unknown", "two-notes"):
        for survey in surveys:
            survey.fault(code)
        return
    if fault in BETWEEN_SURVEYS:
        _between(rng, firm, fault, surveys)
        return
    if fault in OF_FILE or fault in ("example", "hidden-sheet", "hidden-row"):
        return
    if fault == "unrecognisable":
        one.codes.clear()
    one.fault(code, "accepted" if fault in ONLY_CAUTION else "held")
    if fault in CELLS:
        at = rng.choice(list(one.passes[0]))
        one.passes[0][at] = replace(CELLS[fault](rng, firm, one.passes[0][at]), planted=True)
    elif fault in FACTS:
        FACTS[fault](rng, firm, one)


def _text(firm: Firm, value: float) -> float | str:
    """The number as this firm would have written it."""
    return f"{value:.{firm.decimals}f} {firm.unit_word}" if firm.unit_mode == "cell" else firm.number(value)


def _other_unit(rng: Random, firm: Firm, reading: Reading) -> Reading:
    value = reading.value or 1.0
    if firm.unit == "ft/min":
        return Reading(round(value * 0.00508, 2), f"{value * 0.00508:.2f} m/s", "m/s")
    return Reading(round(value / 0.00508), f"{value / 0.00508:.0f} fpm", "ft/min")


CELLS: dict[str, Callable[[Random, Firm, Reading], Reading]] = {
    "two-units": _other_unit,
    "missing-point": lambda rng, firm, r: Reading(None, None),
    "word-in-grid": lambda rng, firm, r: Reading(
        None, rng.choice(["blocked", "N/A", "n/a", "-", "see note", "OK", "x", "ERR", "obstructed", "?", "none", "I00"])
    ),
    "excel-error": lambda rng, firm, r: Reading(None, ErrorValue(rng.choice(["#VALUE!", "#DIV/0!", "#N/A", "#REF!"]))),
    "no-stored-value": lambda rng, firm, r: Reading(None, Formula("=AVERAGE(AA90:AB90)", None)),
    "tenfold": lambda rng, firm, r: Reading((r.value or 1) * 10, _text(firm, (r.value or 1) * 10)),
    "negative": lambda rng, firm, r: Reading(-(r.value or 1), _text(firm, -(r.value or 1))),
    "zero": lambda rng, firm, r: Reading(0.0, _text(firm, 0)),
    "censored": lambda rng, firm, r: Reading(None, "<" + str(firm.number((r.value or 1) / 4))),
}


def _ambiguous(rng: Random, firm: Firm, s: Survey) -> None:
    day, month = rng.sample(range(3, 11), 2)
    joint = rng.choice("//-.") if s.date else "/"
    joint = "/" if joint == "." else joint
    s.date_written = f"{day:02d}{joint}{month:02d}{joint}2026" if rng.random() < 0.7 else f"{day}/{month}/2026"


def _future(rng: Random, firm: Firm, s: Survey) -> None:
    s.date = s.date.replace(year=s.date.year + rng.choice([10, 36, 100]), day=min(s.date.day, 28))
    s.date_written = dt.datetime(s.date.year, s.date.month, s.date.day)


def _unknown(rng: Random, firm: Firm, s: Survey) -> None:
    s.hood_written = f"ZZ-{90000 + rng.randrange(9999)}"
    s.hood_id = ""


def _sash_tall(rng: Random, firm: Firm, s: Survey) -> None:
    s.sash_value, s.sash_in = s.sash_value * 10, s.sash_in * 10


def _bad_mean(rng: Random, firm: Firm, s: Survey) -> None:
    s.reported_mean = firm.number((s.mean or 1) * rng.choice([0.7, 0.8, 1.25, 1.15]))


def _mean_only(rng: Random, firm: Firm, s: Survey) -> None:
    s.omit.add("readings")
    s.codes = [code for code in s.codes if code != "reading-coerced"]
    s.reported_mean = firm.number(s.mean or 1)


def _expired(rng: Random, firm: Firm, s: Survey) -> None:
    s.calibration_due = s.date - dt.timedelta(days=rng.randrange(5, 300))
    s.calibrated_on = s.calibration_due - dt.timedelta(days=365)


def _verdict_fail(rng: Random, firm: Firm, s: Survey) -> None:
    """The sheet says fail, though every criterion of common practice is met: somebody saw something."""
    s.verdict, s.smoke, s.calm = rng.choice(["FAIL", "Fail", "Failed"]), "captured", True
    for one in s.passes:
        for reading in one.values():
            reading.value = firm.number(rng.uniform(90, 99) / FPM_PER[s.unit])
            reading.written = _text(firm, reading.value)


FACTS: dict[str, Callable[[Random, Firm, Survey], None]] = {
    "ambiguous-date": _ambiguous,
    "date-missing": lambda rng, firm, s: s.omit.add("date"),
    "date-future": _future,
    "hood-missing": lambda rng, firm, s: s.omit.add("hood"),
    "hood-unknown": _unknown,
    "sash-missing": lambda rng, firm, s: s.omit.add("sash"),
    "sash-implausible": _sash_tall,
    "bad-mean": _bad_mean,
    "mean-only": _mean_only,
    "calibration-expired": _expired,
    "verdict-fail": _verdict_fail,
    "room-differs": lambda rng, firm, s: setattr(s, "room_written", "9" + s.room),
    "pitot": lambda rng, firm, s: setattr(s, "instrument", "Pitot tube PT-4"),
    "smoke-unclear": lambda rng, firm, s: setattr(s, "smoke", rng.choice(["see photo", "done", "as last year"])),
    "mean-error": lambda rng, firm, s: setattr(s, "reported_mean", ErrorValue("#DIV/0!")),
}


def _between(rng: Random, firm: Firm, fault: str, surveys: list[Survey]) -> None:
    first, second = surveys[0], surveys[1]
    if fault == "repeated":
        second.hood_id, second.hood_written = first.hood_id, first.hood_id
        second.date, second.date_written = first.date, first.date_written
        second.sash_in, second.sash_value = first.sash_in, first.sash_value
    else:
        second.passes = [dict(one) for one in first.passes]
        second.reported_mean = first.reported_mean
    for survey in (first, second):
        survey.fault(DUE[fault])
