"""Two firms' field sheets, a form to a hood: Amber's in ft/min with its labels on the left, Cobalt's in m/s with its
labels above the values. Each writer fills in where everything stands."""

from __future__ import annotations

from collections.abc import Sequence

from tests.demo.pen import AMBER, COBALT, Book, Pen, address
from tests.demo.surveys import DIRECTIONS, SIDES, Survey

COLUMN_NAMES = {4: ("L", "CL", "CR", "R"), 5: ("L", "CL", "C", "CR", "R")}
MM = 25.4


def fact(s: Survey, name: str, otherwise: object) -> object:
    """What stands on the sheet for a fact: the truth, unless a fault changed it."""
    return s.written.get(name, otherwise)


def _cross_table(pen: Pen, s: Survey, row: int, column: int, style: str) -> None:
    for j, side in enumerate(SIDES):
        pen.put(row, column + 1 + j, side.capitalize(), "head")
        for i, direction in enumerate(DIRECTIONS):
            key = f"cross:{side}:{direction}"
            s.cells[key] = pen.put(row + 1 + i, column + 1 + j, s.cross.get((side, direction)), style)
    for i, direction in enumerate(DIRECTIONS):
        pen.put(row + 1 + i, column, direction.capitalize(), "label")
    s.cells["cross"] = f"{address(row + 1, column + 1)}:{address(row + 3, column + 3)}"


def _grid(pen: Pen, s: Survey, row: int, column: int, rows: Sequence[str], names: Sequence[object], style: str) -> None:
    """Column names in `row`, the three rows of readings below."""
    for j, name in enumerate(names):
        pen.put(row, column + 1 + j, name, "head")
    for i, line in enumerate(s.face):
        pen.put(row + 1 + i, column, rows[i], "head")
        for j, value in enumerate(line):
            s.cells[f"face:{i + 1}:{j + 1}"] = pen.put(row + 1 + i, column + 1 + j, value, style)
    s.cells["grid"] = f"{s.cells['face:1:1']}:{s.cells[f'face:3:{len(names)}']}"


def amber_form(pen: Pen, s: Survey) -> None:
    h = s.hood
    pen.sheet.set_column(0, 0, 24)
    pen.sheet.set_column(1, 8, 15)
    for column in range(1, 9):
        pen.put(1, column, "Amber - fume hood field sheet" if column == 1 else None, "title")
    left = [
        ("Hood ID", "hood", fact(s, "hood", h.hood_id)),
        ("Building", "building", h.building),
        ("Floor", "floor", int(h.floor)),
        ("Room", "room", fact(s, "room", h.room)),
        ("Sash height (in)", "sash", fact(s, "sash", h.working_sash_in)),
        ("Opening width (in)", "width", fact(s, "width", h.opening_width_in)),
        ("Opening height (in)", "height", h.opening_height_in),
        ("Velocity unit", "unit", fact(s, "unit", s.unit)),
    ]
    right = [
        ("Date of survey", "surveyed_on", fact(s, "date", s.date)),
        ("Reason", "occasion", s.occasion.capitalize()),
        ("Contractor", "contractor", s.contractor),
        ("Surveyor", "surveyor", s.surveyor),
        ("Instrument", "instrument", fact(s, "instrument", s.instrument)),
        ("Instrument type", "instrument_kind", "thermal"),
        ("Calibrated on", "calibrated_on", fact(s, "calibrated", s.calibrated)),
        ("Calibration due", "calibration_due", fact(s, "due", s.due)),
    ]
    for column, block in ((1, left), (4, right)):
        for i, (label, key, value) in enumerate(block):
            pen.put(3 + i, column, label, "label")
            s.cells[key] = pen.put(3 + i, column + 1, value, "value")
    pen.put(11, 1, "Operating mode", "label")
    s.cells["mode"] = pen.put(11, 2, s.mode, "value")
    pen.put(13, 1, "Face velocity", "section")
    _grid(pen, s, 14, 1, "ABC", range(1, h.columns + 1), "reading")
    pen.put(19, 1, "Average", "label")
    s.cells["mean"] = pen.put(19, 2, s.mean, "tenths")
    pen.put(21, 1, "Cross-draft, 6 in in front of the opening", "section")
    _cross_table(pen, s, 22, 1, "reading")
    rest = [
        ("Smoke, small source", "smoke_local", s.smoke_local),
        ("Smoke, large volume", "smoke_gross", s.smoke_gross),
        ("Monitor reading (ft/min)", "monitor", s.monitor),
        ("Observations", "remark", s.remark),
        ("Result", "verdict", s.verdict),
    ]
    for i, (label, key, value) in enumerate(rest):
        pen.put(27 + i, 1, label, "label")
        s.cells[key] = pen.put(27 + i, 2, value, "value")


