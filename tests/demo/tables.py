"""Workbooks with many hoods on a sheet: Sienna's, one row to a hood with named points, and the archive's, one row to
a hood (xlsx or csv) or one row to a reading."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable
from functools import partial

from tests.demo.forms import fact
from tests.demo.pen import ARCHIVE, SIENNA, Book, address
from tests.demo.surveys import SIDES, Survey, TextNumber

NAMES = {
    4: ("left", "centre left", "centre right", "right"),
    5: ("far left", "left", "centre", "right", "far right"),
    6: ("far left", "left", "centre left", "centre right", "right", "far right"),
}
Column = tuple[str, str, Callable[[Survey], object]]  # heading, key, what stands there


def _identity() -> list[Column]:
    return [
        ("Hood ID", "hood", lambda s: fact(s, "hood", s.hood.hood_id)),
        ("Building", "building", lambda s: s.hood.building),
        ("Floor", "floor", lambda s: int(s.hood.floor)),
        ("Room", "room", lambda s: s.hood.room),
        ("Date", "surveyed_on", lambda s: fact(s, "date", s.date)),
        ("Occasion", "occasion", lambda s: s.occasion),
        ("Contractor", "contractor", lambda s: s.contractor),
        ("Surveyor", "surveyor", lambda s: s.surveyor),
        ("Instrument", "instrument", lambda s: fact(s, "instrument", s.instrument)),
        ("Instrument type", "instrument_kind", lambda s: "thermal anemometer"),
        ("Calibrated", "calibrated_on", lambda s: fact(s, "calibrated", s.calibrated)),
        ("Calibration due", "calibration_due", lambda s: fact(s, "due", s.due)),
        ("Sash height (in)", "sash", lambda s: fact(s, "sash", s.hood.working_sash_in)),
        ("Opening width (in)", "width", lambda s: s.hood.opening_width_in),
        ("Opening height (in)", "height", lambda s: s.hood.opening_height_in),
    ]


def _points(columns: int, heading: Callable[[int, int], str]) -> list[Column]:
    return [(heading(i, j), f"face:{i}:{j}", partial(_point, i, j)) for i in (1, 2, 3) for j in range(1, columns + 1)]


def _point(i: int, j: int, s: Survey) -> object:
    return s.face[i - 1][j - 1]


def _largest_at(side: str, s: Survey) -> object:
    return max((v for (place, _), v in s.cross.items() if place == side), default=None)


def _results(unit: str = "") -> list[Column]:
    tail = f" ({unit})" if unit else ""
    drafts: list[Column] = [
        (f"Cross-draft {side}{tail}", f"cross:{side}", partial(_largest_at, side)) for side in SIDES
    ]
    return [
        (f"Mean{tail}", "mean", lambda s: s.mean),
        *drafts,
        ("Smoke (small source)", "smoke_local", lambda s: s.smoke_local),
        ("Smoke (large volume)", "smoke_gross", lambda s: s.smoke_gross),
        (f"Monitor ({unit or 'ft/min'})", "monitor", lambda s: s.monitor),
        ("Operating mode", "mode", lambda s: s.mode),
        ("Result", "verdict", lambda s: s.verdict),
        ("Observations", "remark", lambda s: s.remark),
    ]


def _note_grid(s: Survey) -> None:
    s.cells["grid"] = f"{s.cells['face:1:1']}:{s.cells[f'face:3:{s.hood.columns}']}"


def _by_columns(surveys: list[Survey]) -> list[tuple[int, list[Survey]]]:
    """Surveys by the number of columns of their grid, which is the hood's width in feet."""
    sizes = sorted({s.hood.columns for s in surveys})
    return [(n, [s for s in surveys if s.hood.columns == n]) for n in sizes]


def _fill(book: Book, name: str, columns: list[Column], surveys: list[Survey], workbook: str, first: int = 1) -> None:
    """A sheet with the headings in row `first` and a row to a survey below."""
    pen = book.sheet(name)
    for j, (heading, _, _) in enumerate(columns, 1):
        pen.put(first, j, heading, "head")
    pen.sheet.set_column(0, len(columns) - 1, 11)
    pen.sheet.freeze_panes(first, 1)
    for i, s in enumerate(surveys, first + 1):
        s.workbook, s.sheet = workbook, name
        for j, (_, key, value) in enumerate(columns, 1):
            s.cells[key] = pen.put(i, j, value(s), "plain")
        _note_grid(s)


def _named(names: tuple[str, ...], i: int, j: int) -> str:
    return f"{('Top', 'Middle', 'Bottom')[i - 1]} {names[j - 1]}"


