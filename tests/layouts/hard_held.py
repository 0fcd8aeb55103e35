"""Sheets that must not pass: doubtful, contradictory or incomplete in ways that real sheets are."""

# ruff: noqa: E501 - a sheet reads best with a line for each of its rows

from __future__ import annotations

import datetime as dt

from tests.layouts.canvas import ErrorValue, Formula
from tests.layouts.hard import Hard, block, hard, nowhere

DAY = dt.datetime(2026, 7, 22)
ISO = "2026-07-22"


def held(b: Hard, head: list, grid: list, codes: list[str], date: str | None = ISO, sash: float | None = 18,
         hood: bool = True, unit: str | None = "ft/min", area: str | None = None) -> None:  # fmt: skip
    s = b.sheet("Sheet1", [*head, *grid])
    tag = b.tag()
    top = len(head) + 2
    b.survey(
        s, tag if hood else None, date, sash, unit, block(area or f"A{top}:C{top + 1}"), status="held", codes=codes
    )


def head(b: Hard, **other: object) -> list:
    rows = {"Hood ID": b.tag(), "Date": DAY, "Sash height (in)": 18, "Velocity unit": "fpm"} | {
        k.replace("_", " "): v for k, v in other.items()
    }
    return [[k, v] for k, v in rows.items() if v is not None]


GRID = [["Face velocity"], [95, 97, 99], [101, 103, 102]]


@hard("the unit appears only in the instrument's range")
def _(b: Hard) -> None:
    held(b, [*head(b)[:3], ["Instrument", "TA-2, 20-6000 fpm"]], GRID, ["unit-missing"])


@hard("the unit appears only in the acceptance limits")
def _(b: Hard) -> None:
    held(b, [*head(b)[:3], ["Acceptance limits", "80-120 fpm"]], GRID, ["unit-missing"])


@hard("both units named in the units field")
def _(b: Hard) -> None:
    held(b, [*head(b)[:3], ["Velocity unit", "fpm / m/s"]], GRID, ["unit-missing|unit-mismatch|unit-unknown"])


@hard("one row of the grid in the other unit's size")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, 97, 99], [0.51, 0.52, 0.5]], ["unit-mismatch|reading-implausible"])


@hard("heading in one unit, column heading in another")
def _(b: Hard) -> None:
    held(
        b, head(b)[:3], [["Face velocity (fpm)", "m/s", "m/s"], [0.48, 0.49, 0.5], [0.51, 0.52, 0.5]], ["unit-mismatch"]
    )


@hard("a multiplied unit, tens of feet per minute")
def _(b: Hard) -> None:
    held(b, head(b)[:3], [["Face velocity (x10 fpm)"], [9.5, 9.7, 9.9], [10.1, 10.3, 10.2]],
         ["unit-mismatch|unit-unknown|unit-missing|reading-implausible|layout-ambiguous"])  # fmt: skip


@hard("airflow, not velocity, called a face reading")
def _(b: Hard) -> None:
    held(
        b,
        head(b)[:3],
        [["Face readings (cfm)"], [95, 97, 99], [101, 103, 102]],
        ["unit-unknown|unit-missing|layout-not-recognised|readings-missing"],
    )


@hard("a point replaced by a letter O for a zero")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, "1O2", 99], [101, 103, 102]], ["reading-not-numeric"])


@hard("a typographic minus before a reading")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, "−97", 99], [101, 103, 102]], ["reading-implausible|reading-not-numeric"])


@hard("two numbers in one cell")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, "97/99", 99], [101, 103, 102]], ["reading-not-numeric"])


@hard("a range for a reading")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, "95-100", 99], [101, 103, 102]], ["reading-not-numeric"])


@hard("a doubtful reading with a question mark")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, "97?", 99], [101, 103, 102]], ["reading-not-numeric"])


@hard("a date where a reading should stand")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, dt.datetime(2026, 4, 7), 99], [101, 103, 102]], ["reading-not-numeric"])


@hard("true and false in the grid")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, True, 99], [101, 103, 102]], ["reading-not-numeric"])


@hard("a formula never calculated")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, Formula("=F1+F2", None), 99], [101, 103, 102]], ["reading-not-numeric"])


@hard("an error in the corner of the grid")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, 97, 99], [101, 103, ErrorValue("#N/A")]], ["reading-not-numeric"])


@hard("the first point of the grid is blank")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [None, 97, 99], [101, 103, 102]], ["grid-incomplete"])


