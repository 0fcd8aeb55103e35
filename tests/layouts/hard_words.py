"""Hard words: tags, units, lengths and dates as people write them."""

# ruff: noqa: E501 - a sheet reads best with a line for each of its rows

from __future__ import annotations

import datetime as dt

from tests.layouts.hard import Hard, block, hard
from tests.layouts.truth import INCH_PER

DAY = dt.datetime(2026, 5, 27)
ISO = "2026-05-27"
NO_CROSS = ["cross-draft-missing"]
GRID = [["Face velocity"], [95, 97, 99], [101, 103, 102]]


def one(b: Hard, head: list, hood: str, sash: float = 18, unit: str = "ft/min", grid: list | None = None,
        status: str = "accepted", codes: list | None = None) -> None:  # fmt: skip
    """A sheet of head rows, then a grid of two rows under its heading."""
    s = b.sheet("Sheet1", [*head, *(grid or GRID)])
    top = len(head) + 2
    due = codes if codes is not None else (NO_CROSS if status == "accepted" else [])
    b.survey(s, hood, ISO, sash, unit, block(f"A{top}:C{top + 1}"), status=status, codes=due)


@hard("a tag with a blank for the dash")
def _(b: Hard) -> None:
    tag = b.tag(1, "FH-{}")
    one(b, [["Fume hood", tag.replace("-", " ")], ["Date", DAY], ["Sash height (in)", 18], ["Units", "fpm"]], tag)


@hard("a tag in small letters with a long dash")
def _(b: Hard) -> None:
    tag = b.tag(1, "FH-{}")
    one(
        b, [["Hood tag", tag.lower().replace("-", "–")], ["Date", DAY], ["Sash height (in)", 18], ["Units", "fpm"]], tag
    )


@hard("a tag that is a number in a number cell")
def _(b: Hard) -> None:
    tag = b.tag(1, "7{}")
    one(b, [["Hood #", int(tag)], ["Date", DAY], ["Sash height (in)", 18], ["Units", "fpm"]], tag)


@hard("'Hood #' before the number in the value itself")
def _(b: Hard) -> None:
    tag = b.tag(1, "8{}")
    one(b, [["Hood", f"Hood #{tag}"], ["Date", DAY], ["Sash height (in)", 18], ["Units", "fpm"]], tag)


@hard("label, value and unit in one cell")
def _(b: Hard) -> None:
    one(b, [[f"Hood: {b.tag()}"], ["Date: 27 May 2026"], ["Sash height: 18 in."], ["Units: ft./min."]], b.tag())


@hard("two facts in one cell, parted by wide blanks")
def _(b: Hard) -> None:
    one(
        b,
        [[f"Hood: {b.tag()}        Date: 27 May 2026"], ["Sash height: 18 in     Units: fpm"]],
        b.tag(),
        status="either",
    )


@hard("sash in feet and inches")
def _(b: Hard) -> None:
    one(b, [["Hood", b.tag()], ["Date", DAY], ["Sash height", "1' 6\""], ["Units", "fpm"]], b.tag())


@hard("sash with a fraction of an inch")
def _(b: Hard) -> None:
    one(b, [["Hood", b.tag()], ["Date", DAY], ["Sash height", '17 1/2"'], ["Units", "fpm"]], b.tag(), 17.5)


@hard("sash in inches with millimetres in brackets")
def _(b: Hard) -> None:
    one(
        b,
        [["Hood", b.tag()], ["Date", DAY], ["Sash height", "18 in (457 mm)"], ["Units", "fpm"]],
        b.tag(),
        status="either",
    )


@hard("sash in centimetres with a decimal comma")
def _(b: Hard) -> None:
    one(b, [["Hood", b.tag()], ["Date", DAY], ["Sash opening", "45,7 cm"], ["Units", "m/s"]], b.tag(), 45.7 * INCH_PER["cm"], "m/s",
        [["Face velocity"], [0.51, 0.5, 0.49], [0.47, 0.48, 0.46]])  # fmt: skip


@hard("opening height, sash stop and sash height all on the sheet")
def _(b: Hard) -> None:
    one(b, [["Hood", b.tag()], ["Date", DAY], ["Full opening height (in)", 28], ["Opening width (in)", 60], ["Sash stop (in)", 20],
            ["Sash height at test (in)", 18], ["Units", "fpm"]], b.tag())  # fmt: skip


