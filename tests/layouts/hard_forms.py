"""Hard forms: where a sheet puts its facts."""

# ruff: noqa: E501 - a sheet reads best with a line for each of its rows

from __future__ import annotations

import datetime as dt

from tests.layouts.hard import Hard, block, hard, nowhere

DAY = dt.datetime(2026, 3, 18)
ISO = "2026-03-18"


@hard("two-page form with the head repeated and the readings on page two")
def _(b: Hard) -> None:
    s = b.sheet("Form", [
        ["COBALT BALANCING", None, None, None, "Page 1 of 2"],
        ["Fume hood no.", b.tag(), None, "Date of test", DAY],
        ["Room", "110", None, "Technician", "R. T."],
        ["Sash opening at test", '18"', None, "Instrument", "TA-2"],
        ["Inspection items"],
        ["1. Sash moves freely", "Y"], ["2. Baffles clear", "Y"], ["3. Light works", "N"],
        ["4. Storage inside, pieces", 3], ["5. Alarm set point (fpm)", 80],
        [],
        ["COBALT BALANCING", None, None, None, "Page 2 of 2"],
        ["Fume hood no.", b.tag(), None, "Date of test", DAY],
        ["Face velocity, FPM"],
        [None, "Left", "Center", "Right"],
        ["Upper", 101, 99, 104], ["Lower", 96, 95, 98],
        ["Average", 98.8],
        ["Cross drafts, FPM", 12, 9, 14],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B16:D17"), ["B19", "C19", "D19"])


@hard("labels and values alternating in one long row")
def _(b: Hard) -> None:
    s = b.sheet("Sheet1", [
        ["Hood", b.tag(), "Date", DAY, "Sash (in)", 18, "Units", "fpm", "Tech", "KL"],
        [],
        ["Face velocity"],
        [98, 97, 101, 99], [95, 94, 97, 96],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A4:D5"), codes=["cross-draft-missing"])


@hard("everything merged: labels, values and each reading over two columns")
def _(b: Hard) -> None:
    s = b.sheet("Hood form", [
        ["Hood number", None, b.tag()], ["Survey date", None, DAY], ["Sash height (mm)", None, 457],
        ["Velocity units", None, "m/s"], [],
        ["Face velocity readings"],
        ["Left", None, "Centre", None, "Right"],
        [0.48, None, 0.51, None, 0.50], [0.46, None, 0.47, None, 0.49],
    ])  # fmt: skip
    b.merge(s, "A1:B1", "C1:F1", "A2:B2", "C2:F2", "A3:B3", "C3:F3", "A4:B4", "C4:F4", "A6:F6")
    b.merge(s, *[f"{x}{r}:{y}{r}" for r in (7, 8, 9) for x, y in (("A", "B"), ("C", "D"), ("E", "F"))])
    spots = [(r - 7, c, f"{'ACE'[c - 1]}{r}") for r in (8, 9) for c in (1, 2, 3)]
    b.survey(s, b.tag(), ISO, 457 / 25.4, "m/s", spots, codes=["cross-draft-missing"])


@hard("one column for each hood, numbered points as rows")
def _(b: Hard) -> None:
    s = b.sheet("Comparison", [
        ["Hood ID", b.tag(1), b.tag(2), b.tag(3)],
        ["Test date", DAY, DAY, dt.datetime(2026, 3, 19)],
        ["Sash height (in)", 18, 18, 16],
        ["Face velocity (fpm)"],
        *[[f"Point {i}", 95 + i, 99 + i, 88 + 2 * i] for i in range(1, 7)],
        ["Average", 98.5, 102.5, 95],
    ])  # fmt: skip
    for n, (col, day, sash) in enumerate(zip("BCD", [ISO, ISO, "2026-03-19"], [18, 18, 16], strict=True), start=1):
        b.survey(s, b.tag(n), day, sash, "ft/min", nowhere(f"{col}5:{col}10"), codes=["cross-draft-missing"])


@hard("one column for each hood, named points as rows")
def _(b: Hard) -> None:
    names = ["Top left", "Top right", "Bottom left", "Bottom right"]
    s = b.sheet("Hoods", [
        ["Fume hood", b.tag(1), b.tag(2)], ["Date tested", "18 Mar 2026", "18 Mar 2026"], ["Sash opening", "18 in", "20 in"],
        ["All velocities in feet per minute"],
        *[[name, 90 + 3 * i, 101 - 2 * i] for i, name in enumerate(names)],
        ["Cross-draft max", 8, 13],
    ])  # fmt: skip
    for n, col in enumerate("BC", start=1):
        b.survey(s, b.tag(n), ISO, [18, 20][n - 1], "ft/min", [
            (1, 1, f"{col}5"), (1, 2, f"{col}6"), (2, 1, f"{col}7"), (2, 2, f"{col}8")], [f"{col}9"])  # fmt: skip


@hard("average in the head of the form, before the grid")
def _(b: Hard) -> None:
    s = b.sheet("FH form", [
        ["Fume Hood ID:", b.tag(), None, "AVERAGE VELOCITY:", 99.5, "fpm"],
        ["Date:", DAY, None, "Sash height:", 18, "in"],
        [],
        ["FACE VELOCITY GRID (fpm)"],
        [None, 1, 2, 3], ["A", 97, 99, 102], ["B", 99, 98, 102],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B6:D7"), codes=["cross-draft-missing"])


@hard("two sash settings, full open and 18 in, each with its grid")
def _(b: Hard) -> None:
    s = b.sheet("Settings", [
        ["Hood", b.tag()], ["Date of survey", DAY], ["Units", "fpm"], [],
        ['Sash position: full open (28")'], ["Face velocity"], [None, "L", "C", "R"], ["T", 81, 83, 82], ["B", 79, 80, 84],
        [], ['Sash position: 18"'], ["Face velocity"], [None, "L", "C", "R"], ["T", 103, 101, 105], ["B", 99, 104, 102],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 28, "ft/min", block("B8:D9"), codes=["cross-draft-missing"])
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B14:D15"), codes=["cross-draft-missing"])


@hard("sash settings as columns, points as rows")
def _(b: Hard) -> None:
    s = b.sheet("Sash study", [
        ["Hood tag", b.tag()], ["Test date", DAY], [],
        ["Face velocity (fpm)", "Sash 18 in", "Sash 12 in", "Sash 6 in"],
        *[[f"Point {i}", 95 + i, 110 + i, 132 + i] for i in range(1, 7)],
    ])  # fmt: skip
    for col, sash in zip("BCD", (18, 12, 6), strict=True):
        b.survey(s, b.tag(), ISO, sash, "ft/min", nowhere(f"{col}5:{col}10"), codes=["cross-draft-missing"])


@hard("checklist with Y and N columns and item numbers around the grid")
def _(b: Hard) -> None:
    s = b.sheet("Checklist", [
        ["Hood No.", b.tag(), None, "Date performed", DAY], ["Sash ht. (in)", 18, None, "Unit", "lfpm"], [],
        ["Item", "Check", "Y", "N"], [1, "Smoke: no escape at left edge", "X"], [2, "Smoke: no escape at right edge", "X"],
        [3, "Smoke: no escape at the airfoil", "X"], [4, "Sash stop at 18 in", None, "X"], [5, "Bottles counted: 12", "X"], [],
        ["Face velocity"], [None, 1, 2, 3, 4], ["Top", 99, 101, 98, 97], ["Bottom", 103, 104, 99, 100], [],
        ["Cross draft", 11, 13, 8],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B13:E14"), ["B16", "C16", "D16"])


@hard("legend with numbers beside the grid")
def _(b: Hard) -> None:
    s = b.sheet("Survey", [
        ["Hood ID", b.tag(), None, None, None, None, "Legend"],
        ["Date", DAY, None, None, None, None, "0-60", "red"],
        ["Sash height (in)", 18, None, None, None, None, "60-80", "yellow"],
        ["Velocity unit", "fpm", None, None, None, None, "80-120", "green"],
        [None, None, None, None, None, None, 1, "pass"],
        ["Face velocity", None, None, None, None, None, 2, "restricted"],
        [None, "Left", "Centre", "Right", None, None, 3, "fail"],
        ["Top", 88, 92, 90], ["Bottom", 86, 91, 93],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B8:D9"), codes=["cross-draft-missing"])


@hard("instrument table with calibration dates above the form")
def _(b: Hard) -> None:
    s = b.sheet("FH", [
        ["Instrument", "Serial no.", "Measures", "Calibration due"],
        ["TA-2", 40217, "face velocity", dt.datetime(2027, 1, 12)], ["TA-3", 40311, "cross drafts", dt.datetime(2026, 12, 1)], [],
        ["Hood identification", b.tag()], ["Date of inspection", DAY], ["Sash height, in.", 18], [],
        ["Face velocity (ft/min)", 95, 97, 99], [None, 94, 98, 101], [],
        ["Cross-draft (ft/min)", 7, 9, 6],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B9:D10"), ["B12", "C12", "D12"])


@hard("date in three cells, day, month and year")
def _(b: Hard) -> None:
    s = b.sheet("Form", [
        ["Hood", b.tag()], ["Date", "Day", 18, "Month", "March", "Year", 2026], ["Sash height (in)", 18], ["Units", "fpm"],
        ["Face velocity"], [98, 99, 97], [96, 101, 95],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), status="either")


@hard("date with a time of day")
def _(b: Hard) -> None:
    s = b.sheet("Form", [
        ["Hood", b.tag()], ["Tested on", dt.datetime(2026, 3, 18, 9, 40)], ["Sash height (in)", 18], ["Units", "fpm"],
        ["Face velocity"], [None, 1, 2, 3], ["A", 98, 99, 97], ["B", 96, 101, 95],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B7:D8"), codes=["cross-draft-missing"])


@hard("day and month that are the same number")
def _(b: Hard) -> None:
    s = b.sheet("Form", [
        ["Hood", b.tag()], ["Test date", "05/05/2026"], ["Sash height (in)", 18], ["Units", "fpm"],
        ["Face velocity"], [98, 99, 97, 90], [96, 101, 95, 92],
    ])  # fmt: skip
    b.survey(s, b.tag(), "2026-05-05", 18, "ft/min", block("A6:D7"), codes=["cross-draft-missing"])


@hard("hood named only by the sheet's name")
def _(b: Hard) -> None:
    s = b.sheet(b.tag(), [
        ["Test date", DAY], ["Sash height (in)", 18], ["Units", "fpm"],
        ["Face velocity"], [98, 99, 97], [96, 101, 95],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A5:C6"), codes=["cross-draft-missing"])


@hard("hood named only in the title")
def _(b: Hard) -> None:
    s = b.sheet("Sheet1", [
        [f"Face velocity test, fume hood {b.tag()}"], ["Test date", DAY], ["Sash height (in)", 18], ["Units", "fpm"], [],
        ["Face velocity"], [98, 99, 97], [96, 101, 95],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A7:C8"), status="either")


@hard("blank template sheet behind the filled form")
def _(b: Hard) -> None:
    def form(hood: str | None, day: object, sash: object, values: list) -> list:
        return [["Hood ID", hood], ["Date", day], ["Sash height (in)", sash], ["Velocity unit", "fpm"],
                ["Face velocity"], [None, "Left", "Centre", "Right"], ["Top", *values[:3]], ["Bottom", *values[3:]],
                ["Cross-draft"]]  # fmt: skip

    s = b.sheet("Hood 1", form(b.tag(), DAY, 18, [98, 99, 97, 96, 101, 95]))
    blank = b.sheet("Blank form", form(None, None, None, []))
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B7:D8"), codes=["cross-draft-missing"])
    b.absent(blank)


@hard("units three cells beyond the value")
def _(b: Hard) -> None:
    s = b.sheet("Form", [
        ["Hood tag no.", None, None, b.tag()], ["Measured on", None, None, DAY], ["Sash height", None, None, 46, None, "cm"],
        [], ["Face velocities", None, None, "(m/s)"], ["Top", 0.52, 0.55, 0.5], ["Bottom", 0.49, 0.47, 0.51],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 46 / 2.54, "m/s", block("B6:D7"), codes=["cross-draft-missing"])


@hard("upper-case form with dotted leaders and dashes for blanks")
def _(b: Hard) -> None:
    s = b.sheet("FORM", [
        ["HOOD NO. ..........", b.tag().lower()], ["DATE ..............", "MARCH 18, 2026"], ["SASH HT. (IN) .....", 18.0],
        ["MONITOR ...........", "-"], ["TRACER ............", "n/a"], ["UNITS .............", "FPM"], ["FACE VELOCITY"],
        ["", "LEFT", "CTR", "RIGHT"], ["TOP", 91, 93, 90], ["MID", 94, 95, 92], ["BOT", 97, 99, 96],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B9:D11"), codes=["cross-draft-missing"])


@hard("cross-draft table, places by directions, with mean and greatest for each place")
def _(b: Hard) -> None:
    s = b.sheet("Form", [
        ["Hood ID", b.tag()], ["Date", DAY], ["Sash height (in)", 18], ["Velocity unit", "fpm"],
        ["Face velocity"], [98, 99, 97], [96, 101, 95], [],
        ["Cross-draft at 6 in", "Mean", "Max"], ["Left", 7, 12], ["Centre", 6, 9], ["Right", 8, 15],
    ])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), cross_free=True)


@hard("three forms stacked with a common head")
def _(b: Hard) -> None:
    s = b.sheet(
        "Lab 110",
        [
            ["Amber Air Testing"],
            ["Test date", DAY],
            ["Velocity units", "fpm"],
            ["Sash height for all hoods", "18 in"],
            [],
        ],
    )
    for n, top in enumerate((6, 11, 16), start=1):
        b.rows(
            s,
            f"A{top}",
            [
                ["Hood", b.tag(n)],
                ["Face velocity"],
                ["Top", 90 + n, 92 + n, 95 + n],
                ["Bottom", 97 - n, 96 - n, 99 - n],
            ],
        )
        b.survey(s, b.tag(n), ISO, 18, "ft/min", block(f"B{top + 2}:D{top + 3}"), codes=["cross-draft-missing"])


@hard("four forms in a two by two arrangement")
def _(b: Hard) -> None:
    s = b.sheet("Sheet1")
    for n, start in enumerate(("A1", "G1", "A11", "G11"), start=1):
        b.rows(s, start, [["Hood:", b.tag(n)], ["Date:", DAY], ["Sash (in):", 18], ["Units:", "fpm"], ["Face velocity"],
                          [None, "L", "C", "R"], ["T", 90 + n, 92 + n, 95 + n], ["B", 97 - n, 96 - n, 99 - n]])  # fmt: skip
        top, cols = (7 if n < 3 else 17), ("B", "D") if n % 2 else ("H", "J")
        b.survey(
            s, b.tag(n), ISO, 18, "ft/min", block(f"{cols[0]}{top}:{cols[1]}{top + 1}"), codes=["cross-draft-missing"]
        )