@hard("a whole labelled row is blank")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [None, "Left", "Centre", "Right"], ["Top", 95, 97, 99], ["Middle"], ["Bottom", 101, 103, 102]],
         ["grid-incomplete"], area="B7:D9")  # fmt: skip


@hard("a whole labelled column is blank")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [None, "Left", "Centre", "Right"], ["Top", 95, None, 99], ["Bottom", 101, None, 102]],
         ["grid-incomplete"], area="B7:D8")  # fmt: skip


@hard("two hoods named on one form")
def _(b: Hard) -> None:
    held(b, [["Hood ID", b.tag(1)], ["Hood ID", b.tag(2)], ["Date", DAY], ["Sash height (in)", 18], ["Velocity unit", "fpm"]], GRID,
         ["layout-ambiguous|hood-missing|hood-unknown|layout-not-recognised"])  # fmt: skip


@hard("two test dates on one form")
def _(b: Hard) -> None:
    held(b, [["Hood ID", b.tag()], ["Test date", DAY], ["Test date", dt.datetime(2026, 8, 3)], ["Sash height (in)", 18], ["Velocity unit", "fpm"]],
         GRID, ["date-ambiguous|layout-ambiguous|date-missing"])  # fmt: skip


@hard("two sash heights for one grid")
def _(b: Hard) -> None:
    held(b, [["Hood ID", b.tag()], ["Date", DAY], ["Sash height", "12 in"], ["Sash height", "18 in"], ["Velocity unit", "fpm"]], GRID,
         ["layout-ambiguous|sash-missing|sash-implausible"], sash=None)  # fmt: skip


@hard("as found and as left, two grids")
def _(b: Hard) -> None:
    s = b.sheet(
        "Sheet1",
        [*head(b), ["Face velocity, as found"], [75, 77, 79], [71, 73, 72], [], ["Face velocity, as left"], *GRID[1:]],
    )
    b.survey(
        s,
        b.tag(),
        ISO,
        18,
        "ft/min",
        block("A6:C7"),
        status="held",
        codes=["layout-ambiguous|survey-repeated|layout-not-recognised"],
    )


@hard("a range of dates")
def _(b: Hard) -> None:
    held(b, [["Hood ID", b.tag()], ["Date of test", "20-22 July 2026"], ["Sash height (in)", 18], ["Velocity unit", "fpm"]], GRID,
         ["date-ambiguous|date-missing"], date=None)  # fmt: skip


@hard("a date without its year")
def _(b: Hard) -> None:
    held(b, [["Hood ID", b.tag()], ["Date of test", "22 July"], ["Sash height (in)", 18], ["Velocity unit", "fpm"]], GRID,
         ["date-ambiguous|date-missing|date-implausible"], date=None)  # fmt: skip


@hard("only a report date")
def _(b: Hard) -> None:
    held(
        b,
        [["Hood ID", b.tag()], ["Report date", DAY], ["Sash height (in)", 18], ["Velocity unit", "fpm"]],
        GRID,
        ["date-missing"],
        date=None,
    )


@hard("only the date of the next test")
def _(b: Hard) -> None:
    held(b, [["Hood ID", b.tag()], ["Next test due", dt.datetime(2027, 7, 22)], ["Sash height (in)", 18], ["Velocity unit", "fpm"]], GRID,
         ["date-missing"], date=None)  # fmt: skip


@hard("day and month can be swapped")
def _(b: Hard) -> None:
    held(
        b,
        [["Hood ID", b.tag()], ["Date", "07/08/2026"], ["Sash height (in)", 18], ["Velocity unit", "fpm"]],
        GRID,
        ["date-ambiguous"],
        date=None,
    )


@hard("sash described in words only")
def _(b: Hard) -> None:
    held(
        b,
        [["Hood ID", b.tag()], ["Date", DAY], ["Sash position", "at the stop"], ["Velocity unit", "fpm"]],
        GRID,
        ["sash-missing"],
        sash=None,
    )


@hard("only the sash stop's height")
def _(b: Hard) -> None:
    held(
        b,
        [["Hood ID", b.tag()], ["Date", DAY], ["Sash stop height (in)", 18], ["Velocity unit", "fpm"]],
        GRID,
        ["sash-missing"],
        sash=None,
    )


@hard("only the opening's height")
def _(b: Hard) -> None:
    held(
        b,
        [["Hood ID", b.tag()], ["Date", DAY], ["Full opening height (in)", 28], ["Velocity unit", "fpm"]],
        GRID,
        ["sash-missing"],
        sash=None,
    )


