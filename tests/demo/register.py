"""The register of the demo campus as a workbook: sheets `hoods`, `instruments`, `events`."""

from __future__ import annotations

from dataclasses import fields

from tests.demo.campaigns import ACCURACY, INSTRUMENTS, Event, calibration
from tests.demo.campus import TODAY, YEARS, Hood
from tests.demo.faults import SPARE
from tests.demo.pen import ARCHIVE, Book


def _table(book: Book, name: str, headings: list[str], rows: list[list[object]]) -> None:
    pen = book.sheet(name)
    for j, heading in enumerate(headings, 1):
        pen.put(1, j, heading, "head")
    for i, row in enumerate(rows, 2):
        for j, value in enumerate(row, 1):
            pen.put(i, j, value or None)
    pen.sheet.set_column(0, len(headings) - 1, 14)
    pen.sheet.freeze_panes(1, 1)


def instrument_rows() -> list[list[object]]:
    """The instruments as they are today: their latest calibration before today."""
    year = max(y for y in YEARS if y <= TODAY.year)
    rows: list[list[object]] = []
    for contractor, instruments in INSTRUMENTS.items():
        for instrument in instruments:
            rows.append([instrument, "thermal", contractor, ACCURACY, *calibration(instrument, year)])
    rows.append([SPARE[0], "thermal", "Amber", ACCURACY, *SPARE[1:]])
    return rows


def write_register(hoods: list[Hood], events: list[Event]) -> bytes:
    book = Book(ARCHIVE)
    names = [f.name for f in fields(Hood)]
    _table(book, "hoods", names, [[getattr(h, name) for name in names] for h in hoods])
    kinds = ["instrument_id", "kind", "contractor", "accuracy", "calibrated_on", "calibration_due"]
    _table(book, "instruments", kinds, instrument_rows())
    headings = ["date", "event", "hood_id", "air_handler", "building", "note"]
    _table(book, "events", headings, [[e.date, e.event, e.hood_id, e.air_handler, e.building, e.note] for e in events])
    return book.data()
