"""Sound workbooks with a form for each hood, as different firms lay them out."""

from __future__ import annotations

import datetime as dt

from tests.layouts.firms_pen import Firm, Hood, Page, mean, spoken


def header_strip(firm: Firm) -> None:
    """A landscape sheet: labels and values in one strip, row averages at the right, cross-drafts in one line."""
    for _ in range(3):
        hood, grid, drafts = firm.hood(), firm.values(3, 5), firm.drafts(3)
        page = firm.page(f"Hood {len(firm.hoods)}")
        page.merged(1, 1, 1, 10, "FUME HOOD TEST RECORD")
        page.row(2, 1, ["Hood:", hood.tag, None, "Date:", hood.day, None, "Sash:", '18"', None, "Tech:", "R. V."])
        page.row(3, 1, ["Bldg:", hood.building, None, "Room:", hood.room, None, "Meter:", "TA-9"])
        page.merged(5, 1, 1, 7, "FACE VELOCITY READINGS (FPM)")
        page.row(6, 2, ["A", "B", "C", "D", "E", "Avg"])
        page.down(7, 1, [1, 2, 3])
        page.down(7, 7, [round(sum(line) / 5, 1) for line in grid])
        face = page.grid(7, 2, grid)
        page.row(10, 6, ["Hood avg", mean(grid)])
        page.row(12, 1, ["Cross draft (fpm):", "L", drafts[0], "C", drafts[1], "R", drafts[2]])
        firm.tell(page, hood, face, list(zip(("C12", "E12", "G12"), drafts, strict=True)))


