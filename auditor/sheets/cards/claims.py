"""Whether what a card claims can be true of what the sheet itself says. A card never overrides a contradiction."""

from __future__ import annotations

import re

from auditor.sheets.dates import DateOrder, parse_date_text
from auditor.sheets.label_parts import take_unit
from auditor.sheets.labels import Meaning, analyse
from auditor.sheets.model import Field, Problem, SurveyAsWritten
from auditor.sheets.positions import Position
from auditor.sheets.text import fold, words_of
from auditor.sheets.values import DATES

_FAMILIES = (
    {"smoke", "smoke_local", "smoke_gross"},
    {"opening_size", "opening_width", "opening_height"},
    {"instrument_id", "instrument_kind"},
)
_DERIVED = {"mean": "reported_mean", "min": "reported_min", "max": "reported_max"}
_SECTION_OF = {"face": "face", "point": "face", "reading": "face", "row": "face", "column": "face",
               "cross-draft": "cross", "not readings": ""}  # fmt: skip
_NUMERIC = re.compile(r"(\d{1,2})\s?[-/.]\s?(\d{1,2})\s?[-/.]\s?\d{2,4}(?:\D.*)?", re.DOTALL)


def label_key(text: str) -> str:
    """What two spellings of a label have in common: case, blanks, the colon after it and the unit beside it go."""
    bare = fold(text).rstrip(" :=?*")
    return take_unit(bare)[0].rstrip(" .:=?*") or bare


def says_otherwise(meaning: Meaning, means: str) -> str:
    """What a label says by the words of the trade, where that cannot be what a card claims of it; else ''.

    A letter, a number, or the two together ('F1', 'X') say nothing that a card could contradict."""
    if len(meaning.folded) <= 2 or re.fullmatch(r"[^\W\d]{0,2}\W?\d{0,3}\W?", meaning.folded):
        return ""
    section = _SECTION_OF.get(means)
    if means == "not readings":
        return ""
    if meaning.is_unit:
        return "a unit"
    if section is None and meaning.field:
        return _other_field(meaning, means)
    if meaning.flip and meaning.flip != "as_found":
        return meaning.flip.replace("_", " ")
    if section is None:
        return _other_field(meaning, means)
    if meaning.derived:
        return meaning.derived
    if meaning.section and meaning.section != section:
        return meaning.section
    if meaning.field and not (meaning.field == "other" and meaning.section == section):
        return meaning.field.replace("_", " ")
    return ""


def _other_field(meaning: Meaning, means: str) -> str:
    if meaning.field:
        same = meaning.field == means or any({meaning.field, means} <= family for family in _FAMILIES)
        return "" if same else meaning.field.replace("_", " ")
    if meaning.derived:
        return "" if _DERIVED.get(meaning.derived) == means else meaning.derived
    if meaning.section and means != "unit":
        return "" if means.startswith(("smoke", "reported_")) else meaning.section
    return "a place on the opening" if _has_place_words(meaning.position) and means != "floor" else ""


def _has_place_words(position: Position | None) -> bool:
    return bool(position and (position.row_number or position.column_number or position.row_rank is not None))


def label_contradicts(text: str, means: str) -> str:
    """`says_otherwise` for a text."""
    return says_otherwise(analyse(text), means)


def place_contradicts(meaning: Meaning, number: int, axis: str) -> bool:
    """True where a label names another row (or column) by number than a card does."""
    if meaning.position is None:
        return False
    own = meaning.position.row_number if axis == "row" else meaning.position.column_number
    return own is not None and own != number


def with_order(order: DateOrder, taught: str) -> DateOrder:
    """What a workbook proves about day and month, with what a card says where nothing is proven. Where both speak and
    differ, neither settles anything."""
    if not taught or order.declared == taught:
        return order
    return order._replace(declared="" if order.declared else taught)


def check_dates(survey: SurveyAsWritten, taught: str, card: str) -> None:
    """Holds every date that cannot be in the order that a card says."""
    if not taught:
        return
    for name in DATES:
        found = survey.fields.get(name)
        if found is None or found.value is None or _in_order(found, taught):
            continue
        detail = f"{found.written!r} cannot be read with {_WORDS[taught]} first, as {card} says"
        survey.fields[name] = Field(found.cell, found.written, None, hidden=found.hidden)
        survey.problems.append(Problem("date-ambiguous", found.cell, name, found.written, detail))


_WORDS = {"dmy": "the day", "mdy": "the month"}


def _in_order(found: Field, taught: str) -> bool:
    parts = _NUMERIC.fullmatch(fold(found.written))
    if parts is None:
        return True
    month = int(parts[2] if taught == "dmy" else parts[1])
    return month <= 12 and parse_date_text(found.written, taught).value == found.value


def same_words(first: str, second: str) -> bool:
    return words_of(fold(first)) == words_of(fold(second))
