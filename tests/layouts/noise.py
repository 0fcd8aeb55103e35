"""Sheets of a workbook that are not surveys, and a sheet that nobody can read with certainty."""

from __future__ import annotations

from random import Random

from tests.layouts.blocks import put_value
from tests.layouts.canvas import Book, Canvas
from tests.layouts.firm import WORDS, Firm
from tests.layouts.truth import FPM_PER, Laid, Survey, round_half_up


def add_sheets(rng: Random, firm: Firm, book: Book, surveys: list[Survey]) -> None:
    """Some of: cover, notes, look-up lists, summary, an empty sheet; before or after the surveys."""
    makers = {"cover": _cover, "notes": _notes, "lookup": _lookup, "summary": _summary, "instruments": _instruments,
              "empty": lambda *a: None, "conversion": _conversion}  # fmt: skip
    for kind in rng.sample(list(makers), rng.choice([0, 0, 1, 1, 2, 3])):
        if kind == "summary" and any(s.status == "held" or s.mean is None for s in surveys):
            continue
        firm.note("sheet:" + kind)
        names = {"cover": ["Cover", "Title", "Index"], "notes": ["Notes", "Read me", "Instructions"],
                 "lookup": ["Lists", "Lookup", "Hood list"], "summary": ["Summary", "Overview"],
                 "instruments": ["Instruments", "Equipment"], "empty": ["Sheet9", "Blank"],
                 "conversion": ["Conversions", "Units table"]}[kind]  # fmt: skip
        canvas = book.add(rng.choice(names))
        makers[kind](rng, firm, canvas, surveys)
        if kind in ("lookup", "conversion", "instruments") and rng.random() < 0.25 and firm.file_format != "ods":
            canvas.hidden = True
            firm.note("hidden other sheet")
        if rng.random() < 0.5:
            book.sheets.insert(0, book.sheets.pop())


def _cover(rng: Random, firm: Firm, canvas: Canvas, surveys: list[Survey]) -> None:
    canvas.put(2, 2, rng.choice(WORDS["noise"]["titles"]))
    canvas.put(3, 2, rng.choice(["Contractor Amber", "Contractor Cobalt", "Sienna Environmental"]))
    canvas.put(5, 2, f"Hoods tested: {len(surveys)}")
    for i, line in enumerate(rng.sample(WORDS["noise"]["lines"], 4)):
        canvas.put(7 + i, 2, line)


def _notes(rng: Random, firm: Firm, canvas: Canvas, surveys: list[Survey]) -> None:
    lines = ["How to fill in this workbook", "1. One form for each hood", "2. Hold the probe in the plane of the sash",
             "3. Average over 10 s at every point", "4. Cross-draft is taken 6 in from the opening",
             "5. Sash at the working height, normally 18 in", "6. Return by 30 September"]  # fmt: skip
    for i, line in enumerate(lines[: rng.randrange(3, 8)]):
        canvas.put(1 + i, 1, line)


def _lookup(rng: Random, firm: Firm, canvas: Canvas, surveys: list[Survey]) -> None:
    canvas.row(1, 1, ["Hood ID", "Building", "Room", "Width (in)"])
    for i, s in enumerate(surveys):
        canvas.row(2 + i, 1, [s.hood_id, s.building, s.room, s.opening_width_in])


def _summary(rng: Random, firm: Firm, canvas: Canvas, surveys: list[Survey]) -> None:
    canvas.put(1, 1, "Summary of results")
    canvas.row(3, 1, ["Hood", "Date", f"Average ({firm.unit_word})", "Result"])
    for i, s in enumerate(surveys):
        canvas.put(4 + i, 1, s.hood_id)
        put_value(canvas, 4 + i, 2, s.date_written)
        canvas.put(4 + i, 3, round_half_up(s.mean or 0, firm.decimals + 1))
        canvas.put(4 + i, 4, "Pass")


def _instruments(rng: Random, firm: Firm, canvas: Canvas, surveys: list[Survey]) -> None:
    canvas.row(1, 1, ["Instrument", "Serial no.", "Kind", "Range"])
    canvas.row(2, 1, ["TA-2", "40217", "thermal anemometer", "20-6000 fpm"])
    canvas.row(3, 1, ["VA 11", "3381", "vane anemometer", "0.3-35 m/s"])


def _conversion(rng: Random, firm: Firm, canvas: Canvas, surveys: list[Survey]) -> None:
    canvas.row(1, 1, ["fpm", "m/s"])
    for i, fpm in enumerate([60, 80, 100, 120, 150]):
        canvas.row(2 + i, 1, [fpm, round(fpm / FPM_PER["m/s"], 3)])


def example_sheet(rng: Random, book: Book) -> str:
    """A template's filled-in example; returns the sheet's name."""
    canvas = book.add(rng.choice(["Example", "EXAMPLE", "Sample form"]))
    canvas.put(1, 1, rng.choice(["EXAMPLE - delete before returning", "EXAMPLE ONLY", "Example of a completed form"]))
    rows = [["Hood ID", rng.choice(["XX-000", "EXAMPLE", "A-000"])], ["Date", "1 Jan 2020"], ["Sash height (in)", 18],
            ["Velocity unit", "fpm"]]  # fmt: skip
    for i, row in enumerate(rows):
        canvas.row(2 + i, 1, row)
    canvas.put(7, 1, "Face velocity")
    canvas.row(8, 2, [100, 101, 102])
    canvas.row(9, 2, [98, 99, 100])
    book.sheets.insert(0, book.sheets.pop())
    return canvas.name


def unrecognisable(book: Book, firm: Firm, surveys: list[Survey], style: object = None) -> list[Laid]:
    """Survey words and numbers that no careful person could read with certainty."""
    rng, survey = firm.rng, surveys[0]
    canvas = book.add("Sheet1")
    kind = rng.choice(["prose", "two grids", "scattered", "bare numbers"])
    firm.note("unrecognisable:" + kind)
    canvas.row(1, 1, [firm.label("hood"), survey.hood_id])
    canvas.put(2, 1, firm.label("surveyed_on"))
    put_value(canvas, 2, 2, survey.date_written)
    canvas.row(3, 1, [firm.label("sash"), f"{survey.sash_value:g} {firm.length_unit}"])
    values = [r.value for r in survey.passes[0].values()]
    if kind == "prose":
        canvas.put(
            5, 1, f"Face velocity was {values[0]} {firm.unit_word} at the left and {values[1]} to {values[2]} elsewhere"
        )
        canvas.put(6, 1, f"after the damper was moved {values[3]}, before {values[1]} at two points")
    elif kind == "two grids":
        canvas.put(5, 1, f"Face velocity ({firm.unit_word})")
        for top, scale in ((6, 1.0), (6 + survey.rows + 2, 1.12)):
            for (r, c), reading in survey.passes[0].items():
                canvas.put(top + r, 1 + c, firm.number((reading.value or 1) * scale))
    elif kind == "scattered":
        canvas.put(5, 1, f"Face velocity ({firm.unit_word})")
        spots = rng.sample([(r, c) for r in range(7, 19) for c in range(1, 9) if (r + c) % 3 == 0], len(values))
        for at, value in zip(spots, values, strict=True):
            canvas.put(*at, value)
    else:
        canvas.put(5, 1, "velocities before and after adjustment")
        for i, value in enumerate(values):
            canvas.row(6 + i, 1, [value, firm.number((value or 1) * 1.1)])
    return [Laid(survey, canvas.name)]
