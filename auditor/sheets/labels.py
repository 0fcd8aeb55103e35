"""What one text can mean on a survey sheet: a label, a title, a position, a unit, or none of these."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from auditor.sheets.label_parts import (
    YEAR,
    core_of_title,
    flip_of,
    is_example,
    pass_number_of,
    sash_of,
    section_in_title,
    take_unit,
    year_of,
)
from auditor.sheets.lengths import parse_length
from auditor.sheets.numbers import NO_VALUE
from auditor.sheets.positions import Position, parse_position
from auditor.sheets.text import fold, words_of
from auditor.sheets.units import Unit, find_unit
from auditor.sheets.vocabulary import vocabulary


@dataclass(frozen=True, slots=True)
class Meaning:
    """Everything that a text alone can be taken for; which of it applies is settled by where the text stands.

    `field` is a name of FIELDS (or 'other', 'smoke', 'opening_size'), `weight` how specific its label was; `inline` the
    value after the label in the same cell. `flip` is what a title is about instead of this survey's readings."""

    folded: str
    field: str | None = None
    weight: int = 0
    inline: str | None = None
    section: str | None = None
    flip: str | None = None
    derived: str | None = None
    position: Position | None = None
    direction: str | None = None
    pass_number: int | None = None
    unit: Unit | None = None  # a unit written beside the label
    strange_unit: str | None = None  # something in brackets that stands where a unit would
    is_unit: bool = False  # the whole text is a unit
    sash: str | None = None  # a sash setting named in a title ('Sash at 18 in')
    year: int | None = None
    example: bool = False
    pairs: tuple[tuple[str, str], ...] = ()  # several 'label: value' in one cell, as (label, value)

    @property
    def known(self) -> bool:
        """True where the text means anything at all as a label, title or heading."""
        return bool(
            self.field
            or self.section
            or self.flip
            or self.derived
            or self.position
            or self.direction
            or self.pass_number
            or self.is_unit
            or self.pairs
        )


NOTHING = Meaning("")
_INLINE = re.compile(r"^([^:=]{1,60}?)\s*[:=]\s*(.*\S)\s*$", re.DOTALL)
_BREAK = re.compile(r"[\n\r;|]+|\s{3,}|\t")


@lru_cache(maxsize=65536)
def analyse(text: str) -> Meaning:
    """All that a text can mean. Long prose means nothing here: notes are looked at elsewhere."""
    folded = fold(text)
    if not folded or len(folded) > 160:
        return Meaning(folded)
    if folded in NO_VALUE or (f"{folded} ".startswith(vocabulary().answers_begin) and ":" not in folded):
        return Meaning(folded)
    whole = find_unit(folded)
    if whole is not None:
        position = parse_position(folded) if len(folded) == 1 else None
        return Meaning(folded, unit=whole, is_unit=True, position=position)
    pairs = _pairs(text)
    if len(pairs) > 1:
        return Meaning(folded, pairs=pairs)
    label, inline = _split_inline(folded, text)
    return _of_label(folded, text, label, inline)


_LEADER = re.compile(r"(?:\.{3,}|\u2026|_{2,}|(?:\. ){3,})")
_DASHED = re.compile(
    r"^(.{2,60}?)\s*(?:\s[-\u2013\u2014]+\s|\.{3,}|\u2026|_{2,}|->|\u2192)\s*([^\s.\u2026_].*)$", re.DOTALL
)
_UNFILLED = re.compile(r"[\s._\u2026-]*$")


def _split_inline(folded: str, text: str) -> tuple[str, str | None]:
    """A label and the value after it in the same cell: behind a colon, a dash, dots, or an arrow."""
    body = text.strip()
    found = _INLINE.match(body)
    if found and fold(found.group(1)):
        if _UNFILLED.match(found.group(2)):
            return fold(found.group(1)).rstrip(" .-_\u2026"), ""
        return fold(found.group(1)).rstrip(" .-_\u2026"), found.group(2).strip()
    dashed = None if folded.endswith((":", "=", "?")) or _names_a_field(folded) else _DASHED.match(body)
    if dashed and _names_a_field(fold(dashed.group(1))):
        return fold(dashed.group(1)), dashed.group(2).strip()
    bare = _LEADER.sub(" ", folded).rstrip(" :=?*-_.")
    if folded.endswith("__"):
        return bare or folded, ""
    return bare or folded, None


def _names_a_field(label: str) -> bool:
    return vocabulary().fields.match(words_of(take_unit(label.rstrip(" :."))[0])) is not None


