"""The vocabulary of register files, read once."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib import resources
from typing import Any


@cache
def vocabulary() -> dict[str, Any]:
    text = resources.files(__package__).joinpath("words.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def fold(text: str) -> str:
    """Small letters and digits, everything else one blank: 'Opening_Width (in.)' is 'opening width in'."""
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))


@cache
def columns_by_heading(table: str) -> dict[str, list[str]]:
    """Which columns of `table` a folded heading may mean, units left out."""
    found: dict[str, list[str]] = {}
    for column, headings in vocabulary()["headings"][table].items():
        for heading in headings:
            found.setdefault(heading, []).append(column)
    return found


def factor(unit_of_column: str, unit: str) -> float | None:
    """What a number in `unit` is multiplied with to be in the column's own unit; None for an unknown unit."""
    entry = vocabulary()["units"][unit_of_column].get(unit)
    return entry[0] / entry[1] if isinstance(entry, list) else entry


def unit_of(column: str) -> str | None:
    """The unit in a column's name; None for a column that is no quantity."""
    ending = column.rsplit("_", 1)[-1]
    return ending if "_" in column and ending in vocabulary()["units"] else None


@cache
def meaning(name: str) -> dict[str, str]:
    """Folded word to its value, for a column with a fixed set of words."""
    return {word: value for value, words in vocabulary()["words"].get(name, {}).items() for word in words}