@hard("the unit stands only in the title")
def _(b: Hard) -> None:
    s = b.sheet("Sheet1", [["FUME HOOD FACE VELOCITY SURVEY (LFPM)"], ["Hood", b.tag()], ["Date", DAY], ["Sash height (in)", 18],
                           ["Readings"], [95, 97, 99], [101, 103, 102]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), status="either")


@hard("the unit stands only on the cover")
def _(b: Hard) -> None:
    b.sheet("Cover", [["Annual survey"], ["All velocities in this workbook are in fpm"]])
    one(b, [["Hood", b.tag()], ["Date", DAY], ["Sash height (in)", 18]], b.tag(), status="either")


@hard("the unit stands only with the average")
def _(b: Hard) -> None:
    one(
        b,
        [["Hood", b.tag()], ["Date", DAY], ["Sash height (in)", 18], ["Average face velocity", "99.5 fpm"]],
        b.tag(),
        status="either",
    )


@hard("a box ticked for the unit")
def _(b: Hard) -> None:
    one(
        b,
        [["Hood", b.tag()], ["Date", DAY], ["Sash height (in)", 18], ["Units", "[X] fpm   [ ] m/s"]],
        b.tag(),
        status="either",
    )


@hard("limits in both units, readings in one")
def _(b: Hard) -> None:
    one(b, [["Hood", b.tag()], ["Date", DAY], ["Sash height (in)", 18], ["Velocity units", "m/s"],
            ["Acceptance", "80-120 fpm (0.41-0.61 m/s)"]], b.tag(), 18, "m/s",
        [["Face velocity"], [0.51, 0.5, 0.49], [0.47, 0.48, 0.46]])  # fmt: skip


@hard("British words and metric units throughout")
def _(b: Hard) -> None:
    s = b.sheet("Cupboard", [["Fume cupboard no.", b.tag()], ["Date of examination", "27.05.2026"], ["Working sash height", "500 mm"],
                             ["Storey", 2], ["Face velocity (m/s)"], [None, "Left", "Centre", "Right"], ["Top", 0.51, 0.5, 0.49],
                             ["Bottom", 0.47, 0.48, 0.46], ["Draughts in front of the sash (m/s)", 0.06, 0.04, 0.07]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 500 / 25.4, "m/s", block("B7:D8"), ["B9", "C9", "D9"], status="either")


@hard("misspelt labels")
def _(b: Hard) -> None:
    one(b, [["Hood", b.tag()], ["Date", DAY], ["Sash hieght (in)", 18], ["Untis", "fpm"]], b.tag(), status="either")


@hard("US date in words with an ordinal")
def _(b: Hard) -> None:
    one(b, [["Hood", b.tag()], ["Test date", "May 27th, 2026"], ["Sash height (in)", 18], ["Units", "fpm"]], b.tag())


@hard("date and time of print, form issue and next test around the date")
def _(b: Hard) -> None:
    one(b, [["Form FH-7 issued 2024-01-05"], ["Printed 2 Jun 2026 14:20"], ["Hood", b.tag()], ["Last tested", dt.datetime(2025, 5, 20)],
            ["Date of test", DAY], ["Next test due", dt.datetime(2027, 5, 27)], ["Report date", dt.datetime(2026, 6, 1)],
            ["Sash height (in)", 18], ["Units", "fpm"]], b.tag())  # fmt: skip


@hard("an old binary workbook")
def _(b: Hard) -> None:
    b.format = "xls"
    one(b, [["Hood", b.tag()], ["Date", DAY], ["Sash height (in)", 18], ["Units", "fpm"]], b.tag())


@hard("an open document with merged head cells")
def _(b: Hard) -> None:
    b.format = "ods"
    s = b.sheet("Survey", [["FUME HOOD REPORT"], ["Hood", b.tag()], ["Date", DAY], ["Sash height (in)", 18], ["Units", "fpm"],
                           ["Face velocity"], [95, 97, 99], [101, 103, 102]])  # fmt: skip
    b.merge(s, "A1:D1", "A6:C6")
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A7:C8"), codes=NO_CROSS)
