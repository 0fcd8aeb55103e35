"""More hard sheets: loggers, coordinates, odd marks beside readings, legitimate zeros, retests."""

# ruff: noqa: E501 - a sheet reads best with a line for each of its rows

from __future__ import annotations

import datetime as dt

from tests.layouts.hard import Hard, block, hard, nowhere

DAY = dt.datetime(2026, 8, 19)
ISO = "2026-08-19"
NO_CROSS = ["cross-draft-missing"]


def head(b: Hard, *more: list) -> list:
    return [["Hood ID", b.tag()], ["Date", DAY], ["Sash height (in)", 18], ["Velocity unit", "fpm"], *more]


@hard("coordinates in inches along both sides of the grid")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            *head(b),
            ["Face velocity"],
            ["y \\ x (in)", 6, 18, 30, 42],
            [15, 95, 97, 99, 96],
            [9, 98, 96, 95, 97],
            [3, 101, 103, 102, 98],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B7:E9"), status="either", place_free=True)


@hard("a column for each hood, with two columns of labels")
def _(b: Hard) -> None:
    rows = [
        [d if c == "Left" else None, c, 90 + i, 95 + 2 * i]
        for i, (d, c) in enumerate((d, c) for d in ("Top", "Bottom") for c in ("Left", "Centre", "Right"))
    ]
    s = b.sheet(
        "Hoods",
        [
            ["Hood ID", None, b.tag(1), b.tag(2)],
            ["Date", None, DAY, DAY],
            ["Sash height (in)", None, 18, 16],
            ["Face velocity (fpm)"],
            *rows,
        ],
    )
    b.merge(s, "A5:A7", "A8:A10")
    where = [(r, c) for r in (1, 2) for c in (1, 2, 3)]
    for n, (col, sash) in enumerate((("C", 18), ("D", 16)), start=1):
        b.survey(
            s, b.tag(n), ISO, sash, "ft/min", [(*at, f"{col}{5 + i}") for i, at in enumerate(where)], status="either"
        )


@hard("the opening's width and height in one cell")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            *head(b),
            ["Opening (W x H)", '60" x 28"'],
            ["Face velocity"],
            [None, "Left", "Right"],
            ["Top", 95, 97],
            ["Bottom", 101, 103],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B8:C9"), codes=NO_CROSS)


@hard("a sash height with a remark in its cell")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            ["Hood ID", b.tag()],
            ["Date", DAY],
            ["Sash height", "18 in (working height)"],
            ["Velocity unit", "fpm"],
            ["Face velocity"],
            [95, 97, 96],
            [101, 103, 99],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), status="either")


@hard("the unit told twice, in words and in short")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            ["Hood ID", b.tag()],
            ["Date", DAY],
            ["Sash height (in)", 18],
            ["Velocity unit", "feet per minute (fpm)"],
            ["Face velocity"],
            [95, 97, 96],
            [101, 103, 99],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), codes=NO_CROSS)


@hard("the unit in a cell of its own after every reading")
def _(b: Hard) -> None:
    s = b.sheet("Hood", [["Hood ID", b.tag()], ["Date", DAY], ["Sash height (in)", 18], ["Face velocity"], [None, "Left", None, "Right"],
                         ["Top", 95, "fpm", 97, "fpm"], ["Bottom", 101, "fpm", 103, "fpm"]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B6:D7", step=(1, 2)), codes=NO_CROSS)


@hard("readings with a star and a footnote")
def _(b: Hard) -> None:
    s = b.sheet("Hood", [*head(b), ["Face velocity"], [95, "97*", 96], [101, 103, 99], ["* taken again"]])
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), status="either")


@hard("a count of points under the grid")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            *head(b),
            ["Face velocity"],
            [None, "L", "C", "R"],
            ["T", 95, 97, 96],
            ["B", 101, 103, 99],
            ["n", 6],
            ["Mean", 98.5],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B7:D8"), codes=NO_CROSS)


@hard("cross-drafts of nought, which are legitimate")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            *head(b),
            ["Face velocity"],
            [95, 97, 96],
            [101, 103, 99],
            [],
            ["Cross-draft"],
            ["Left", "Centre", "Right"],
            [0, 0, 0],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), ["A11", "B11", "C11"])


@hard("cross-drafts under the instrument's range")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            *head(b),
            ["Face velocity"],
            [95, 97, 96],
            [101, 103, 99],
            [],
            ["Cross-draft"],
            ["Left", "Centre", "Right"],
            ["<10", 11, "<10"],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), ["A11", "B11", "C11"], codes=["reading-censored"])


@hard("test and retest of one hood on two dates, one under the other")
def _(b: Hard) -> None:
    s = b.sheet("Hood")
    for top, day, values in ((1, DAY, [75, 77, 71, 73]), (9, dt.datetime(2026, 8, 27), [95, 97, 101, 103])):
        b.rows(
            s,
            f"A{top}",
            [
                ["Hood ID", b.tag()],
                ["Date", day],
                ["Sash height (in)", 18],
                ["Velocity unit", "fpm"],
                ["Face velocity"],
                values[:2],
                values[2:],
            ],
        )
        b.survey(s, b.tag(), day.date().isoformat(), 18, "ft/min", block(f"A{top + 5}:B{top + 6}"), codes=NO_CROSS)


