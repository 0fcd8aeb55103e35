"""From the text of a card (TOML) to a Card: nothing is passed over, nothing is guessed."""

from __future__ import annotations

import hashlib
import tomllib
from typing import Any

from auditor.sheets.cards.entries import Entry
from auditor.sheets.cards.layouts import dimension_of, layout_of, mark_of
from auditor.sheets.cards.schema import LABEL_MEANINGS, ORDERS, VERSION, Card, CardError, Word
from auditor.sheets.units import find_unit

LARGEST = 256 * 1024  # bytes: a card is written by a person


def load_card(text: str, source: str = "card") -> Card:
    """The card that a TOML text writes. CardError names `source`, the place in it, and how to mend it."""
    if len(text.encode()) > LARGEST:
        raise CardError(f"{source}: a card has at most {LARGEST // 1024} KB; this is some other file")
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as trouble:
        raise CardError(f"{source}: not written as TOML: {trouble}") from None
    try:
        return _card(Entry(table, ""), hashlib.sha256(text.encode()).hexdigest()[:8])
    except CardError as trouble:
        raise CardError(f"{source}: {trouble}") from None


def _card(entry: Entry, digest: str) -> Card:
    version = entry.take("card", int, f"write card = {VERSION} as the first line")
    if version != VERSION:
        raise entry.bad("card", f"{version} is not a version of cards that this program reads", f"write {VERSION}")
    contractor = entry.text("contractor", 'write the firm\'s name as its sheets have it, such as "Cobalt"')
    entry.text("note")
    card = Card(
        " ".join(contractor.split()),
        digest,
        mark_of(entry.take("mark", dict), "mark"),
        entry.unit("unit", "velocity"),
        entry.choice("date_order", ORDERS),
        tuple(_word(label, one) for label, one in (entry.take("labels", dict) or {}).items()),
        tuple(_unit_word(text, unit) for text, unit in (entry.take("unit_words", dict) or {}).items()),
        tuple(layout_of(one, i) for i, one in enumerate(entry.take("layout", list) or [], start=1)),
    )
    entry.done()
    if not card.has_words and not card.layouts:
        raise CardError("the card teaches nothing; give it labels, a unit, or a [[layout]]")
    return card


def _word(label: str, table: Any) -> Word:
    entry = Entry({"means": table} if isinstance(table, str) else table, f"labels, '{label}'")
    means = entry.choice("means", LABEL_MEANINGS, "write what the label means, such as hood")
    dimension = dimension_of(means) if means not in ("face", "cross-draft", "unit") else "velocity"
    unit = entry.unit("unit", dimension)
    number = entry.number("number", f"write which {means} of the opening it is" if means in ("row", "column") else "")
    entry.done()
    if not label.strip() or len(label) > 80:
        raise CardError(f"labels, '{label[:20]}': a label has 1 to 80 signs")
    if unit and not dimension:
        raise entry.bad("unit", f"'{means}' has no unit", "take the unit out")
    if number and means not in ("row", "column"):
        raise entry.bad("number", f"'{means}' has no number", "take it out")
    return Word(label, means, unit, number)


def _unit_word(text: str, unit: Any) -> tuple[str, str]:
    place = f"unit_words, '{text}'"
    found = find_unit(unit) if isinstance(unit, str) else None
    if found is None or found.dimension != "velocity":
        raise CardError(f"{place}: '{unit}' is not a unit of velocity that is known; write one such as ft/min or m/s")
    known = find_unit(text)
    if known is not None and known.name != found.name:
        raise CardError(f"{place}: this already means {known.name}, and a card cannot change that; take the line out")
    return text, found.name
