"""Further shapes: a column per hood, several rows per hood, two header rows, a common head, points in a list."""

from __future__ import annotations

from dataclasses import replace

from tests.layouts.blocks import lay_cross, lay_pairs, put_value, survey_pairs, with_noise
from tests.layouts.canvas import Book, Canvas
from tests.layouts.firm import WORDS, Firm
from tests.layouts.forms import NOTE_MODES, face_heading, head, reported_mean, sheet_name, unit_note
from tests.layouts.grids import GridStyle, lay_grid, number_format
from tests.layouts.tables import At, point_names
from tests.layouts.truth import Laid, Survey


def _unit_in_words(firm: Firm) -> str:
    """The unit in brackets for headings of a shape that has no units field."""
    return f" ({firm.unit_word})" if firm.unit_mode not in ("cell", "number-format", "none", *NOTE_MODES) else ""


def _lay_points(
    canvas: Canvas, firm: Firm, survey: Survey, laid: Laid, names: dict[At, str], row: int, column: int
) -> int:
    """Readings below one another from (row, column); returns the next free row."""
    for k, at in enumerate(names):
        reading = survey.passes[0].get(at)
        if reading is not None:
            cell = canvas.put(row + k, column, reading.written, number_format(firm))
            laid.face.append((*at, cell, reading))
    return row + len(names)


def column_per_hood(book: Book, firm: Firm, surveys: list[Survey], style: GridStyle) -> list[Laid]:
    """The table on its side: facts and points as rows, a column for each hood."""
    canvas = book.add(firm.rng.choice(["Hoods", "Comparison", "Sheet1", "Lab results"]))
    top = head(canvas, firm)
    if firm.unit_mode in NOTE_MODES:
        canvas.put(top, 1, unit_note(firm))
        top += 1
    label, _, tail = firm.length("sash", 1)
    sash_label = firm.label("sash", tail) if tail else label
    canvas.put(top, 1, firm.label("hood"))
    canvas.put(top + 1, 1, firm.label("surveyed_on"))
    canvas.put(top + 2, 1, sash_label)
    names, placed = point_names(firm, surveys[0].rows, surveys[0].columns)
    heading = firm.cased(str(firm.pick("headings", "face"))) + _unit_in_words(firm)
    canvas.put(top + 3, 1, heading)
    for k, name in enumerate(names.values()):
        canvas.put(top + 4 + k, 1, f"Point {name}" if name.isdigit() else name)
    after = top + 4 + len(names)
    with_mean = firm.rng.random() < 0.5
    if with_mean:
        canvas.put(after, 1, firm.label("mean"))
    out = []
    for n, survey in enumerate(surveys):
        column = 2 + n
        survey.codes.append("cross-draft-missing")
        laid = Laid(survey, canvas.name, placed=placed != "nowhere", place_free=placed == "free")
        canvas.put(top, column, survey.hood_written)
        put_value(canvas, top + 1, column, survey.date_written)
        canvas.put(top + 2, column, firm.length("sash", survey.sash_value)[1])
        _lay_points(canvas, firm, survey, laid, names, top + 4, column)
        if with_mean:
            canvas.put(after, column, reported_mean(firm, survey))
        out.append(laid)
    return out


def rows_per_hood(book: Book, firm: Firm, surveys: list[Survey], style: GridStyle) -> list[Laid]:
    """One table in which every hood takes as many rows as its grid; the hood's own cells are merged over them or
    repeated in each."""
    rng = firm.rng
    rows, columns = surveys[0].rows, surveys[0].columns
    canvas = book.add(rng.choice(["Grid table", "Data", "Velocities"]))
    top = head(canvas, firm)
    if firm.unit_mode in NOTE_MODES or not _unit_in_words(firm):
        canvas.put(top, 1, unit_note(firm))
        top += 1
    repeat = rng.random() < 0.5 or firm.file_format in ("csv",)
    firm.note("facts repeated" if repeat else "facts merged")
    positions = WORDS["positions"]
    down = rng.choice(positions["rows"].get(str(rows), [[f"Row {i + 1}" for i in range(rows)]]))
    across = rng.choice(positions["columns"].get(str(columns), [[f"Col {i + 1}" for i in range(columns)]]))
    label, _, tail = firm.length("sash", 1)
    lead = [firm.label("hood"), firm.label("surveyed_on"), firm.label("sash", tail) if tail else label]
    canvas.row(top, 1, [*lead, rng.choice(["Row", "Position", "Height"]), *[a + _unit_in_words(firm) for a in across]])
    row, out = top + 1, []
    for survey in surveys:
        survey.codes.append("cross-draft-missing")
        laid = Laid(survey, canvas.name)
        facts = [survey.hood_written, survey.date_written, firm.length("sash", survey.sash_value)[1]]
        for i in range(rows):
            for j, value in enumerate(facts, start=1):
                put_value(canvas, row + i, j, value if repeat or i == 0 else None)
            canvas.put(row + i, 4, down[i])
            for j in range(columns):
                reading = survey.passes[0][i + 1, j + 1]
                cell = canvas.put(row + i, 5 + j, reading.written, number_format(firm))
                laid.face.append((i + 1, j + 1, cell, reading))
        if not repeat:
            for j in (1, 2, 3):
                canvas.merge(row, j, row + rows - 1, j)
        row += rows
        out.append(laid)
    return out


