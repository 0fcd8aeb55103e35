"""Hard grids: what surrounds the readings, and where the points lie."""

# ruff: noqa: E501 - a sheet reads best with a line for each of its rows

from __future__ import annotations

import datetime as dt

from tests.layouts.canvas import Canvas
from tests.layouts.hard import Hard, block, hard, nowhere

DAY = dt.datetime(2026, 4, 21)
ISO = "2026-04-21"


def form(b: Hard, unit: str = "fpm", sash: object = 18, rows: list | None = None) -> Canvas:
    """A plain head in rows 1 to 4, the given rows from row 6."""
    s = b.sheet("Hood", [["Hood ID", b.tag()], ["Date", DAY], ["Sash height (in)", sash], ["Velocity unit", unit]])
    b.rows(s, "A6", rows or [])
    return s


def plain(b: Hard, s: Canvas, face: list, unit: str = "ft/min", **more: object) -> None:
    codes = more.pop("codes", ["cross-draft-missing"])
    b.survey(s, b.tag(), ISO, 18, unit, face, codes=codes, **more)  # type: ignore[arg-type]


@hard("rows labelled by their height above the sill, highest first")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], ["Height above sill", "Left", "Centre", "Right"],
                      ["15 in", 95, 97, 99], ["9 in", 96, 98, 97], ["3 in", 101, 103, 102]])  # fmt: skip
    plain(b, s, block("B8:D10"))


@hard("rows labelled by their height above the sill, lowest first")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], ["Height above work surface (in)", "Left", "Centre", "Right"],
                      [3, 101, 103, 102], [9, 96, 98, 97], [15, 95, 97, 99]])  # fmt: skip
    plain(b, s, block("B8:D10", up=True), status="either", codes=[])


@hard("columns labelled by their distance from the left jamb")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], ["Distance from left jamb", "6 in", "18 in", "30 in", "42 in"],
                      ["Top", 95, 97, 99, 96], ["Bottom", 101, 103, 102, 98]])  # fmt: skip
    plain(b, s, block("B8:E9"))


@hard("nine zones, each number over its reading")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], ["Zone 1", "Zone 2", "Zone 3"], [95, 97, 99], ["Zone 4", "Zone 5", "Zone 6"], [96, 98, 97],
                      ["Zone 7", "Zone 8", "Zone 9"], [101, 103, 102]])  # fmt: skip
    plain(b, s, block("A8:C12", step=(2, 1)), place_free=True)


@hard("nine zones in a list")
def _(b: Hard) -> None:
    s = form(b, rows=[["Zone", "Face velocity (fpm)"], *[[i, 90 + i] for i in range(1, 10)], ["Average", 95]])
    plain(b, s, nowhere("B7:B15"))


@hard("positions in words, listed in no order")
def _(b: Hard) -> None:
    names = ["Bottom right", "Top left", "Bottom centre", "Top right", "Bottom left", "Top centre"]
    s = form(b, rows=[["Location", "Face velocity"], *[[name, 91 + 2 * i] for i, name in enumerate(names)]])
    where = [(2, 3), (1, 1), (2, 2), (1, 3), (2, 1), (1, 2)]
    plain(b, s, [(r, c, f"B{7 + i}") for i, (r, c) in enumerate(where)])


@hard("least, mean and greatest for every place")
def _(b: Hard) -> None:
    rows = [
        [p, 90 + i, 95 + i, 101 + i] for i, p in enumerate(["Top left", "Top right", "Bottom left", "Bottom right"])
    ]
    s = form(b, rows=[["Face velocity"], ["Place", "Min", "Avg", "Max"], *rows])
    plain(b, s, [(1, 1, "C8"), (1, 2, "C9"), (2, 1, "C10"), (2, 2, "C11")], status="either", codes=[])


@hard("columns run from the right, and say so at both ends")
def _(b: Hard) -> None:
    s = form(
        b,
        rows=[
            ["Face velocity"],
            [None, "1 (right)", 2, 3, "4 (left)"],
            ["Upper", 95, 97, 99, 96],
            ["Lower", 101, 103, 102, 98],
        ],
    )
    plain(b, s, block("B8:E9", rtl=True))


@hard("a note says that the rows are numbered from the bottom")
def _(b: Hard) -> None:
    s = form(
        b,
        rows=[
            ["Face velocity"],
            [None, 1, 2, 3],
            [1, 101, 103, 102],
            [2, 96, 98, 97],
            [3, 95, 97, 99],
            ["Row 1 is the bottom row"],
        ],
    )
    plain(b, s, block("B8:D10", up=True), status="either", codes=[])


