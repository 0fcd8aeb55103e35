"""Sound workbooks that are tables: rows, columns or blocks of a table are the hoods."""

from __future__ import annotations

import datetime as dt

from tests.layouts.firms_pen import Firm, Page, mean, spoken


def grouped_header(firm: Firm) -> None:
    """Two header rows: 'Top row' and 'Bottom row', each merged over four numbers; unit and sash in the title."""
    page = firm.page("Hoods")
    page.merged(1, 1, 1, 13, 'Face Velocity Survey (all values FPM) - 18" sash')
    for k, head in enumerate(("Hood", "Room", "Date")):
        page.merged(3, 1 + k, 2, 1, head)
    page.merged(3, 4, 1, 4, "Top row")
    page.merged(3, 8, 1, 4, "Bottom row")
    page.merged(3, 12, 2, 1, "Average")
    page.row(4, 4, [1, 2, 3, 4, 1, 2, 3, 4])
    for n in range(6):
        hood, grid = firm.hood(), firm.values(2, 4)
        page.row(5 + n, 1, [hood.tag, hood.room, hood.day])
        face = page.grid(5 + n, 4, grid[:1])
        face += page.grid(5 + n, 8, grid[1:], first=2)
        page.at(5 + n, 12, mean(grid))
        firm.tell(page, hood, face)