def two_header_rows(book: Book, firm: Firm, surveys: list[Survey], style: GridStyle) -> list[Laid]:
    """A row per hood; over the points, the hood's row in the upper header and its column in the lower."""
    rng = firm.rng
    rows, columns = surveys[0].rows, surveys[0].columns
    canvas = book.add(rng.choice(["Hoods", "Table", "Sheet1"]))
    top = head(canvas, firm)
    if firm.unit_mode in NOTE_MODES or not _unit_in_words(firm):
        canvas.put(top, 1, unit_note(firm))
        top += 1
    positions = WORDS["positions"]
    down = rng.choice(positions["rows"].get(str(rows), [[f"Row {i + 1}" for i in range(rows)]]))
    down = [d if "row" in d.lower() or len(d) == 1 else f"{d} row" for d in down]
    across = rng.choice(positions["columns"].get(str(columns), [[f"Col {i + 1}" for i in range(columns)]]))
    label, _, tail = firm.length("sash", 1)
    canvas.row(top + 1, 1, [firm.label("hood"), firm.label("surveyed_on"), firm.label("sash", tail) if tail else label])
    for i in range(rows):
        left = 4 + i * columns
        canvas.put(top, left, down[i] + _unit_in_words(firm))
        canvas.merge(top, left, top, left + columns - 1)
        canvas.row(top + 1, left, list(across))
    out = []
    for n, survey in enumerate(surveys):
        survey.codes.append("cross-draft-missing")
        row = top + 2 + n
        laid = Laid(survey, canvas.name)
        canvas.put(row, 1, survey.hood_written)
        put_value(canvas, row, 2, survey.date_written)
        canvas.put(row, 3, firm.length("sash", survey.sash_value)[1])
        for (r, c), reading in survey.passes[0].items():
            cell = canvas.put(row, 3 + (r - 1) * columns + c, reading.written, number_format(firm))
            laid.face.append((r, c, cell, reading))
        out.append(laid)
    return out


def common_head(book: Book, firm: Firm, surveys: list[Survey], style: GridStyle) -> list[Laid]:
    """Date, unit and instrument once at the top of the sheet; then hood, sash and grid for each hood."""
    rng = firm.rng
    canvas = book.add(rng.choice(["Lab 110", "Survey", "Sheet1"]))
    row = head(canvas, firm)
    for survey in surveys:
        survey.date, survey.date_written = surveys[0].date, surveys[0].date_written
        survey.instrument = surveys[0].instrument
    own = {"hood", "sash", "building", "floor", "room"}
    plain = replace(firm, placement="left")
    row = lay_pairs(canvas, plain, with_noise(plain, survey_pairs(firm, surveys[0], own)), row, 1)
    if firm.unit_mode in NOTE_MODES:
        canvas.put(row, 1, unit_note(firm))
        row += 1
    row += 1
    out = []
    rest = {"date", "unit", "instrument", "calibrated", "due", "surveyor", "occasion", "building", "floor", "room"}
    for survey in surveys:
        laid = Laid(survey, canvas.name)
        row = lay_pairs(canvas, plain, survey_pairs(firm, survey, rest), row, 1)
        face_heading(firm, canvas, row, 1)
        grid = lay_grid(canvas, firm, style, survey.passes[0], row + 1, 1)
        laid.face = grid.cells
        laid.cross, row = lay_cross(canvas, firm, survey, grid.bottom + 2, 1)
        row = max(row, canvas.bottom + 1) + rng.choice([1, 2])
        out.append(laid)
    return out


def point_list(book: Book, firm: Firm, surveys: list[Survey], style: GridStyle) -> list[Laid]:
    """A form per sheet in which the points are a list: name, velocity."""
    out = []
    for n, survey in enumerate(surveys, start=1):
        canvas = book.add(sheet_name(firm, survey, n))
        row = lay_pairs(canvas, firm, with_noise(firm, survey_pairs(firm, survey, set())), head(canvas, firm), 1) + 1
        if firm.unit_mode in NOTE_MODES:
            canvas.put(row, 1, unit_note(firm))
            row += 1
        names, placed = point_names(firm, survey.rows, survey.columns)
        value = firm.cased(str(firm.pick("headings", "face")))
        unit = f" ({firm.unit_word})" if firm.unit_mode in ("heading", "heading-next") else ""
        canvas.row(row, 1, [firm.rng.choice(["Location", "Point", "Position", "Probe position"]), value + unit])
        laid = Laid(survey, canvas.name, placed=placed != "nowhere", place_free=placed == "free")
        for k, name in enumerate(names.values()):
            canvas.put(row + 1 + k, 1, int(name) if name.isdigit() else name)
        row = _lay_points(canvas, firm, survey, laid, names, row + 1, 2)
        if firm.rng.random() < 0.5:
            canvas.put(row, 1, firm.label("mean"))
            canvas.put(row, 2, reported_mean(firm, survey))
        laid.cross, row = lay_cross(canvas, firm, survey, row + 2, 1)
        out.append(laid)
    return out