def write_sienna(surveys: list[Survey], workbook: str) -> bytes:
    """Sienna's workbook: a sheet to each hood size, the points named as seen from the room."""
    book = Book(SIENNA)
    for size, group in _by_columns(surveys):
        columns = _identity() + _points(size, partial(_named, NAMES[size])) + _results()
        _fill(book, f"{size} ft hoods", columns, group, workbook, first=3)
        book.book.get_worksheet_by_name(f"{size} ft hoods").write_string(
            0, 0, "Sienna hood survey 2026. All velocities in ft/min.", book.formats["title"]
        )
    notes = book.sheet("Notes")
    notes.put(1, 1, "Points are named as seen from the room; the lowest row is just above the sill.")
    notes.put(2, 1, "Cross-drafts are the largest of three directions, taken 6 in in front of the opening.")
    return book.data()


def write_rows_xlsx(surveys: list[Survey], workbook: str) -> bytes:
    """The archive of 2023: a sheet to each hood size, points by row and column, the unit in a column of its own."""
    book = Book(ARCHIVE)
    for size, group in _by_columns(surveys):
        unit: list[Column] = [("Velocity unit", "unit", lambda s: fact(s, "unit", s.unit))]
        columns = _identity() + unit + _points(size, lambda i, j: f"R{i}C{j}") + _results()
        _fill(book, f"{size} ft", columns, group, workbook)
    return book.data()


def _csv_bytes(rows: list[list[object]]) -> bytes:
    stream = io.StringIO(newline="")
    csv.writer(stream, lineterminator="\r\n").writerows([[_text(v) for v in row] for row in rows])
    return stream.getvalue().encode("utf-8")


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, dt.date):
        return value.isoformat()
    return value.text if isinstance(value, TextNumber) else str(value)


def write_rows_csv(surveys: list[Survey], workbook: str) -> bytes:
    """The archive of 2024: a file to each hood size, in m/s, the unit in every heading."""
    (size,) = {s.hood.columns for s in surveys}
    columns = _identity() + _points(size, lambda i, j: f"Face R{i}C{j} (m/s)") + _results("m/s")
    for i, s in enumerate(surveys, 2):
        s.workbook, s.sheet = workbook, workbook.rsplit("/", 1)[-1].removesuffix(".csv")
        s.cells.update({key: address(i, j) for j, (_, key, _) in enumerate(columns, 1)})
        _note_grid(s)
    return _csv_bytes([[h for h, _, _ in columns], *([value(s) for _, _, value in columns] for s in surveys)])


def _long_rows(surveys: list[Survey], workbook: str, sheet: str, *, with_place: bool) -> list[list[object]]:
    """One row to a reading; the facts of the survey are repeated on each of its rows."""
    left = [c for c in _identity() if with_place or c[1] not in ("building", "floor", "instrument_kind")]
    headings = [h for h, _, _ in left]
    headings += ["Kind", "Row", "Column", "Position", "Direction", "Velocity", "Unit"]
    headings += ["Smoke (small source)", "Smoke (large volume)"]
    at = len(left)
    rows: list[list[object]] = [list(headings)]
    for s in surveys:
        s.workbook, s.sheet = workbook, sheet
        own, tail = [value(s) for _, _, value in left], [s.unit, s.smoke_local, s.smoke_gross]
        s.cells.update({key: address(len(rows) + 1, j) for j, (_, key, _) in enumerate(left, 1)})
        s.cells["unit"] = address(len(rows) + 1, at + 7)
        s.cells["smoke_local"] = address(len(rows) + 1, at + 8)
        for i, line in enumerate(s.face, 1):
            for j, value in enumerate(line, 1):
                rows.append([*own, "face", i, j, None, None, value, *tail])
                s.cells[f"face:{i}:{j}"] = address(len(rows), at + 6)
        for (side, direction), value in s.cross.items():
            rows.append([*own, "cross-draft", None, None, side, direction, value, *tail])
            s.cells[f"cross:{side}:{direction}"] = address(len(rows), at + 6)
        _note_grid(s)
    return rows


def write_long_csv(surveys: list[Survey], workbook: str) -> bytes:
    """The archive of 2022: one row to a reading, as text."""
    return _csv_bytes(_long_rows(surveys, workbook, workbook.rsplit("/", 1)[-1].removesuffix(".csv"), with_place=False))


def write_long_xlsx(surveys: list[Survey], workbook: str) -> bytes:
    """The archive of 2025: one row to a reading, as a workbook."""
    book = Book(ARCHIVE)
    pen = book.sheet("readings")
    for i, row in enumerate(_long_rows(surveys, workbook, "readings", with_place=True), 1):
        for j, value in enumerate(row, 1):
            pen.put(i, j, value, "head" if i == 1 else "plain")
    pen.sheet.freeze_panes(1, 1)
    return book.data()
