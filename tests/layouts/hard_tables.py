"""Hard tables: one row per hood, several rows per hood, one row per reading, and delimited text."""

# ruff: noqa: E501 - a sheet reads best with a line for each of its rows

from __future__ import annotations

import datetime as dt

from tests.layouts.hard import Hard, block, hard, nowhere
from tests.layouts.writers import CsvStyle

DAY = dt.datetime(2026, 6, 16)
ISO = "2026-06-16"
NO_CROSS = ["cross-draft-missing"]


def placed(cells: str, row: int, columns: int) -> list:
    """Points in one sheet row, hood row by hood row: 'EFGHIJ' with 3 columns is two rows of three."""
    return [(i // columns + 1, i % columns + 1, f"{letter}{row}") for i, letter in enumerate(cells)]


@hard("section headings and repeated header rows inside a table")
def _(b: Hard) -> None:
    head = ["Hood ID", "Test date", "Sash (in)", "TL", "TR", "BL", "BR", "Avg"]
    s = b.sheet("Hoods", [["Velocities in fpm"], ["Alder Building"], head, [b.tag(1), DAY, 18, 95, 97, 99, 101, 98],
                          [b.tag(2), DAY, 18, 90, 92, 94, 96, 93], [], ["Bryony Building"], head,
                          [b.tag(3), DAY, 20, 98, 99, 97, 100, 98.5]])  # fmt: skip
    for n, row, sash in ((1, 4, 18), (2, 5, 18), (3, 9, 20)):
        b.survey(s, b.tag(n), ISO, sash, "ft/min", placed("DEFG", row, 2), codes=NO_CROSS)


def _rows_per_hood(b: Hard, merged: bool, status: str = "accepted") -> None:
    s = b.sheet("Grid table", [["Hood", "Date", "Sash ht (in)", "Position", "Left", "Center", "Right"]])
    s.put(1, 9, "All readings fpm")
    for n in (1, 2):
        top = 2 + 3 * (n - 1)
        for i, word in enumerate(["Top", "Middle", "Bottom"]):
            lead = [b.tag(n), DAY, 18] if i == 0 else [None, None, None]
            b.rows(s, f"A{top + i}", [[*lead, word, 90 + n + i + merged, 94 + n + i, 97 + n - i - merged]])
        if merged:
            b.merge(s, *[f"{c}{top}:{c}{top + 2}" for c in "ABC"])
        b.survey(s, b.tag(n), ISO, 18, "ft/min", block(f"E{top}:G{top + 2}"), status=status,
                 codes=NO_CROSS if status == "accepted" else [])  # fmt: skip


@hard("three rows for each hood, the hood's cells merged over them")
def _(b: Hard) -> None:
    _rows_per_hood(b, merged=True)


@hard("three rows for each hood, the hood's cells filled only in the first")
def _(b: Hard) -> None:
    _rows_per_hood(b, merged=False, status="either")


@hard("the same hood in two rows at two sash heights")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Hood No.", "Date", "Sash height (in)", "P1 (fpm)", "P2 (fpm)", "P3 (fpm)", "P4 (fpm)"],
                          [b.tag(1), DAY, 18, 95, 97, 99, 96], [b.tag(1), DAY, 12, 111, 113, 110, 112], [b.tag(2), DAY, 18, 90, 91, 93, 92]])  # fmt: skip
    for n, row, sash in ((1, 2, 18), (1, 3, 12), (2, 4, 18)):
        b.survey(s, b.tag(n), ISO, sash, "ft/min", nowhere(f"D{row}:G{row}"), codes=NO_CROSS)


