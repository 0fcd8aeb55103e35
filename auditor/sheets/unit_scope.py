"""Notes that declare the unit of what stands around them, for a form, a sheet or a whole workbook."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache

from auditor.sheets.labels import analyse
from auditor.sheets.model import Problem
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.text import clauses_of, fold, words_of
from auditor.sheets.units import find_unit
from auditor.sheets.vocabulary import vocabulary
from auditor.workbook.cells import a1


@dataclass(slots=True)
class Declared:
    """A unit and where it is declared; `unit` None where a unit is named that is not known (`problem` says so)."""

    unit: str | None
    spot: Spot | None
    written: str
    problems: list[Problem] = field(default_factory=list)


_TOKENS = re.compile(r"\S+")


def velocity_units_in(text: str) -> list[str]:
    """The velocity units named in a text, in order, each as a canonical name; not those behind a number ('80 fpm')."""
    written = _TOKENS.findall(fold(text))
    tokens = [t.strip("().,;:[]") for t in written]
    found: list[str] = []
    i = 0
    while i < len(tokens):
        for width in (4, 3, 2, 1):
            unit = find_unit(" ".join(tokens[i : i + width])) if i + width <= len(tokens) else None
            if unit and unit.dimension == "velocity":
                of_number = i and re.fullmatch(r"[\d.,<>=~-]*\d", tokens[i - 1])
                if not of_number or re.fullmatch(r"20\d\d,", written[i - 1]):  # 'Results 2026, m/s'
                    found.append(unit.name)
                i += width - 1
                break
        i += 1
    return found


@lru_cache(maxsize=16384)
def governing_note(text: str) -> tuple[str, ...]:
    """The velocity units that a note declares for what stands around it ('All velocities in ft/min'), else ()."""
    meaning = analyse(text)
    if meaning.field not in (None, "observations") or meaning.flip or meaning.section not in (None, "face"):
        return ()
    body = text if meaning.field is None else (meaning.inline or "")
    units = velocity_units_in(body) if body else []
    governs = {" ".join(words_of(w)) for w in vocabulary().notes["governs_velocity"]}
    return tuple(units) if units and set(words_of(fold(body))) & governs else ()


@lru_cache(maxsize=16384)
def _in_clauses(text: str) -> tuple[str, ...]:
    """The units that a clause of a title declares: 'Annual test, sash heights in inches, velocities in ft/min'."""
    clauses = clauses_of(fold(text))
    if len(clauses) < 2 or analyse(text).flip:
        return ()
    return tuple(dict.fromkeys(u for c in clauses if _CLAUSE_IN.match(c) for u in governing_note(c)))


_CLAUSE_IN = re.compile(r"(?:all )?(?:face |air )*(?:velocit\w+|readings|speeds)(?: are| measured| given)* in\b")


_NOTE = re.compile(
    r"\b(?:all|are|is|note|measured|given|expressed|recorded)\b|^(?:air )?(?:velocit|reading|value)\w* in\b"
)


def is_note(text: str) -> bool:
    """True for a text that speaks of all readings ('All velocities in m/s'), even where it stands over a grid: it is no
    grid's own heading, and another note that differs contradicts it."""
    return bool(_NOTE.search(fold(text)))


def notes_in(
    scene: Scene, region: Region | None, skip: set[Spot] | frozenset[Spot] = frozenset()
) -> list[tuple[Spot, list[str]]]:
    """All governing notes of a region, or of the whole sheet."""
    if "notes" not in scene.memo:
        scene.memo["notes"] = _all_notes(scene)
    return [(s, units) for s, units in scene.memo["notes"] if s not in skip and (region is None or region.holds(*s))]


def _all_notes(scene: Scene) -> list[tuple[Spot, list[str]]]:
    found = []
    for spot, meaning in scene.meanings.items():
        if spot in scene.numbers or meaning.is_unit or meaning.position or len(meaning.folded) < 6:
            continue
        units = governing_note(scene.text(spot)) or _in_clauses(scene.text(spot))
        if units:
            found.append((spot, list(units)))
    return found


def from_notes(scene: Scene, notes: list[tuple[Spot, list[str]]]) -> Declared | None:
    """The unit that notes declare; two that differ are a contradiction."""
    units = {u for _, found in notes for u in found}
    if not units:
        return None
    spot = notes[0][0]
    if len(units) == 1:
        return Declared(units.pop(), spot, scene.text(spot))
    cells = ", ".join(a1(*s) for s, _ in notes)
    detail = f"two units are declared for the same readings: {' and '.join(sorted(units))} (in {cells})"
    return Declared(
        None, spot, scene.text(spot), [Problem("unit-mismatch", a1(*spot), "unit", scene.text(spot), detail)]
    )