def _of_label(folded: str, text: str, label: str, inline: str | None) -> Meaning:
    v = vocabulary()
    label = _without_view(label)
    bare, unit, strange = take_unit(label)
    if unit is None or unit.dimension == "length":
        unit = take_unit(core_of_title(label))[1] or unit  # 'Velocity grid, fpm - sash at 18 in'
    words = words_of(bare)
    if not words:
        return Meaning(folded, unit=unit, strange_unit=strange)
    field = v.fields.match(words)
    whole = v.fields.match(words_of(label)) if unit else None
    if whole and whole[0] == "unit":
        field, unit = whole, None  # 'Readings in' asks for a unit, it is not in inches
    if inline and not field and (unit_word := find_unit(inline)) and unit_word.dimension == "velocity":
        governs = {" ".join(words_of(w)) for w in v.notes["governs_velocity"]}
        field = ("unit", 2) if set(words) & governs else None
    if field and folded.startswith(v.counts):
        field = ("other", field[1])
    section = v.sections.match(words) or v.sections.match(words_of(take_unit(core_of_title(bare))[0]))
    derived = v.derived.match(words) or (v.derived.match(words_of(YEAR.sub(" ", bare))) if YEAR.search(bare) else None)
    flip = flip_of(label, unit)
    if section is None and not field and len(words) > 1:
        section = section_in_title(words)
    position = None if inline else parse_position(bare)
    if position is None and not field and not inline and not derived:
        headed = _point_of_section(words)
        section, position = (headed[0], headed[1]) if headed else (section, None)
    if field and field[0] == "unit" and inline is None and unit and unit.dimension != "length":
        inline, unit = unit.name, None  # 'All velocities measured in ft/min' says it all by itself
    weight = field[1] if field else 0
    name = field[0] if field else None
    if not field and inline is None:
        name, weight, inline = _tag_beside_label(folded, text)
    return Meaning(
        folded,
        field=name,
        weight=weight,
        inline=inline,
        section=section[0] if section else None,
        flip=flip,
        derived=derived[0] if derived else None,
        position=position,
        direction=v.directions.get(" ".join(words)),
        pass_number=pass_number_of(bare),
        unit=unit,
        strange_unit=strange,
        sash=sash_of(folded),
        year=year_of(folded),
        example=is_example(folded, bool(field), bool(derived)),
    )


def _without_view(label: str) -> str:
    """A title without the remark on where its reader stands: 'Readings in fpm, looking at the hood'."""
    for view in vocabulary().notes["views"]:
        for mark in (", ", " - ", " (", "; "):
            if label.endswith((mark + view, mark + view + ")")):
                return label[: label.rindex(mark + view)]
    return label


def _point_of_section(words: Sequence[str]) -> tuple[tuple[str, int], Position] | None:
    """'Face R1C1', 'Cross-draft left': the section that a column belongs to, and the place within it."""
    v = vocabulary()
    for cut in range(len(words) - 1, 0, -1):
        section = v.sections.match(words[:cut]) or (("face", 1) if list(words[:cut]) == ["face"] else None)
        position = parse_position(" ".join(words[cut:])) if section and section[0] in ("face", "cross") else None
        if section and position and (position.point or position.column_number or _rank_words(words[cut:])):
            return section, position
    return None


def _rank_words(words: Sequence[str]) -> bool:
    """'top left', 'centre': words of place and nothing else, so that no title is taken for a point."""
    return len(words) <= 3 and all(word.isalpha() and parse_position(word) is not None for word in words)


_TAG = re.compile(
    r"^(?:fume |lab |laboratory )?(?:hood|cupboard|fumehood|fume hood)\s*(?:id|no\.?|number|tag|#)?[ #:.-]*(\S*\d\S*)$"
)


def _tag_beside_label(folded: str, text: str) -> tuple[str | None, int, str | None]:
    """(field, weight, value) of 'Hood B-214' and 'Sash 18 in', which carry their value without a colon."""
    tag = _TAG.match(folded)
    if tag:
        return "hood", 2, text.strip()[-len(tag.group(1)) :]
    found = _SASH_AT.match(folded)
    if found:
        length = parse_length(found.group(1).strip())
        if length and length.unit:
            return "sash_height", 2, found.group(1).strip()
    return None, 0, None


_SASH_AT = re.compile(r"^(?:working |test |operating )?sash(?: height| opening| setting| position)?(?: at| of)? (.+)$")


def _pairs(text: str) -> tuple[tuple[str, str], ...]:
    """Several 'label: value' in one cell, as (label, value); empty where the text is not all of that kind."""
    if text.count(":") + text.count("=") < 2:
        return ()
    pieces = [p.strip() for p in _BREAK.split(text) if p.strip()]
    if len(pieces) > 1 and all(_is_pair(p) for p in pieces):
        return tuple(_as_pair(p) for p in pieces)
    if len(pieces) == 1:
        pieces = [p.strip() for p in re.split(r",\s+|\s+-\s+|\s{2,}", text)]
        if len(pieces) > 1 and all(_is_pair(p) for p in pieces):
            return tuple(_as_pair(p) for p in pieces)
    return _run_on_pairs(text)


def _as_pair(piece: str) -> tuple[str, str]:
    label, _, value = piece.partition(":")
    return label.strip(), "" if _UNFILLED.match(value) else value.strip()


def _is_pair(piece: str) -> bool:
    label, colon, _ = piece.partition(":")
    return bool(colon) and vocabulary().fields.match(words_of(take_unit(fold(label))[0])) is not None


def _run_on_pairs(text: str) -> tuple[tuple[str, str], ...]:
    """'Hood: B-214 Date: 12 May 2026': each value ends where the longest known label before the next colon starts."""
    parts = re.split(r":(?!\d\d\b)", " ".join(text.split()))
    if len(parts) < 3:
        return ()
    pairs, label = [], parts[0].strip()
    for part in parts[1:-1]:
        words = part.split()
        cut = next((i for i in range(1, len(words)) if _is_pair(" ".join(words[i:]) + ":")), None)
        if cut is None:
            return ()
        pairs.append((label, " ".join(words[:cut])))
        label = " ".join(words[cut:])
    pairs.append((label, parts[-1].strip()))
    pairs = [(name, "" if _UNFILLED.match(value) else value) for name, value in pairs]
    return tuple(pairs) if all(_is_pair(name + ":") for name, _ in pairs) else ()
