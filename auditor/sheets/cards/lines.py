"""Adding one line to a card's text, so that what people wrote in it stays as it is."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass

from auditor.sheets.cards.loading import load_card
from auditor.sheets.cards.schema import VERSION, CardError
from auditor.sheets.cards.writing import quoted


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that a card can be taught: under `table` ('labels', 'unit_words', or '' for the card itself) a key and
    its value, the value as TOML."""

    table: str
    key: str
    value: str

    @property
    def text(self) -> str:
        """As it would stand in the card, its table before it."""
        return f"[{self.table}] {quoted(self.key)} = {self.value}" if self.table else f"{self.key} = {self.value}"


def new_card(contractor: str) -> str:
    """The head of a card that teaches nothing yet."""
    return f"card = {VERSION}\ncontractor = {quoted(contractor)}\n"


def with_line(text: str, line: Line) -> str:
    """The card's text with one more line. CardError where it says something else of the same thing already, or where
    the line does not make a sound card."""
    known = tomllib.loads(text)
    table = known.get(line.table, {}) if line.table else known
    wanted = tomllib.loads(f"x = {line.value}")["x"]
    if line.key in table:
        if table[line.key] == wanted:
            return text
        raise CardError(f"the card says otherwise of '{line.key}' already; mend it by hand and give it with --card")
    out = _inserted(text, line)
    load_card(out, "the card with the new line")
    return out


def _inserted(text: str, line: Line) -> str:
    lines = text.rstrip("\n").split("\n")  # other breaks may stand inside a text
    if not line.table:
        at = next(i for i, one in enumerate(lines) if re.match(r"\s*contractor\s*=", one))
        return "\n".join([*lines[: at + 1], f"{line.key} = {line.value}", *lines[at + 1 :]]) + "\n"
    entry = f"{quoted(line.key)} = {line.value}"
    head = next((i for i, one in enumerate(lines) if re.match(rf"\s*\[\s*{line.table}\s*\]", one)), None)
    if head is None:
        return "\n".join([*lines, "", f"[{line.table}]", entry]) + "\n"
    return "\n".join([*lines[: head + 1], entry, *lines[head + 1 :]]) + "\n"