def four_boxes(firm: Firm) -> None:
    """Four small boxes to a page; the unit stands once at the head of the page."""
    for sheet in ("East wing", "West wing"):
        page = firm.page(sheet)
        page.merged(1, 1, 1, 9, "HOOD FACE VELOCITIES - all velocities in feet per minute, sash at 18 inches")
        for box in range(4):
            hood, grid = firm.hood(), firm.values(2, 3)
            top, left = 3 + 7 * (box // 2), 1 + 5 * (box % 2)
            page.row(top, left, ["HOOD", hood.tag])
            page.row(top + 1, left, ["Date", hood.day])
            page.row(top + 2, left + 1, ["L", "C", "R"])
            page.down(top + 3, left, ["T", "B"])
            face = page.grid(top + 3, left + 1, grid)
            page.row(top + 5, left, ["Avg", mean(grid)])
            firm.tell(page, hood, face)


def tab_is_hood(firm: Firm) -> None:
    """The hood stands in the tab's name only, the date and unit on the cover only."""
    day = dt.date(2026, 5, 12)
    cover = firm.page("Cover")
    cover.down(2, 2, ["Annual fume hood survey", "All hoods tested on " + spoken(day)])
    cover.down(5, 2, ["Velocities in ft/min", "Prepared by Umber Air"])
    for _ in range(4):
        hood, grid, drafts = firm.hood(day), firm.values(3, 4), firm.drafts(3)
        page = firm.page(hood.tag)
        page.row(1, 1, ["Sash height", "18 in"])
        page.row(3, 1, ["Face velocity"])
        page.row(4, 2, ["Left", "Centre left", "Centre right", "Right"])
        page.down(5, 1, ["Top", "Middle", "Bottom"])
        face = page.grid(5, 2, grid)
        page.row(9, 1, ["Cross-drafts", *drafts])
        firm.tell(page, hood, face, list(zip(("B9", "C9", "D9"), drafts, strict=True)))


def metric_commas(firm: Firm) -> None:
    """A metric campus whose tables keep decimal commas as text."""
    for n in range(3):
        hood = firm.hood(dt.date(2026, 5, 14 + n))
        grid, drafts = firm.values(2, 4, "m/s"), firm.drafts(2, "m/s")
        page = firm.page(f"Blatt {n + 1}")
        page.row(1, 1, ["Fume cupboard", hood.tag])
        page.row(2, 1, ["Date of test", f"{hood.day:%d.%m.%Y}"])
        page.row(3, 1, ["Sash opening", "50 cm"])
        page.row(5, 1, ["Face velocity in m/s"])
        page.row(6, 2, [1, 2, 3, 4])
        page.down(7, 1, ["Top", "Bottom"])
        face = page.grid(7, 2, grid)
        for _, _, cell, value in face:
            page.sheet[cell] = f"{value:.2f}".replace(".", ",")
        page.row(10, 1, ["Mean", f"{mean(grid, 3):.3f}".replace(".", ",")])
        page.row(12, 1, ["Cross-draft (m/s)", "left", drafts[0], "right", drafts[1]])
        firm.tell(page, hood, face, [("C12", drafts[0]), ("E12", drafts[1])], unit="m/s", sash=50 / 2.54,
                  codes=("reading-coerced",))  # fmt: skip


def feet_and_inches(firm: Firm) -> None:
    """Lengths as a joiner writes them; one cell holds label and value."""
    for n in range(3):
        hood, grid = firm.hood(), firm.values(2, 5)
        page = firm.page(f"Sheet{n + 1}")
        page.down(1, 1, [f"Hood ID: {hood.tag}", f"Room: {hood.room}", f"Date: {hood.day:%d-%b-%Y}"])
        page.down(4, 1, ["Sash height: 1 ft 6 in", "Opening (W x H): 5'-0\" x 2'-4\"", "Meter: TA-4"])
        page.at(8, 1, "Face velocity, fpm")
        face = page.grid(9, 2, grid)
        page.down(9, 1, ["Upper", "Lower"])
        page.row(12, 1, [f"Average: {mean(grid)} fpm"])
        firm.tell(page, hood, face)


def two_instruments(firm: Firm) -> None:
    """One instrument for the face and another for the room, each with its calibration; drafts in three directions."""
    for n in range(2):
        hood, grid, drafts = firm.hood(), firm.values(3, 4), firm.drafts(3)
        page = firm.page(f"Record {n + 1}")
        page.row(1, 1, ["Hood No.", hood.tag, None, "Tested", hood.day])
        page.row(2, 1, ["Building", hood.building, None, "Sash (in.)", 18])
        page.row(4, 1, ["Instruments", "Ident", "Calibration due"])
        page.row(5, 1, ["Face velocity meter", "TA-11", dt.date(2027, 2, 1)])
        page.row(6, 1, ["Cross-draft meter", "TA-12", dt.date(2027, 3, 9)])
        page.at(8, 1, "Face velocities (ft/min)")
        page.row(9, 2, [1, 2, 3, 4])
        page.down(10, 1, ["Row A", "Row B", "Row C"])
        face = page.grid(10, 2, grid)
        page.at(14, 1, "Cross-drafts 6 in. in front of the sash (ft/min)")
        page.row(15, 1, ["Parallel to face", drafts[0]])
        page.row(16, 1, ["Towards face", drafts[1]])
        page.row(17, 1, ["Vertical", drafts[2]])
        page.row(19, 1, ["Smoke: small source", "Pass", None, "Smoke: large volume", "Pass"])
        firm.tell(page, hood, face, list(zip(("B15", "B16", "B17"), drafts, strict=True)))


def ok_grid(firm: Firm) -> None:
    """A second grid beside the readings says OK for each; a third is the percentage of the average."""
    for _ in range(3):
        hood, grid = firm.hood(), firm.values(2, 3)
        page, average = firm.page(f"{hood.room}"), mean(grid)
        page.row(1, 1, ["Hood tag", hood.tag, "Survey date", hood.day, "Sash (in)", 18])
        page.row(3, 1, ["Velocity (fpm)", None, None, None, None, "Check", None, None, None, "Percent of average"])
        for left in (2, 6, 10):
            page.row(4, left, ["Left", "Mid", "Right"])
        page.down(5, 1, ["Top", "Bottom"])
        face = page.grid(5, 2, grid)
        page.grid(5, 6, [["OK"] * 3] * 2)
        page.grid(5, 10, [[round(100 * v / average) for v in line] for line in grid])
        page.row(8, 1, ["Average", average])
        firm.tell(page, hood, face)


def stacked_records(firm: Firm) -> None:
    """Four records below each other on one sheet, each under a rule of dashes."""
    page = firm.page("Survey")
    page.at(1, 1, "Velocities: feet per minute (fpm)")
    for n in range(4):
        hood, grid, top = firm.hood(), firm.values(2, 4), 3 + 8 * n
        page.at(top, 1, "-" * 40)
        page.row(top + 1, 1, ["Hood", hood.tag, "Room", hood.room])
        page.row(top + 2, 1, ["Date", spoken(hood.day), "Sash height", "18 in"])
        face = page.grid(top + 3, 2, grid)
        page.down(top + 3, 1, ["Top row", "Bottom row"])
        page.row(top + 5, 1, ["Max", max(map(max, grid)), "Min", min(map(min, grid)), "Avg", mean(grid)])
        firm.tell(page, hood, face)


def heights_and_distances(firm: Firm) -> None:
    """Rows by height over the worktop, lowest first; columns by distance from the left jamb."""
    for n in range(3):
        hood, grid = firm.hood(), firm.values(3, 5)
        page = firm.page(f"FV{n + 1}")
        page.row(1, 1, ["Hood identification", None, hood.tag])
        page.row(2, 1, ["Date of survey", None, hood.day])
        page.row(3, 1, ["Sash height at test", None, "18 in"])
        page.merged(5, 3, 1, 5, "Distance from left jamb (in)")
        page.row(6, 1, ["Face velocity (fpm)", "Height above worktop (in)", 6, 18, 30, 42, 54])
        page.down(7, 2, [3, 9, 15])
        face = [(4 - r, c, cell, v) for r, c, cell, v in page.grid(7, 3, grid)]
        firm.tell(page, hood, face)


def two_sashes(firm: Firm) -> None:
    """Each hood at two sash heights, one grid for each."""
    for _ in range(2):
        hood, page = firm.hood(), None
        page = firm.page(f"Hood {hood.tag}")
        page.row(1, 1, ["Hood", hood.tag, None, "Date", hood.day, None, "Units", "fpm"])
        for top, sash in ((3, 18), (9, 12)):
            grid = firm.values(2, 4)
            page.at(top, 1, f"Face velocity at sash height {sash} in")
            page.row(top + 1, 2, [1, 2, 3, 4])
            page.down(top + 2, 1, ["A", "B"])
            firm.tell(page, hood, page.grid(top + 2, 2, grid), sash=sash)


def three_runs(firm: Firm) -> None:
    """Points down, three runs across, the average last."""
    names = [f"{r} {c}" for r in ("Top", "Middle", "Bottom") for c in ("left", "centre", "right")]
    for n in range(3):
        hood, page = firm.hood(), firm.page(f"Test {n + 1}")
        page.row(1, 1, ["Hood", hood.tag])
        page.row(2, 1, ["Date", hood.day])
        page.row(3, 1, ["Sash", "18 in"])
        page.row(5, 1, ["Location", "Run 1 (fpm)", "Run 2 (fpm)", "Run 3 (fpm)", "Average"])
        runs, face = firm.values(9, 3), []
        for k, line in enumerate(runs):
            cells = page.row(6 + k, 1, [names[k], *line, round(sum(line) / 3, 1)])
            face += [(1 + k // 3, 1 + k % 3, cell, v) for cell, v in zip(cells[1:4], line, strict=True)]
        page.row(15, 1, ["Overall average", None, None, None, mean(runs)])
        firm.tell(page, hood, face)


def limits_and_statistics(firm: Firm) -> None:
    """Statistics, limits and design figures all round the grid."""
    for _ in range(3):
        hood, grid, drafts = firm.hood(), firm.values(2, 5), firm.drafts(1)
        page = firm.page(f"Rm {hood.room}")
        page.row(1, 1, ["Exhaust device", hood.tag, None, "Design CFM", 700])
        page.row(2, 1, ["Test date", hood.day, None, "Acceptable range", "80 - 120 fpm"])
        page.row(3, 1, ["Sash position", "18 in", None, "Previous average", 96])
        page.at(5, 2, "Readings in FPM, looking at the hood")
        page.row(6, 2, [1, 2, 3, 4, 5])
        page.down(7, 1, ["Upper", "Lower"])
        face = page.grid(7, 2, grid)
        page.row(10, 1, ["Average", mean(grid), "Max", max(map(max, grid)), "Min", min(map(min, grid))])
        page.row(11, 1, ["Volume (cfm)", 720, "% of design", 103])
        page.row(12, 1, ["Max cross draft (fpm)", drafts[0], "Smoke pattern", "Satisfactory"])
        firm.tell(page, hood, face, [("B12", drafts[0])])


def ticked_unit(firm: Firm) -> None:
    """Ticked boxes for the unit; the date in three cells."""
    for n in range(2):
        hood, grid = firm.hood(), firm.values(2, 3)
        page = firm.page(f"Form {n + 1}")
        page.row(1, 1, ["HOOD #", hood.tag])
        page.row(2, 1, ["DATE", hood.day.day, f"{hood.day:%b}", hood.day.year])
        page.row(3, 1, ["UNITS", "\u2612 fpm   \u2610 m/s"])
        page.row(4, 1, ["SASH HEIGHT", "18 in"])
        page.row(6, 1, ["FACE VELOCITY", "L", "C", "R"])
        page.down(7, 1, ["T", "B"])
        firm.tell(page, hood, page.grid(7, 2, grid))


def sideways(firm: Firm) -> None:
    """The opening lies on its side: columns are its rows, numbered from the left downwards."""
    for n in range(3):
        hood, grid = firm.hood(), firm.values(5, 2)
        page = firm.page(f"H{n + 1}")
        page.row(1, 1, ["Fume hood", hood.tag, "Surveyed", hood.day])
        page.row(2, 1, ["Sash", '18"', "Velocity units", "FPM"])
        page.row(4, 1, ["Face velocity", "Top", "Bottom"])
        page.down(5, 1, ["1 (left)", 2, 3, 4, "5 (right)"])
        face = [(c, r, cell, v) for r, c, cell, v in page.grid(5, 2, grid)]
        firm.tell(page, hood, face)


def summary_beside(firm: Firm) -> None:
    """Data sheets, and a summary that repeats the averages and says pass."""
    page, told = firm.page("Summary"), []
    page.at(1, 1, "Summary of average face velocities (fpm)")
    page.row(3, 1, ["Hood", "Room", "Average (fpm)", "Cross-draft max (fpm)", "Result"])
    for n in range(4):
        hood, grid, drafts = firm.hood(), firm.values(2, 4), firm.drafts(1)
        page.row(4 + n, 1, [hood.tag, hood.room, mean(grid), drafts[0], "Pass"])
        told.append((hood, grid, drafts))
    for hood, grid, drafts in told:
        _data_sheet(firm, firm.page(f"Data {hood.tag}"), hood, grid, drafts)


def _data_sheet(firm: Firm, page: Page, hood: Hood, grid: list[list], drafts: list) -> None:
    page.row(1, 1, ["Hood", hood.tag, "Date", hood.day])
    page.row(2, 1, ["Sash height (in)", 18, "Cross-draft max (fpm)", drafts[0]])
    page.row(4, 1, ["Point velocities (fpm)"])
    page.row(5, 2, ["C1", "C2", "C3", "C4"])
    page.down(6, 1, ["R1", "R2"])
    firm.tell(page, hood, page.grid(6, 2, grid), [("D2", drafts[0])])


FORMS = {
    "umber header strip": (header_strip, "UM-{}"), "ochre four boxes": (four_boxes, "{}A"),
    "teal tab is hood": (tab_is_hood, "FH{}"), "slate metric commas": (metric_commas, "D{}"),
    "sepia feet and inches": (feet_and_inches, "FH-{}"), "coral two instruments": (two_instruments, "N-{}"),
    "olive ok grid": (ok_grid, "EX-{}"), "ivory stacked records": (stacked_records, "CH-{}"),
    "russet heights": (heights_and_distances, "LH-{}"), "indigo two sashes": (two_sashes, "J-{}"),
    "maroon three runs": (three_runs, "P{}"), "bronze statistics": (limits_and_statistics, "EF-{}"),
    "lilac ticked unit": (ticked_unit, "V-{}"), "pewter sideways": (sideways, "RH-{}"),
    "copper summary": (summary_beside, "JL-{}"),
}  # fmt: skip
