"""The planted data faults. Each changes one sound survey as a hurried person would, and says which code is due."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from tests.demo.campus import DRAFTY_ROOMS, YEARS
from tests.demo.chance import Chance
from tests.demo.surveys import Fault, Survey, TextNumber, rounded, written_mean

PLANTED_ROOMS = {(r.building, r.room) for r in DRAFTY_ROOMS}
SPARE = ("TA-09", dt.date(2025, 3, 10), dt.date(2026, 3, 10))  # Amber's instrument that was not calibrated in time
LEFT_ALONE = {"AV-133", "GD-110", "AV-115", "LP-108", "BT-112"}  # hoods that carry another story


class Planter:
    """Picks sound surveys for faults, never one hood twice, and never a hood that carries another story."""

    def __init__(self, by_year: dict[int, list[Survey]]):
        self.by_year = by_year
        self.used: set[str] = set(LEFT_ALONE)
        self.picks = 0

    def pick(self, year: int, building: str, *, columns: int | None = None, after: dt.date | None = None) -> Survey:
        self.picks += 1
        order = Chance("fault", self.picks, year, building)
        for s in sorted(self.by_year[year], key=lambda _: order.uniform()):
            h = s.hood
            sound = s.occasion == "annual" and s.truth()[0] == "pass" and h.interval_months == 12
            ordinary = h.hood_type in ("general chemical", "variable volume") and (h.code, h.room) not in PLANTED_ROOMS
            alone = sum(other.hood is h for other in self.by_year[year]) == 1
            if (
                h.code == building
                and sound
                and ordinary
                and alone
                and not s.faults
                and h.hood_id not in self.used
                and (columns is None or h.columns == columns)
                and (after is None or s.date > after)
            ):
                self.used.add(h.hood_id)
                return s
        raise RuntimeError(f"no sound survey left in {building} {year}")

    def last_year(self, s: Survey) -> Survey:
        return next(o for o in self.by_year[s.year - 1] if o.hood is s.hood and o.occasion == "annual")


def hold(s: Survey, code: str, key: str | None, field: str, story: str, exact: bool = True) -> None:
    s.faults.append(Fault(code, "hold", key, field, story, exact))
    s.verdict = None  # the contractor's own result is left out where it would be one more contradiction


def caution(s: Survey, code: str, key: str | None, field: str, story: str, exact: bool = True) -> None:
    s.faults.append(Fault(code, "caution", key, field, story, exact))


def _replace_point(s: Survey, row: int, column: int, value: object) -> str:
    """Puts `value` into a cell of the grid (1-based) and keeps the average that of the numbers left."""
    s.face[row - 1][column - 1] = value
    s.mean = written_mean(s)
    return f"face:{row}:{column}"


def plant_this_year(p: Planter) -> list[Survey]:
    """The faults of 2026; gives back surveys that come on top (a second sheet for a hood)."""
    return [*_amber(p), *_cobalt(p), *_sienna(p)]


def _amber(p: Planter) -> list[Survey]:
    s = p.pick(2026, "AV", columns=6)
    old = p.last_year(s)
    # The numbers were typed over from the archived sheet, whatever unit the archive is in (it is ft/min in 2025).
    s.face, s.mean = [list(row) for row in old.face], written_mean(old)
    hold(s, "grid-copied", "grid", "face", "the grid is last year's, number for number", exact=False)

    s = p.pick(2026, "AV")
    hold(s, "grid-incomplete", _replace_point(s, 2, 3, None), "reading", "one point was left blank")

    s = p.pick(2026, "BT")
    _replace_point(s, 3, 1, 38)
    hold(
        s, "grid-incomplete", _replace_point(s, 1, 2, None), "reading", "a blank point, and 38 ft/min at the lower left"
    )

    s = p.pick(2026, "BT")
    s.face = [[rounded(v * 0.00508, 2) for v in row] for row in s.face]
    s.cross = {place: rounded(v * 0.00508, 2) for place, v in s.cross.items()}
    s.mean = rounded(sum(sum(row) for row in s.face) / sum(len(row) for row in s.face), 2)
    s.monitor = rounded(s.monitor * 0.00508, 2) if s.monitor else None
    hold(s, "unit-mismatch", "grid", "unit", "numbers in m/s under ft/min", exact=False)

    for _ in range(2):
        s = p.pick(2026, "CU")
        s.instrument, s.calibrated, s.due = SPARE
        hold(s, "calibration-expired", "calibration_due", "calibration_due", "a spare instrument, out of calibration")
        s.verdict = "PASS"

    s = p.pick(2026, "CU")
    s.mean = rounded(float(s.mean) + 9.0, 1)
    hold(s, "reported-mean-differs", "mean", "reported_mean", "the average is 9 ft/min above that of its readings")

    s = p.pick(2026, "AV")
    s.written["hood"], s.hood_known = "AV-611", False
    hold(s, "hood-unknown", "hood", "hood", "a tag that the register does not have")

    s = p.pick(2026, "AV")
    s.written["sash"] = None
    hold(s, "sash-missing", None, "sash_height", "the sash height was not written down")

    s = p.pick(2026, "CU")
    hold(s, "reading-not-numeric", _replace_point(s, 3, 2, "blocked"), "reading", "a word where a reading should stand")

    s = p.pick(2026, "CU")
    hold(s, "reading-not-numeric", _replace_point(s, 2, 2, "#REF!"), "reading", "an Excel error in the grid")

    s = p.pick(2026, "CU")
    s.written["unit"] = None
    for key in ("grid", "cross"):
        hold(s, "unit-missing", key, "unit", f"no unit anywhere on the sheet ({key})", exact=False)

    s = p.pick(2026, "BT")
    again = replace(s, face=[[v + 3 + (i % 3) for i, v in enumerate(row)] for row in s.face], faults=[], cells={})
    again.mean, again.written = written_mean(again), {"sheet": f"{s.hood.hood_id} (2)"}
    for one in (s, again):
        hold(one, "survey-repeated", "surveyed_on", "surveyed_on", "two sheets for one hood and day", exact=False)
    extra = [again]

    s = p.pick(2026, "CU")
    s.mean = "#DIV/0!"
    caution(s, "reported-mean-unreadable", "mean", "reported_mean", "an Excel error as the average")
    s = p.pick(2026, "AV")
    s.written["calibrated"] = s.written["due"] = None
    caution(s, "calibration-missing", None, "calibration_due", "no calibration date")
    s = p.pick(2026, "CU")
    s.smoke_local = s.smoke_gross = s.verdict = None
    caution(s, "smoke-missing", None, "smoke_local", "no smoke test")
    s = p.pick(2026, "AV")
    s.written["room"] = "119"
    caution(s, "place-differs", "room", "room", "a room number that is not the register's")
    s = p.pick(2026, "BT")
    s.face[0][0] = TextNumber(f"{s.face[0][0]} fpm", s.face[0][0])
    caution(s, "reading-coerced", "face:1:1", "reading", "a unit typed behind a reading")
    s = p.pick(2026, "AV")
    s.written["sash"], s.judged, s.verdict = s.hood.working_sash_in - 6, False, None
    caution(s, "sash-differs", "sash", "sash_height", "measured with the sash 6 in below the working height")
    return extra


def _cobalt(p: Planter) -> list[Survey]:
    s = p.pick(2026, "DU")
    s.date = s.date.replace(day=5)  # of March: 5 March or 3 May
    s.written["date"] = s.date.strftime("%d/%m/%Y")
    hold(s, "date-ambiguous", "surveyed_on", "surveyed_on", "typed as text; day and month can be swapped")

    s = p.pick(2026, "GD")
    s.written["hood"] = None
    hold(s, "hood-missing", None, "hood", "the hood was not named")

    s = p.pick(2026, "GD")
    s.written["no grid"] = True
    hold(s, "readings-missing", "mean", "readings", "an average without its readings", exact=False)

    first = p.pick(2026, "GD", columns=6)
    second = p.pick(2026, "GD", columns=6)
    second.face, second.mean = [list(row) for row in first.face], first.mean
    for one in (first, second):
        hold(one, "grid-copied", "grid", "face", "two neighbours with the same grid", exact=False)

    s = p.pick(2026, "DU")
    s.cross, s.verdict = {}, None
    caution(s, "cross-draft-missing", None, "cross_draft", "cross-drafts not measured")
    s = p.pick(2026, "GD")
    s.written["width"] = s.hood.opening_width_in + 12
    caution(s, "opening-differs", "width", "opening_width", "a foot wider than the register says")
    s = p.pick(2026, "DU")
    s.written["instrument"] = None
    caution(s, "instrument-missing", None, "instrument_id", "no instrument named")
    return []


def _sienna(p: Planter) -> list[Survey]:
    s = p.pick(2026, "HN")
    value = s.face[1][1]
    hold(s, "reading-implausible", _replace_point(s, 2, 2, value * 10), "reading", "a nought too many")

    s = p.pick(2026, "HN")
    s.written["date"] = dt.date(2026, 12, s.date.day)
    hold(s, "date-implausible", "surveyed_on", "surveyed_on", "a day that has not come yet")

    s = p.pick(2026, "LP")
    hold(s, "reported-verdict-differs", "verdict", "reported_verdict", "FAIL on the sheet, though every figure is good")
    s.verdict, s.remark = "FAIL", "sash cable frayed, will not stay up"

    s = p.pick(2026, "HN")
    s.smoke_local, s.verdict = "see photo 12", None
    caution(s, "smoke-unclear", "smoke_local", "smoke_local", "words that do not say what the smoke did")
    return []


def plant_earlier(p: Planter) -> None:
    """A few faults in each archived year; the archive is no better than its sources were."""
    s = p.pick(2022, "AV")
    hold(s, "grid-incomplete", _replace_point(s, 2, 2, None), "reading", "a point that was never filled in")
    for building in ("GD", "HN"):
        s = p.pick(2022, building)
        s.written["sash"] = None
        hold(s, "sash-missing", None, "sash_height", "no sash height was archived")

    s = p.pick(2023, "CU")
    s.mean = rounded(float(s.mean) + 7.0, 1)
    hold(s, "reported-mean-differs", "mean", "reported_mean", "the average is not that of the readings")
    s = p.pick(2023, "LP")
    s.written["hood"], s.hood_known = "LP-701", False
    hold(s, "hood-unknown", "hood", "hood", "a tag that the register does not have")

    for _ in range(2):
        s = p.pick(2024, "BT")
        s.calibrated, s.due = dt.date(2023, 2, 6), dt.date(2024, 2, 6)
        hold(
            s, "calibration-expired", "calibration_due", "calibration_due", "the calibration had lapsed a month before"
        )
        s.verdict = "PASS"

    s = p.pick(2025, "HN")
    value = s.face[1][2]
    hold(s, "reading-implausible", _replace_point(s, 2, 3, value * 10), "reading", "a nought too many")
    s = p.pick(2025, "AV")
    hold(s, "reading-not-numeric", _replace_point(s, 1, 1, "n/a"), "reading", "a word where a reading should stand")


def plant_all(by_year: dict[int, list[Survey]]) -> None:
    """Plants everything, this year's first; `by_year` gets the extra sheets."""
    planter = Planter(by_year)
    by_year[YEARS[-1]] += plant_this_year(planter)
    plant_earlier(planter)
