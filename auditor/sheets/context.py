"""What the reader of a sheet may know beforehand, and what the whole workbook tells about each of its sheets."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from auditor.sheets.dates import DateOrder
from auditor.sheets.text import fold

if TYPE_CHECKING:
    from auditor.sheets.cards import Card


def tag_key(text: str) -> str:
    """A hood tag without blanks and punctuation, for finding a known tag in a title. Not for matching identities."""
    return re.sub(r"[\W_]+", "", fold(text))


@dataclass(frozen=True)
class Context:
    """`known_hoods` are the register's hood tags; they only help to recognise a tag where no label names it.
    `cards` are layout cards; each is used only on sheets that bear its mark."""

    known_hoods: frozenset[str] = frozenset()
    cards: tuple[Card, ...] = ()

    @cached_property
    def hood_keys(self) -> dict[str, str]:
        """Key -> tag, without keys that two tags share."""
        found: dict[str, str] = {}
        twice = set()
        for tag in self.known_hoods:
            key = tag_key(tag)
            if key in found:
                twice.add(key)
            found[key] = tag
        return {k: t for k, t in found.items() if k not in twice}

    def hood_in(self, text: str) -> str | None:
        """The one known hood tag that a text names as a word of its own, else None."""
        whole = self.hood_keys.get(tag_key(text))
        if whole:
            return whole
        words = re.findall(r"[\w.-]+", text)
        found = {tag for w in words if (tag := self.hood_keys.get(tag_key(w))) and any(ch.isdigit() for ch in w)}
        return found.pop() if len(found) == 1 else None


@dataclass(frozen=True)
class Environment:
    """What holds for every sheet of one workbook."""

    context: Context
    order: DateOrder
    workbook_unit: tuple[str, str, str] | None = None  # unit, sheet, words: from a note on a cover or notes sheet
    extra: dict = field(default_factory=dict)