@hard("numbers with the noise of computed decimals")
def _(b: Hard) -> None:
    s = b.sheet("Hood", [["Hood ID", b.tag()], ["Date", DAY], ["Sash height (in)", 18.000000000000004], ["Velocity unit", "m/s"], ["Face velocity"],
                         [0.1 + 0.2 + 0.2, 0.47999999999999998, 0.51], [0.49000000000000005, 0.5, 0.46]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "m/s", block("A6:C7"), codes=NO_CROSS)


@hard("a hidden column of last year's readings between the columns of this year's")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Hood", "Date", "Sash (in)", "P1 (fpm)", "P2 (fpm)", "2025 average (fpm)", "P3 (fpm)", "P4 (fpm)"], [b.tag(1), DAY, 18, 95, 97, 91, 99, 96],
                          [b.tag(2), DAY, 18, 91, 93, 88, 92, 94]])  # fmt: skip
    s.hidden_columns.add(6)
    for n in (1, 2):
        b.survey(s, b.tag(n), ISO, 18, "ft/min", [(None, None, f"{c}{1 + n}") for c in "DEGH"], codes=NO_CROSS)


@hard("several numbers in one cell of a table")
def _(b: Hard) -> None:
    s = b.sheet(
        "Table",
        [
            ["Hood", "Date", "Sash (in)", "Face velocities (fpm)"],
            [b.tag(1), DAY, 18, "95 / 97 / 99 / 96"],
            [b.tag(2), DAY, 18, "91 / 93 / 92 / 94"],
        ],
    )
    for n in (1, 2):
        b.survey(
            s,
            b.tag(n),
            ISO,
            18,
            "ft/min",
            [],
            status="held",
            codes=["readings-missing|reading-not-numeric|layout-not-recognised|layout-ambiguous"],
        )


@hard("averages of three years and no readings")
def _(b: Hard) -> None:
    s = b.sheet(
        "History",
        [
            ["Hood", "Date", "Sash (in)", "2024 average (fpm)", "2025 average (fpm)", "2026 average (fpm)"],
            [b.tag(1), DAY, 18, 95, 97, 99],
            [b.tag(2), DAY, 18, 91, 93, 92],
        ],
    )
    for n in (1, 2):
        b.survey(
            s,
            b.tag(n),
            ISO,
            18,
            "ft/min",
            [],
            status="held",
            codes=["readings-missing|layout-ambiguous|layout-not-recognised"],
        )


@hard("a logger's export, several samples at every point")
def _(b: Hard) -> None:
    b.format = "csv"
    rows = [
        [f"2026-08-19 09:{10 + p}:{10 * k:02d}", f"P{p}", 95 + p + k, 70.1] for p in (1, 2, 3, 4) for k in (0, 1, 2)
    ]
    s = b.sheet(
        "x",
        [["Hood", b.tag()], ["Sash height (in)", 18], [], ["Timestamp", "Point", "Velocity (fpm)", "Temp (F)"], *rows],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", nowhere("C5:C16"), status="either")


@hard("Roman numerals for the rows")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [*head(b), ["Face velocity"], [None, 1, 2, 3], ["I", 95, 97, 96], ["II", 98, 97, 99], ["III", 101, 103, 99]],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B7:D9"), status="either")


@hard("a date that is a bare serial number")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            ["Hood ID", b.tag()],
            ["Date", 46253],
            ["Sash height (in)", 18],
            ["Velocity unit", "fpm"],
            ["Face velocity"],
            [95, 97, 96],
            [101, 103, 99],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), status="either")


@hard("RH and LH for the right and the left hand")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [*head(b), ["Face velocity"], [None, "RH", "Centre", "LH"], ["Top", 95, 97, 96], ["Bottom", 101, 103, 99]],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B7:D8", rtl=True), codes=NO_CROSS)


@hard("relative humidity called RH beside the form")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            *head(b, ["RH", 44], ["Temp (F)", 71]),
            ["Face velocity"],
            [None, "Left", "Centre", "Right"],
            ["Top", 95, 97, 96],
            ["Bottom", 101, 103, 99],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B9:D10"), codes=NO_CROSS)


@hard("totals beside the columns, without a word that they are not readings but 'Total'")
def _(b: Hard) -> None:
    s = b.sheet(
        "Hood",
        [
            *head(b),
            ["Face velocity"],
            [None, "LEFT", "RIGHT", "TOTAL", "MEAN"],
            ["TOP", 95, 97, 192, 96],
            ["BOTTOM", 101, 103, 204, 102],
        ],
    )
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B7:C8"), codes=NO_CROSS)


@hard("a workbook on the 1904 date system")
def _(b: Hard) -> None:
    b.mac_dates = True
    s = b.sheet("Hood", [*head(b), ["Face velocity"], [95, 97, 96], [101, 103, 99]])
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), codes=NO_CROSS)