def column_per_hood(firm: Firm) -> None:
    """A column for each hood; the points are named down the left."""
    page = firm.page("Survey")
    heads = ["Hood number", "Room", "Date tested", "Sash height (in)", "Units"]
    points = [f"{r} {c}" for r in ("Upper", "Lower") for c in ("left", "center", "right")]
    page.down(1, 1, [*heads, *points, "Average", "Cross-draft (max)"])
    for n in range(5):
        hood, grid, drafts = firm.hood(), firm.values(2, 3), firm.drafts(1)
        flat = [v for line in grid for v in line]
        cells = page.down(1, 2 + n, [hood.tag, hood.room, hood.day, 18, "fpm", *flat, mean(grid), drafts[0]])
        face = [(1 + k // 3, 1 + k % 3, cells[5 + k], v) for k, v in enumerate(flat)]
        firm.tell(page, hood, face, [(cells[-1], drafts[0])])


def numbered_points_down(firm: Firm) -> None:
    """Transposed: reading numbers down the left, a hood to a column, and nothing says where the points lie."""
    page = firm.page("Velocities")
    page.at(1, 1, "Hood face velocities in fpm, sash 18 in, tested " + spoken(dt.date(2026, 6, 9)))
    page.at(3, 1, "Reading no.")
    page.down(4, 1, [*range(1, 10), "Average"])
    for n in range(4):
        hood, values = firm.hood(dt.date(2026, 6, 9)), firm.values(9, 1)
        cells = page.down(3, 2 + n, [hood.tag, *(v[0] for v in values), mean(values)])
        face = [(None, None, cell, v[0]) for cell, v in zip(cells[1:10], values, strict=True)]
        firm.tell(page, hood, face)


def remarks_between(firm: Firm) -> None:
    """A row for each hood, remarks and blank rows between, totals below."""
    page = firm.page("2026")
    page.row(1, 1, ["Fume hoods - annual test, sash heights in inches, velocities in ft/min"])
    page.row(3, 1, ["Hood", "Date", "Sash", "TL", "TC", "TR", "BL", "BC", "BR", "Avg", "Smoke escapes? (Y/N)"])
    top = 4
    for n in range(6):
        hood, grid = firm.hood(), firm.values(2, 3)
        page.row(top, 1, [hood.tag, hood.day, 18])
        face = page.grid(top, 4, grid[:1]) + page.grid(top, 7, grid[1:], first=2)
        page.row(top, 10, [mean(grid), "N"])
        firm.tell(page, hood, face)
        if n % 3 == 1:
            page.at(top + 1, 1, "Note: baffle of the hood above was adjusted before the test")
        top += 2 if n % 2 else 1
    page.row(top + 1, 1, ["Hoods tested", 6])
    page.row(top + 2, 1, ["Hoods failed", 0])


def last_year_column(firm: Firm) -> None:
    """Last year's average and the change beside this year's."""
    page = firm.page("Results")
    page.row(1, 1, ["Velocities: fpm"])
    page.row(2, 1, ["Hood ID", "Test date", "Sash (in)", "1", "2", "3", "4", "5", "6", "Average 2026", "Average 2025",
                    "Change %"])  # fmt: skip
    for n in range(5):
        hood, values = firm.hood(), firm.values(1, 6)
        old = mean(values) + firm.chance.randint(2, 6)
        page.row(3 + n, 1, [hood.tag, hood.day, 18])
        face = [(None, None, cell, v) for _, _, cell, v in page.grid(3 + n, 4, values)]
        page.row(3 + n, 10, [mean(values), round(old), round(100 * (mean(values) - old) / old, 1)])
        firm.tell(page, hood, face)


def merged_tag(firm: Firm) -> None:
    """Three rows to a hood, the tag, date and sash merged over them."""
    page = firm.page("Face velocity")
    page.row(1, 1, ["Hood", "Date", "Sash (in)", "Row", "Left", "Centre", "Right", "Row mean", "Hood mean"])
    page.row(2, 5, ["fpm"] * 5)
    for n in range(4):
        hood, grid, top = firm.hood(), firm.values(3, 3), 3 + 3 * n
        for column, value in ((1, hood.tag), (2, hood.day), (3, 18), (9, mean(grid))):
            page.merged(top, column, 3, 1, value)
        page.down(top, 4, ["Top", "Middle", "Bottom"])
        face = page.grid(top, 5, grid)
        page.down(top, 8, [round(sum(line) / 3, 1) for line in grid])
        firm.tell(page, hood, face)


def tag_once(firm: Firm) -> None:
    """Rows A, B, C to a hood; what repeats is left out."""
    page = firm.page("Data")
    page.row(1, 1, ["Hood", "Date", "Sash ht (in)", "Row", "1", "2", "3", "4", "Cross-draft max"])
    page.row(2, 5, ["(ft/min)"] * 5)
    for n in range(4):
        hood, grid, drafts, top = firm.hood(), firm.values(3, 4), firm.drafts(1), 3 + 3 * n
        page.row(top, 1, [hood.tag, hood.day, 18])
        page.down(top, 4, ["A", "B", "C"])
        cell = page.at(top, 9, drafts[0])
        firm.tell(page, hood, page.grid(top, 5, grid), [(cell, drafts[0])])


def long_by_place(firm: Firm) -> None:
    """A row for each reading: position in letters, unit in the header, the day in the sheet's head."""
    day = dt.date(2026, 7, 2)
    page = firm.page("Log")
    page.row(1, 1, ["Date:", day, None, "Sash height:", "18 in"])
    page.row(3, 1, ["Hood tag", "Position", "Velocity (fpm)", "Remark"])
    row, names = 4, ("TL", "TC", "TR", "BL", "BC", "BR")
    for _ in range(4):
        hood, values, face = firm.hood(day), firm.values(1, 6)[0], []
        for k, value in enumerate(values):
            cells = page.row(row, 1, [hood.tag, names[k], value, "door open" if k == 4 and row > 20 else None])
            face.append((1 + k // 3, 1 + k % 3, cells[2], value))
            row += 1
        firm.tell(page, hood, face)


def sheet_per_building(firm: Firm) -> None:
    """A sheet for each building with the day in its head; tags written with blanks; three cross-draft columns."""
    for k, sheet in enumerate(("Larch", "Rowan")):
        day = dt.date(2026, 4, 21 + k)
        page = firm.page(sheet)
        page.at(1, 1, f"{sheet} - fume hoods tested {spoken(day)} with the sash at 18 in")
        page.merged(3, 3, 1, 6, "Face velocity, ft/min")
        page.merged(3, 9, 1, 3, "Cross-draft, ft/min")
        page.row(4, 1, ["Hood", "Room", "Top left", "Top mid", "Top right", "Bot left", "Bot mid", "Bot right",
                        "Left", "Centre", "Right"])  # fmt: skip
        for n in range(3):
            hood, grid, drafts = firm.hood(day), firm.values(2, 3), firm.drafts(3)
            page.row(5 + n, 1, [hood.tag.replace("-", " "), hood.room])
            face = page.grid(5 + n, 3, grid[:1]) + page.grid(5 + n, 6, grid[1:], first=2)
            cells = page.row(5 + n, 9, drafts)
            firm.tell(page, hood, face, list(zip(cells, drafts, strict=True)))


def hoods_side_by_side(firm: Firm) -> None:
    """Three hoods to a table: the tag merged over L, C and R; the row names once at the left."""
    page = firm.page("Grids")
    page.at(1, 1, "Face velocities (fpm). Sash height 18 in.")
    for block in range(2):
        top = 3 + 8 * block
        page.down(top, 1, ["Hood", "Date", "Point", "Top", "Middle", "Bottom", "Average"])
        for k in range(3):
            hood, grid, left = firm.hood(), firm.values(3, 3), 2 + 3 * k
            page.merged(top, left, 1, 3, hood.tag)
            page.merged(top + 1, left, 1, 3, hood.day)
            page.row(top + 2, left, ["L", "C", "R"])
            face = page.grid(top + 3, left, grid)
            page.merged(top + 6, left, 1, 3, mean(grid))
            firm.tell(page, hood, face)


def key_below(firm: Firm) -> None:
    """V1 to V9, and below the table a key that says where they lie."""
    page = firm.page("Annual")
    page.row(1, 1, ["Hood", "Date", "Sash, in", *(f"V{k}" for k in range(1, 10)), "Vavg"])
    for n in range(4):
        hood, grid = firm.hood(), firm.values(3, 3)
        flat = [v for line in grid for v in line]
        cells = page.row(2 + n, 1, [hood.tag, hood.day, 18, *flat, mean(grid)])
        face = [(1 + k // 3, 1 + k % 3, cells[3 + k], v) for k, v in enumerate(flat)]
        firm.tell(page, hood, face, place_free=True)
    page.at(7, 1, "V1-V3 top left to right, V4-V6 middle, V7-V9 bottom. All velocities in ft/min.")


def compact_dates(firm: Firm) -> None:
    """Dates as eight digits under a heading that says so; two sashes as two rows of a hood."""
    page = firm.page("Export")
    page.row(1, 1, ["hood_tag", "test_date (YYYYMMDD)", "sash_in", "r1c1", "r1c2", "r1c3", "r2c1", "r2c2", "r2c3",
                    "velocity_unit"])  # fmt: skip
    row = 2
    for _ in range(2):
        hood = firm.hood()
        for sash in (18, 24):
            grid = firm.values(2, 3)
            page.row(row, 1, [hood.tag, int(f"{hood.day:%Y%m%d}"), sash])
            face = page.grid(row, 4, grid[:1]) + page.grid(row, 7, grid[1:], first=2)
            page.at(row, 10, "ft/min")
            firm.tell(page, hood, face, sash=sash)
            row += 1


def year_tabs(firm: Firm) -> None:
    """A tab for each year, the same hoods in both, the two rows of points under each other."""
    hoods = []
    for sheet, shift in (("2025", 0), ("2026", 362)):
        page = firm.page(sheet)
        page.at(1, 1, f"Test results {sheet}, m/s")
        page.row(2, 1, ["Hood", "Date of test", "Sash (mm)", "Row", "Left", "Middle", "Right", "Mean (m/s)"])
        for n in range(2):
            if shift == 0:
                hoods.append(firm.hood(dt.date(2025, 5, 20 + n)))
            hood, grid, top = hoods[n], firm.values(2, 3, "m/s"), 3 + 3 * n
            day = hood.day + dt.timedelta(days=shift)
            page.row(top, 1, [hood.tag, day, 457])
            page.down(top, 4, ["Top", "Bottom"])
            page.at(top, 8, mean(grid, 3))
            firm.tell(page, hood, page.grid(top, 5, grid), unit="m/s", sash=457 / 25.4, day=day)


def register_and_data(firm: Firm) -> None:
    """One sheet lists hoods with day and sash, another their readings: joined by the line number of the list."""
    first, second = firm.page("Hood list"), firm.page("Readings")
    first.row(1, 1, ["Hood", "Building", "Room", "Date tested", "Sash height (in)"])
    second.row(1, 1, ["Hood", "Top L", "Top R", "Bottom L", "Bottom R", "Mean", "Unit"])
    for n in range(4):
        hood, grid = firm.hood(), firm.values(2, 2)
        first.row(2 + n, 1, [hood.tag, hood.building, hood.room, hood.day, 18])
        second.at(2 + n, 1, hood.tag)
        face = second.grid(2 + n, 2, grid[:1]) + second.grid(2 + n, 4, grid[1:], first=2)
        second.row(2 + n, 6, [mean(grid), "fpm"])
        firm.tell(second, hood, face)


def checked_columns(firm: Firm) -> None:
    """After every reading a column that says OK; the instrument and its calibration once at the head."""
    page = firm.page("Hood tests")
    page.row(1, 1, ["Instrument:", "TA-30", None, "Cal due:", dt.date(2027, 4, 30), None, "Units:", "FPM"])
    page.row(3, 1, ["Hood no.", "Date", "Sash (in)", *(h for k in range(1, 5) for h in (f"Pt {k}", "Chk")), "Average"])
    for n in range(5):
        hood, values, face = firm.hood(), firm.values(1, 4)[0], []
        cells = page.row(4 + n, 1, [hood.tag, hood.day, 18, *(x for v in values for x in (v, "OK")), mean([values])])
        face = [(None, None, cells[3 + 2 * k], v) for k, v in enumerate(values)]
        firm.tell(page, hood, face)


def cross_sheet(firm: Firm) -> None:
    """Face readings and cross-drafts stand in two blocks of one sheet, each with the hoods again."""
    page = firm.page("Site visit")
    _two_blocks(firm, page, 4)


def _two_blocks(firm: Firm, page: Page, count: int) -> None:
    page.at(1, 1, "Site visit " + spoken(dt.date(2026, 8, 18)) + ", sash at 18 in, all velocities fpm")
    page.row(3, 1, ["Hood", "Top left", "Top right", "Bottom left", "Bottom right", "Average"])
    below = 6 + count
    page.at(below - 1, 1, "Cross-drafts")
    page.row(below, 1, ["Hood", "Left", "Centre", "Right"])
    for n in range(count):
        hood, grid, drafts = firm.hood(dt.date(2026, 8, 18)), firm.values(2, 2), firm.drafts(3)
        page.at(4 + n, 1, hood.tag)
        face = page.grid(4 + n, 2, grid[:1]) + page.grid(4 + n, 4, grid[1:], first=2)
        page.at(4 + n, 6, mean(grid))
        cells = page.row(below + 1 + n, 1, [hood.tag, *drafts])
        firm.tell(page, hood, face, list(zip(cells[1:], drafts, strict=True)))


TABLES = {
    "cyan grouped header": (grouped_header, "CG-{}"), "plum column per hood": (column_per_hood, "K-{}"),
    "khaki numbered points": (numbered_points_down, "M{}"), "rust remarks between": (remarks_between, "RB-{}"),
    "navy last year": (last_year_column, "LY-{}"), "mauve merged tag": (merged_tag, "H{}"),
    "fawn tag once": (tag_once, "TO-{}"), "jade long by place": (long_by_place, "LP{}"),
    "beige sheet per building": (sheet_per_building, "SB-{}"), "cerise side by side": (hoods_side_by_side, "SS-{}"),
    "amethyst key below": (key_below, "W-{}"), "flax compact dates": (compact_dates, "Q-{}"),
    "sage year tabs": (year_tabs, "YT-{}"), "linen list and data": (register_and_data, "Z-{}"),
    "garnet checked columns": (checked_columns, "GC-{}"), "topaz two blocks": (cross_sheet, "TB-{}"),
}  # fmt: skip