def amber_cover(pen: Pen, building: str, year: int, sheets: int) -> None:
    pen.sheet.set_column(1, 1, 60)
    pen.put(2, 2, f"Fume hood survey {year}", "title")
    pen.put(3, 2, f"{building}, Tern Hill campus")
    pen.put(4, 2, "Contractor Amber")
    pen.put(6, 2, f"{sheets} hood sheets follow, in the order in which they were visited.")


def _row_of_labels(pen: Pen, s: Survey, row: int, pairs: list[tuple[str, str, object]]) -> None:
    """Labels in `row`, values in the row below."""
    for i, (label, key, value) in enumerate(pairs):
        pen.put(row, 2 + i, label, "label")
        s.cells[key] = pen.put(row + 1, 2 + i, value, "value")


def _mm(inches: float) -> int:
    return round(inches * MM)


def cobalt_form(pen: Pen, s: Survey) -> None:
    h = s.hood
    pen.sheet.set_column(0, 0, 2)
    pen.sheet.set_column(1, 8, 15)
    for column in range(2, 9):
        pen.put(1, column, "Cobalt hood record" if column == 2 else None, "title")
    _row_of_labels(
        pen,
        s,
        3,
        [
            ("Hood", "hood", fact(s, "hood", h.hood_id)),
            ("Building", "building", h.building),
            ("Floor", "floor", int(h.floor)),
            ("Room", "room", h.room),
            ("Test date", "surveyed_on", fact(s, "date", s.date)),
            ("Occasion", "occasion", s.occasion),
        ],
    )
    _row_of_labels(
        pen,
        s,
        6,
        [
            ("Sash (mm)", "sash", _mm(h.working_sash_in)),
            ("Opening width (mm)", "width", _mm(fact(s, "width", h.opening_width_in))),
            ("Opening height (mm)", "height", _mm(h.opening_height_in)),
            ("Units", "unit", s.unit),
            ("Operating mode", "mode", s.mode),
            ("Contractor", "contractor", s.contractor),
        ],
    )
    _row_of_labels(
        pen,
        s,
        9,
        [
            ("Instrument", "instrument", fact(s, "instrument", s.instrument)),
            ("Instrument type", "instrument_kind", "hot wire"),
            ("Calibrated", "calibrated_on", s.calibrated),
            ("Calibration due", "calibration_due", s.due),
            ("Surveyor", "surveyor", s.surveyor),
        ],
    )
    if "no grid" not in s.written:
        pen.put(12, 2, "Face velocity readings", "section")
        names = COLUMN_NAMES.get(h.columns, range(1, h.columns + 1))
        _grid(pen, s, 13, 2, ("Top", "Mid", "Bottom"), names, "hundredths")
    _row_of_labels(
        pen,
        s,
        18,
        [
            ("Mean face velocity", "mean", s.mean),
            ("Monitor (m/s)", "monitor", s.monitor),
            ("Result", "verdict", s.verdict),
        ],
    )
    if s.cross:
        pen.put(21, 2, "Cross-draft readings, 150 mm in front of the opening", "section")
        _cross_table(pen, s, 22, 2, "hundredths")
    _row_of_labels(
        pen,
        s,
        27,
        [
            ("Smoke (tube)", "smoke_local", s.smoke_local),
            ("Smoke (large volume)", "smoke_gross", s.smoke_gross),
            ("Remarks", "remark", s.remark),
        ],
    )


def write_amber(building: str, year: int, surveys: list[Survey], workbook: str, example: Survey | None = None) -> bytes:
    """Amber's workbook: a cover, then a sheet to a hood, named by its tag; perhaps the template's example."""
    book = Book(AMBER)
    amber_cover(book.sheet("Cover"), building, year, len(surveys))
    if example:
        amber_form(book.sheet("Example"), example)
    for s in surveys:
        tag = str(fact(s, "hood", s.hood.hood_id))
        s.workbook, s.sheet = workbook, str(s.written.get("sheet", tag if s.occasion != "retest" else f"{tag} retest"))
        if any(o is not s and o.sheet == s.sheet and o.workbook == workbook for o in surveys):
            s.sheet = f"{tag} autumn"  # the second visit of a half-yearly hood
        amber_form(book.sheet(s.sheet), s)
    return book.data()


def write_cobalt(surveys: list[Survey], workbook: str) -> bytes:
    """Cobalt's workbook: numbered sheets."""
    book = Book(COBALT)
    for n, s in enumerate(surveys, 1):
        s.workbook, s.sheet = workbook, f"Hood sheet {n}"
        cobalt_form(book.sheet(s.sheet), s)
    return book.data()
