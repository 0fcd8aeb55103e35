"""The cover: what holds for every sheet, how to fill them in, and the round."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from auditor.documents.field.formats import Formats
from auditor.documents.field.model import Book, HoodToSurvey
from auditor.documents.field.texts import label, one_line, texts

# What is entered once: field -> (kind of cell, words of the input check).
ONCE = {
    "unit": "list", "contractor": "text", "surveyor": "text", "instrument_id": "instrument",
    "instrument_kind": "list", "calibrated_on": "past", "calibration_due": "date",
}  # fmt: skip
FIRST_ROW = 3  # 0-based row of the first of them
VALUE_COLUMN = 1


@dataclass(frozen=True)
class Place:
    """A hood's sheet: its name, and the cell that says how far it is."""

    hood: HoodToSurvey
    sheet: str
    status_cell: str


def cover_reference(field: str) -> str:
    """The cell of the cover that holds a field, as a formula names it."""
    row = FIRST_ROW + list(ONCE).index(field) + 1
    return f"'{texts()['cover_sheet']}'!$B${row}"


def write_cover(sheet: Any, book: Book, places: Sequence[Place], looks: Formats) -> None:
    said = texts()["cover"]
    sheet.set_column(0, 0, 26)
    sheet.set_column(1, 1, 54)
    sheet.set_column(2, 2, 24)
    sheet.write_string(0, 0, one_line(book.title, 90), looks.title)
    sheet.set_row(0, 24)
    sheet.write_string(
        1,
        0,
        f"{len(places)} {'sheet' if len(places) == 1 else 'sheets'}, issued {book.issued_on.isoformat()}",
        looks.label,
    )
    _band(sheet, 2, said["heading"], looks)
    given = {"unit": book.unit, "contractor": one_line(book.contractor)}
    for number, (field, kind) in enumerate(ONCE.items()):
        row = FIRST_ROW + number
        sheet.write_string(row, 0, label(field), looks.label)
        sheet.set_row(row, 19)
        look = looks.fill_date if kind in ("past", "date") else looks.fill
        if given.get(field):
            sheet.write_string(row, VALUE_COLUMN, given[field], look)
        else:
            sheet.write_blank(row, VALUE_COLUMN, None, look)
        _validate(sheet, row, field, kind, book)
    row = FIRST_ROW + len(ONCE) + 1
    _band(sheet, row, said["instructions_heading"], looks)
    for number, sentence in enumerate([*said["instructions"], said["left_blank"]], start=1):
        sheet.merge_range(row + number, 0, row + number, 2, "", looks.fact)
        sheet.write_string(row + number, 0, sentence, looks.fact)
        sheet.set_row(row + number, 17)
    row += len(said["instructions"]) + 3
    _band(sheet, row, said["cautions_heading"], looks)
    for number, sentence in enumerate(said["cautions"], start=1):
        sheet.merge_range(row + number, 0, row + number, 2, "", looks.fact)
        sheet.write_string(row + number, 0, sentence, looks.fact)
        sheet.set_row(row + number, 17)
    row += len(said["cautions"]) + 2
    _round(sheet, row, places, looks)
    last = row + len(places) + 1
    sheet.print_area(0, 0, last, 2)


def _band(sheet: Any, row: int, text: str, looks: Formats) -> None:
    for column in range(3):
        sheet.write_blank(row, column, None, looks.band)
    sheet.write_string(row, 0, text, looks.band)
    sheet.set_row(row, 18)


def _round(sheet: Any, row: int, places: Sequence[Place], looks: Formats) -> None:
    """The sheets in order, each with its place, why it is due, and how far it is."""
    _band(sheet, row, texts()["cover"]["sheets_heading"], looks)
    for number, place in enumerate(places, start=1):
        hood = place.hood
        name = place.sheet.replace("'", "''")
        where = ", ".join(filter(None, (one_line(hood.building, 60), f"room {one_line(hood.room, 30)}")))
        sheet.write_url(row + number, 0, f"internal:'{name}'!A1", looks.link, one_line(hood.hood_id, 60))
        sheet.write_string(row + number, 1, f"{where}: {one_line(hood.why, 60)}" if hood.why else where, looks.label)
        sheet.write_formula(row + number, 2, f"='{name}'!{place.status_cell}", looks.ready, " ")


def _validate(sheet: Any, row: int, field: str, kind: str, book: Book) -> None:
    """Drop-downs and checks of what is entered once."""
    lists, hints = texts()["lists"], texts()["hints"]
    rule: dict[str, Any]
    if kind == "list":
        rule = {"validate": "list", "source": lists[field], "input_message": hints["choose"]}
        rule["error_message"] = hints["wrong_choice"]
    elif kind == "instrument":
        source = short_list(book.instruments)
        if not source:
            return
        rule = {"validate": "list", "source": source, "show_error": False, "input_message": hints["choose"]}
    elif kind in ("past", "date"):
        rule = date_rule(past=kind == "past")
    else:
        return
    sheet.data_validation(row, VALUE_COLUMN, row, VALUE_COLUMN, rule)


def date_rule(*, past: bool) -> dict[str, Any]:
    import datetime as dt

    hints = texts()["hints"]
    rule: dict[str, Any] = {"validate": "date", "error_message": hints["wrong_date"], "minimum": dt.date(1990, 1, 1)}
    if past:
        return rule | {"criteria": "between", "maximum": "=TODAY()"}
    return rule | {"criteria": "between", "maximum": dt.date(2100, 1, 1)}


def short_list(choices: Sequence[str]) -> list[str]:
    """Choices that fit a drop-down (255 characters together, no commas); empty where they do not."""
    plain = [one_line(c, 40) for c in choices if c and "," not in c and not c.startswith("=")]
    return plain if plain and len(",".join(plain)) <= 255 else []