@hard("the hood's columns as the sheet's rows")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], [None, "Top", "Middle", "Bottom"], ["Left", 95, 97, 99], ["Centre", 96, 98, 97],
                      ["Right", 101, 103, 102]])  # fmt: skip
    plain(b, s, block("B8:D10", turned=True))


@hard("a column of averages without a heading")
def _(b: Hard) -> None:
    s = form(
        b,
        rows=[
            ["Face velocity"],
            [None, "Left", "Centre", "Right"],
            ["Top", 95, 97, 102, 98],
            ["Bottom", 101, 103, 102, 102],
        ],
    )
    plain(b, s, block("B8:D9"), status="either", codes=[])


@hard("labels to the right of the readings")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], ["Left", "Centre", "Right"], [95, 97, 99, "Top"], [101, 103, 102, "Bottom"]])
    plain(b, s, block("A8:C9"))


@hard("labels on both sides and repeated under the grid")
def _(b: Hard) -> None:
    s = form(
        b, rows=[["Face velocity"], [None, 1, 2, 3], ["A", 95, 97, 99, "A"], ["B", 101, 103, 102, "B"], [None, 1, 2, 3]]
    )
    plain(b, s, block("B8:D9"))


@hard("a blank column between every two readings")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], [None, "Left", None, "Centre", None, "Right"], ["Top", 95, None, 97, None, 99],
                      ["Bottom", 101, None, 103, None, 102]])  # fmt: skip
    plain(b, s, block("B8:F9", step=(1, 2)))


@hard("a blank row between every two rows of readings")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], [None, "Left", "Centre", "Right"], ["Top", 95, 97, 99], [], ["Middle", 96, 95, 97], [],
                      ["Bottom", 101, 103, 102]])  # fmt: skip
    plain(b, s, block("B8:D12", step=(2, 1)))


@hard("a hidden column inside the grid")
def _(b: Hard) -> None:
    s = form(
        b, rows=[["Face velocity"], [None, "Left", "Centre", "Right"], ["Top", 95, 97, 99], ["Bottom", 101, 103, 102]]
    )
    s.hidden_columns.add(3)
    plain(b, s, block("B8:D9"), codes=["row-hidden", "cross-draft-missing"])


@hard("percentages of the mean joined to the grid without a gap")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity", "fpm", None, None, "% of mean"], [None, "Left", "Centre", "Right", "Left", "Centre", "Right"],
                      ["Top", 95, 97, 99, 95.5, 97.5, 99.5], ["Bottom", 101, 103, 102, 101.5, 103.5, 102.5]])  # fmt: skip
    b.merge(s, "B6:D6", "E6:G6")
    plain(b, s, block("B8:D9"))


@hard("a deviation column after each reading column")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], [None, "Left", "% dev", "Centre", "% dev", "Right", "% dev"],
                      ["Top", 95, -4.5, 97, -2.5, 99, -0.5], ["Bottom", 101, 1.5, 103, 3.5, 102, 2.5]])  # fmt: skip
    plain(b, s, block("B8:F9", step=(1, 2)))


@hard("last year's grid to the left of this year's")
def _(b: Hard) -> None:
    s = form(b, rows=[["Last year's face velocity (2025)", None, None, None, None, "Face velocity 2026"],
                      [None, "Left", "Centre", "Right", None, None, "Left", "Centre", "Right"],
                      ["Top", 85, 87, 89, None, "Top", 95, 97, 99], ["Bottom", 91, 93, 92, None, "Bottom", 101, 103, 102]])  # fmt: skip
    plain(b, s, block("G8:I9"))


@hard("last year's grid under this year's, the same heading words")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity - current"], [None, "L", "R"], ["T", 95, 97], ["B", 101, 103], [],
                      ["Face velocity - previous year"], [None, "L", "R"], ["T", 85, 87], ["B", 91, 93]])  # fmt: skip
    plain(b, s, block("B8:C9"))


@hard("one row of points from left to right")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], ["Far left", "Left", "Centre", "Right", "Far right"], [95, 97, 99, 98, 96]])
    plain(b, s, block("A8:E8"), place_free=True)


@hard("one column of points from top to bottom")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], ["Top", 95], ["Middle", 97], ["Bottom", 99]])
    plain(b, s, block("B7:B9"), place_free=True)