@hard("a hood field left empty beside a hood type")
def _(b: Hard) -> None:
    held(b, [["Hood ID"], ["Hood type", "constant volume"], ["Date", DAY], ["Sash height (in)", 18], ["Velocity unit", "fpm"]], GRID,
         ["hood-missing"], hood=False)  # fmt: skip


@hard("a room where the hood's tag should be known")
def _(b: Hard) -> None:
    held(
        b,
        [["Room", "110"], ["Date", DAY], ["Sash height (in)", 18], ["Velocity unit", "fpm"]],
        GRID,
        ["hood-missing"],
        hood=False,
    )


@hard("averages only, a row for each hood")
def _(b: Hard) -> None:
    s = b.sheet("Results", [["Hood ID", "Date", "Sash height (in)", "Average face velocity (fpm)", "Result"], [b.tag(1), DAY, 18, 98, "Pass"],
                            [b.tag(2), DAY, 18, 103, "Pass"]])  # fmt: skip
    for n in (1, 2):
        b.survey(s, b.tag(n), ISO, 18, "ft/min", [], status="held", codes=["readings-missing"])


@hard("an average that is that of half the grid")
def _(b: Hard) -> None:
    held(b, head(b), [*GRID, ["Average", 97]], ["reported-mean-differs"])


@hard("an average from blanks counted as zero")
def _(b: Hard) -> None:
    held(b, head(b), [["Face velocity"], [95, 97, 99], [101, None, 102], ["Average", 82.3]], ["grid-incomplete"])


@hard("bare numbers with no word of what they are")
def _(b: Hard) -> None:
    s = b.sheet("Sheet1", [["Hood", b.tag(), "checked", DAY], [], [95, 97, 99, 18], [101, 103, 102, 28]])
    b.survey(
        s,
        b.tag(),
        None,
        None,
        None,
        [],
        status="held",
        codes=["layout-not-recognised|layout-ambiguous|unit-missing|sash-missing"],
    )


@hard("readings told in a sentence")
def _(b: Hard) -> None:
    s = b.sheet("Letter", [[f"Hood {b.tag()} was tested on 22 July 2026 with the sash at 18 in."],
                           ["The face velocity was 95, 97 and 99 fpm at the top and 101, 103 and 102 fpm at the bottom."]])  # fmt: skip
    b.survey(
        s,
        b.tag(),
        None,
        None,
        None,
        [],
        status="held",
        codes=["layout-not-recognised|layout-ambiguous|readings-missing"],
    )


@hard("mixed units inside one hood of a long table")
def _(b: Hard) -> None:
    s = b.sheet("Data", [["Hood", "Date", "Sash (in)", "Row", "Column", "Value", "Unit"],
                         *[[b.tag(), DAY, 18, 1 + i // 2, 1 + i % 2, *((95 + i, "fpm") if i < 3 else (0.5, "m/s"))] for i in range(4)]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", nowhere("F2:F5"), status="held", codes=["unit-mismatch"])


@hard("the same place twice in a long table")
def _(b: Hard) -> None:
    where = [(1, 1), (1, 2), (2, 1), (1, 2)]
    s = b.sheet("Data", [["Hood", "Date", "Sash (in)", "Row", "Column", "Value (fpm)"],
                         *[[b.tag(), DAY, 18, r, c, 95 + 3 * i] for i, (r, c) in enumerate(where)]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", nowhere("F2:F5"), status="held", codes=["grid-incomplete|layout-ambiguous"])


@hard("an example form left in front of the real one")
def _(b: Hard) -> None:
    example = b.sheet("Example", [["EXAMPLE ONLY - remove before sending"], ["Hood ID", "XX-000"], ["Date", "1 January 2020"], ["Sash height (in)", 18],
                                  ["Velocity unit", "fpm"], *GRID])  # fmt: skip
    s = b.sheet("Hood 1", [*head(b), *GRID])
    b.absent(example, ["example-left-in"])
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("A6:C7"), codes=["cross-draft-missing"])


@hard("cross-drafts only, no face readings")
def _(b: Hard) -> None:
    s = b.sheet("Sheet1", [*head(b), ["Cross-draft"], ["Left", "Centre", "Right"], [11, 12, 9]])
    b.survey(
        s,
        b.tag(),
        ISO,
        18,
        "ft/min",
        [],
        status="held",
        codes=["readings-missing|layout-not-recognised|grid-incomplete"],
    )