@hard("hood, date and sash only in the first row of each group of readings")
def _(b: Hard) -> None:
    s = b.sheet("Log", [["Hood", "Date", "Sash in", "Row", "Col", "Velocity fpm"]])
    row = 2
    for n in (1, 2):
        first = row
        for i in range(4):
            lead = [b.tag(n), DAY, 18] if i == 0 else [None, None, None]
            b.rows(s, f"A{row}", [[*lead, i // 2 + 1, i % 2 + 1, 92 + 3 * i + n]])
            row += 1
        b.survey(
            s,
            b.tag(n),
            ISO,
            18,
            "ft/min",
            [(i // 2 + 1, i % 2 + 1, f"F{first + i}") for i in range(4)],
            status="either",
        )


@hard("a long table of short position codes, in no order")
def _(b: Hard) -> None:
    codes = {"BR": (2, 3), "TL": (1, 1), "BC": (2, 2), "TC": (1, 2), "BL": (2, 1), "TR": (1, 3)}
    s = b.sheet("Data", [["FH #", "Test date", "Sash opening (in)", "Pt", "Velocity (fpm)"],
                         *[[b.tag(), DAY, 18, code, 91 + 2 * i] for i, code in enumerate(codes)]])  # fmt: skip
    b.survey(
        s, b.tag(), ISO, 18, "ft/min", [(*where, f"E{2 + i}") for i, where in enumerate(codes.values())], codes=NO_CROSS
    )


@hard("each hood in its own unit in one long table")
def _(b: Hard) -> None:
    s = b.sheet("Data", [["Hood", "Date", "Sash (in)", "Row", "Column", "Value", "Unit"],
                         *[[b.tag(1), DAY, 18, 1 + i // 2, 1 + i % 2, 95 + i, "fpm"] for i in range(4)],
                         *[[b.tag(2), DAY, 18, 1 + i // 2, 1 + i % 2, 0.48 + i / 100, "m/s"] for i in range(4)]])  # fmt: skip
    b.survey(s, b.tag(1), ISO, 18, "ft/min", [(1 + i // 2, 1 + i % 2, f"F{2 + i}") for i in range(4)], codes=NO_CROSS)
    b.survey(s, b.tag(2), ISO, 18, "m/s", [(1 + i // 2, 1 + i % 2, f"F{6 + i}") for i in range(4)], codes=NO_CROSS)


@hard("two header rows: the row of the hood over left, centre, right")
def _(b: Hard) -> None:
    s = b.sheet("Table", [[None, None, None, "Top row (fpm)", None, None, "Bottom row (fpm)"],
                          ["Hood ID", "Date", "Sash (in)", "Left", "Centre", "Right", "Left", "Centre", "Right"],
                          [b.tag(1), DAY, 18, 95, 97, 99, 101, 103, 102], [b.tag(2), DAY, 16, 90, 92, 91, 94, 95, 93]])  # fmt: skip
    b.merge(s, "D1:F1", "G1:I1")
    for n, sash in ((1, 18), (2, 16)):
        b.survey(s, b.tag(n), ISO, sash, "ft/min", placed("DEFGHI", 2 + n, 3), codes=NO_CROSS)


@hard("face and cross-draft columns that share the words left, centre, right")
def _(b: Hard) -> None:
    s = b.sheet("Table", [[None, None, None, "Face velocity (fpm)", None, None, "Cross-draft (fpm)"],
                          ["Hood ID", "Date", "Sash (in)", "Left", "Centre", "Right", "Left", "Centre", "Right"],
                          [b.tag(1), DAY, 18, 95, 97, 99, 11, 8, 9], [b.tag(2), DAY, 16, 90, 92, 91, 5, 7, 6]])  # fmt: skip
    b.merge(s, "D1:F1", "G1:I1")
    for n, sash in ((1, 18), (2, 16)):
        row = 2 + n
        b.survey(
            s, b.tag(n), ISO, sash, "ft/min", block(f"D{row}:F{row}"), [f"{c}{row}" for c in "GHI"], place_free=True
        )


@hard("a hood that was not tested stands in the table with words only")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Hood ID", "Date", "Sash height (in)", "1", "2", "3", "4", "Remarks"],
                          [b.tag(1), DAY, 18, 95, 97, 99, 96], [b.tag(2), None, None, None, None, None, None, "locked, not tested"],
                          [b.tag(3), DAY, 18, 91, 93, 92, 94], [], ["Face velocities in feet per minute"]])  # fmt: skip
    for n, row in ((1, 2), (3, 4)):
        b.survey(s, b.tag(n), ISO, 18, "ft/min", nowhere(f"D{row}:G{row}"), codes=NO_CROSS)


@hard("a row of averages over all hoods at the foot")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Hood ID", "Date", "Sash (in)", "P1", "P2", "P3", "P4", "Mean"], [b.tag(1), DAY, 18, 95, 97, 99, 97, 97],
                          [b.tag(2), DAY, 18, 91, 93, 92, 92, 92], ["Average of all hoods", None, 18, 93, 95, 95.5, 94.5, 94.5],
                          ["Units: fpm"]])  # fmt: skip
    for n in (1, 2):
        b.survey(s, b.tag(n), ISO, 18, "ft/min", nowhere(f"D{1 + n}:G{1 + n}"), codes=NO_CROSS)


@hard("semicolons, decimal commas and a western encoding")
def _(b: Hard) -> None:
    b.format, b.csv_style = "csv", CsvStyle(";", "cp1252", ",")
    s = b.sheet("x", [["Hood ID", "Date", "Sash (mm)", "P1 (m/s)", "P2 (m/s)", "P3 (m/s)", "Remark"],
                      [b.tag(1), "2026-06-16", 457.2, 0.51, 0.48, 0.5, "21 °C"], [b.tag(2), "2026-06-16", 406.4, 0.47, 0.49, 0.5, "Öffnung links"]])  # fmt: skip
    for n, sash in ((1, 18), (2, 16)):
        b.survey(s, b.tag(n), ISO, sash, "m/s", nowhere(f"D{1 + n}:F{1 + n}"), codes=NO_CROSS)


@hard("tab-separated with a byte order mark and lines before the table")
def _(b: Hard) -> None:
    b.format, b.csv_style = "csv", CsvStyle("\t", "utf-8-sig")
    s = b.sheet("x", [["Exported by field logger 4.2"], ["Operator", "KL"], [],
                      ["Hood", "Tested on", "Sash height in", "Row", "Col", "Velocity fpm"],
                      *[[b.tag(), "16 Jun 2026", 18, 1 + i // 3, 1 + i % 3, 91 + 2 * i] for i in range(6)]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", [(1 + i // 3, 1 + i % 3, f"F{5 + i}") for i in range(6)], codes=NO_CROSS)


@hard("a form as delimited text")
def _(b: Hard) -> None:
    b.format, b.csv_style = "csv", CsvStyle(",", "utf-8", ".", "\n")
    s = b.sheet("x", [["Hood ID", b.tag()], ["Date", "16-Jun-2026"], ["Sash height (in)", 18], ["Velocity unit", "fpm"], [],
                      ["Face velocity"], [None, "Left", "Centre", "Right"], ["Top", 95, 97, 99], ["Bottom", 101, 103, 102]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", block("B8:D9"), codes=NO_CROSS)


@hard("two date columns, the last test's and this one's")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Hood", "Previous test date", "Test date", "Next test due", "Sash (in)", "P1", "P2", "P3", "P4"],
                          [None, None, None, None, None, "fpm", "fpm", "fpm", "fpm"],
                          [b.tag(), dt.datetime(2025, 6, 10), DAY, dt.datetime(2027, 6, 16), 18, 95, 97, 99, 96]])  # fmt: skip
    b.survey(s, b.tag(), ISO, 18, "ft/min", nowhere("F3:I3"), codes=NO_CROSS)


@hard("averages of earlier years as columns before this year's points")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Hood", "Test date", "Sash (in)", "Avg 2024 (fpm)", "Avg 2025 (fpm)", "P1 (fpm)", "P2 (fpm)", "P3 (fpm)", "P4 (fpm)", "Avg 2026 (fpm)"],
                          [b.tag(1), DAY, 18, 88, 91, 95, 97, 99, 97, 97], [b.tag(2), DAY, 18, 93, 92, 91, 93, 92, 92, 92]])  # fmt: skip
    for n in (1, 2):
        b.survey(s, b.tag(n), ISO, 18, "ft/min", nowhere(f"F{1 + n}:I{1 + n}"), codes=NO_CROSS)


@hard("a table that starts far from the corner of the sheet")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Amber Air Testing"], ["Summer campaign"]])
    b.rows(s, "F12", [["Hood tag", "Date of test", "Sash opening (in)", "R1C1", "R1C2", "R2C1", "R2C2", "unit"],
                      [b.tag(1), DAY, 18, 95, 97, 99, 96, "fpm"], [b.tag(2), DAY, 18, 91, 93, 92, 94, "fpm"]])  # fmt: skip
    for n in (1, 2):
        b.survey(s, b.tag(n), ISO, 18, "ft/min", placed("IJKL", 12 + n, 2), codes=NO_CROSS)


@hard("one date in the column proves the order of day and month for the others")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Hood", "Date", "Sash (in)", "P1", "P2", "P3", "P4"], [b.tag(1), "04/06/2026", 18, 95, 97, 99, 96],
                          [b.tag(2), "25/06/2026", 18, 91, 93, 92, 94], [b.tag(3), "05/06/2026", 18, 90, 94, 92, 95], [], ["Readings in fpm"]])  # fmt: skip
    for n, day in ((1, "2026-06-04"), (2, "2026-06-25"), (3, "2026-06-05")):
        b.survey(s, b.tag(n), day, 18, "ft/min", nowhere(f"D{1 + n}:G{1 + n}"), codes=NO_CROSS)


@hard("one date in the column proves the American order")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Hood", "Date", "Sash (in)", "P1", "P2", "P3", "P4"], [b.tag(1), "6/4/2026", 18, 95, 97, 99, 96],
                          [b.tag(2), "6/25/2026", 18, 91, 93, 92, 94], [], ["Readings in fpm"]])  # fmt: skip
    for n, day in ((1, "2026-06-04"), (2, "2026-06-25")):
        b.survey(s, b.tag(n), day, 18, "ft/min", nowhere(f"D{1 + n}:G{1 + n}"), codes=NO_CROSS)


@hard("dates that prove both orders leave the third in doubt")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Hood", "Date", "Sash (in)", "P1", "P2", "P3", "P4"], [b.tag(1), "25/06/2026", 18, 95, 97, 99, 96],
                          [b.tag(2), "06/25/2026", 18, 91, 93, 92, 94], [b.tag(3), "05/06/2026", 18, 90, 94, 92, 95], [], ["Readings in fpm"]])  # fmt: skip
    for n in (1, 2):
        b.survey(s, b.tag(n), "2026-06-25", 18, "ft/min", nowhere(f"D{1 + n}:G{1 + n}"), status="either")
    b.survey(s, b.tag(3), None, 18, "ft/min", nowhere("D4:G4"), status="held", codes=["date-ambiguous"])


@hard("a units row under the header, lengths and velocities each their own")
def _(b: Hard) -> None:
    s = b.sheet("Table", [["Cupboard no.", "Date", "Sash height", "Width", "V1", "V2", "V3", "V4", "Mean"],
                          [None, None, "mm", "mm", "m/s", "m/s", "m/s", "m/s", "m/s"], [b.tag(1), DAY, 500, 1500, 0.51, 0.5, 0.48, 0.49, 0.495],
                          [b.tag(2), DAY, 400, 1200, 0.45, 0.46, 0.47, 0.44, 0.455]])  # fmt: skip
    for n, sash in ((1, 500), (2, 400)):
        b.survey(s, b.tag(n), ISO, sash / 25.4, "m/s", nowhere(f"E{2 + n}:H{2 + n}"), codes=NO_CROSS)


@hard("other equipment in the same table as the hoods")
def _(b: Hard) -> None:
    s = b.sheet("Equipment", [["Tag", "Equipment", "Test date", "Sash height (in)", "P1 (fpm)", "P2 (fpm)", "P3 (fpm)", "P4 (fpm)", "Flow"],
                              [b.tag(1), "Fume hood", DAY, 18, 95, 97, 99, 96], ["EW-12", "Eyewash", DAY, None, None, None, None, None, "2.4 gpm"],
                              [b.tag(2), "Fume hood", DAY, 18, 91, 93, 92, 94], ["SN-3", "Snorkel", DAY, None, None, None, None, None, "110 cfm"]])  # fmt: skip
    for n, row in ((1, 2), (2, 4)):
        b.survey(s, b.tag(n), ISO, 18, "ft/min", nowhere(f"E{row}:H{row}"), status="either")