@hard("a wide grid of five by ten")
def _(b: Hard) -> None:
    s = form(b, rows=[["Velocity traverse"], [None, *range(1, 11)],
                      *[["ABCDE"[i], *[90 + (3 * i + 7 * j) % 17 for j in range(10)]] for i in range(5)]])  # fmt: skip
    plain(b, s, block("B8:K12"))


@hard("numbers as text with hard spaces around them")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], ["98\u00a0", " 97", "\u200999"], ["101", "103 ", "102"]])
    plain(b, s, block("A7:C8"))


@hard("decimal commas typed as text")
def _(b: Hard) -> None:
    s = form(b, "m/s", rows=[["Face velocity"], ["0,51", "0,48", "0,50"], ["0,47", "0,49", "0,52"]])
    plain(b, s, block("A7:C8"), "m/s", codes=["reading-coerced", "cross-draft-missing"])


@hard("face in m/s, cross-draft in cm/s, each in its heading")
def _(b: Hard) -> None:
    s = b.sheet("Hood", [["Hood ID", b.tag()], ["Date", DAY], ["Sash height (in)", 18], [], ["Face velocity (m/s)"],
                         [None, "Left", "Right"], ["Top", 0.51, 0.5], ["Bottom", 0.48, 0.49], [],
                         ["Cross-draft (cm/s)"], ["Left", "Centre", "Right"], [4, 6, 5]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "m/s", block("B7:C8"), ["A12", "B12", "C12"], cross_unit="cm/s")


@hard("velocity pressures beside the velocities computed from them")
def _(b: Hard) -> None:
    s = b.sheet("Hood", [["Hood ID", b.tag()], ["Date", DAY], ["Sash height (in)", 18], [],
                         ["Velocity pressure (in. w.g.)", None, None, None, None, "Face velocity (fpm)"],
                         [0.00062, 0.00059, 0.00065, None, None, 100, 97, 102], [0.00055, 0.0006, 0.00058, None, None, 94, 98, 96]])  # fmt: skip
    plain(b, s, block("F6:H7"))


@hard("volumes and temperatures in grids of the same shape")
def _(b: Hard) -> None:
    labels = [None, "Left", "Centre", "Right"]
    s = form(b, rows=[["Air volume by cell (cfm)"], labels, ["Top", 119, 121, 124], ["Bottom", 126, 129, 127], [],
                      ["Face velocity (fpm)"], labels, ["Top", 95, 97, 99], ["Bottom", 101, 103, 102], [],
                      ["Air temperature (F)"], labels, ["Top", 71, 70, 71], ["Bottom", 70, 69, 71]])  # fmt: skip
    plain(b, s, block("B13:D14"))


@hard("row and column averages, least, greatest, total and deviation all round")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], [None, "Left", "Centre", "Right", "Avg", "Min", "Max", "Total"],
                      ["Top", 95, 97, 99, 97, 95, 99, 291], ["Bottom", 101, 103, 102, 102, 101, 103, 306],
                      ["Avg", 98, 100, 100.5, 99.5], ["Min", 95, 97, 99], ["Max", 101, 103, 102], ["SD", 4.2, 4.2, 2.1]])  # fmt: skip
    plain(b, s, block("B8:D9"))


@hard("three traverses of one grid side by side, with their mean grid after them")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], ["Traverse 1", None, None, "Traverse 2", None, None, "Traverse 3", None, None, "Average of traverses"],
                      [95, 97, None, 96, 98, None, 97, 99, None, 96, 98], [101, 103, None, 102, 104, None, 103, 105, None, 102, 104]])  # fmt: skip
    plain(b, s, [spot for area in ("A8:B9", "D8:E9", "G8:H9") for spot in block(area)])


@hard("a unit that only the number format shows")
def _(b: Hard) -> None:
    s = b.sheet("Hood", [["Hood ID", b.tag()], ["Date", DAY], ["Sash height (in)", 18], [], ["Face velocity"]])
    for r, row in enumerate([[95, 97, 99], [101, 103, 102]], start=6):
        for c, value in enumerate(row, start=1):
            s.put(r, c, value, '0" fpm"')
    plain(b, s, block("A6:C7"))


@hard("a page of notes with numbers under the grid")
def _(b: Hard) -> None:
    s = form(b, rows=[["Face velocity"], [95, 97, 99], [101, 103, 102], ["Notes"], [1, "Damper at 40 %"], [2, "Fan 1450 rpm"],
                      [3, "Room 21 C"], [4, "Return visit 2 h"], [95, "is the low point, upper left"]])  # fmt: skip
    plain(b, s, block("A7:C8"))
