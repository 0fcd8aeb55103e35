"""Which column of a sheet means what: forgiving about spelling, never about meaning."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field

from auditor.register_file.words import columns_by_heading, factor, fold, unit_of, vocabulary
from auditor.workbook import Kind, Sheet, a1

_ROWS = 20  # a title and some notes may stand above the headings


@dataclass(slots=True)
class Headings:
    """`row` is where they stand; `columns` gives for each column's name its place and the factor of its unit."""

    row: int
    columns: dict[str, tuple[int, float]] = field(default_factory=dict)
    unused: list[tuple[str, str]] = field(default_factory=list)  # cell, heading


def find(sheet: Sheet, table: str) -> Headings | None:
    """The first row that has every heading that `table` needs. Raises ValueError where two columns mean the same."""
    needed = set(vocabulary()["needed"][table])
    for row in sorted({row for row, _ in sheet.cells})[:_ROWS]:
        found = _read_row(sheet, row, table)
        if needed <= set(found.columns):
            return found
    return None


def lacking(sheet: Sheet, table: str) -> str:
    """A sentence for a sheet without its headings: what is there, and what comes nearest to what is missing."""
    rows = sorted({row for row, _ in sheet.cells})[:_ROWS]
    best = max((_read_row(sheet, row, table) for row in rows), key=lambda one: len(one.columns), default=Headings(0))
    missing = [name for name in vocabulary()["needed"][table] if name not in best.columns]
    words = {fold(text): text for _, text in best.unused}
    parts = []
    for name in missing:
        wanted = [heading for heading, columns in columns_by_heading(table).items() if name in columns]
        near = next((hit for heading in wanted for hit in difflib.get_close_matches(heading, words, 1, 0.75)), None)
        parts.append(f"{name} (did you mean it by '{words[near]}'?)" if near else name)
    return f"sheet '{sheet.name}' has no heading for {', '.join(parts)}"


def _read_row(sheet: Sheet, row: int, table: str) -> Headings:
    found = Headings(row)
    cells = {column: str(cell.value).strip() for (at, column), cell in sheet.cells.items()
             if at == row and cell.kind == Kind.TEXT}  # fmt: skip
    names = {fold(name): name for name in vocabulary()["headings"][table]}
    exact = {names[fold(text)] for text in cells.values() if fold(text) in names}
    for column, text in cells.items():
        name, scale = _meaning(text, table, set(found.columns))
        if name is None or (name in exact and fold(text) != fold(name)):
            found.unused.append((a1(row, column), text))
            continue
        if name in found.columns:
            both = f"{a1(row, found.columns[name][0])} and {a1(row, column)}"
            raise ValueError(f"sheet '{sheet.name}': {both} are both headings for {name}; remove or rename one")
        found.columns[name] = (column, scale)
    return found


def _meaning(text: str, table: str, taken: set[str]) -> tuple[str | None, float]:
    """Column and factor for a heading; its unit may stand at the end, in brackets or without."""
    folded = fold(text)
    known = columns_by_heading(table)
    names = vocabulary()["headings"][table]
    for name in names:
        if folded == fold(name):
            return name, 1.0
    plain = [name for name in known.get(folded, ()) if name not in taken] or known.get(folded, [])
    if plain:
        return plain[0], 1.0
    words = folded.split()
    for cut in (1, 2):
        base, unit = " ".join(words[:-cut]), " ".join(words[-cut:])
        for name in known.get(base, []):
            own = unit_of(name)
            scale = factor(own, unit) if own else None
            if scale is not None:
                return name, scale
    if "%" in text and "accuracy" in folded and table == "instruments":
        return "accuracy_percent", 1.0
    return None, 1.0
