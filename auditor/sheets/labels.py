"""What one text can mean on a survey sheet: a label, a title, a position, a unit, or none of these."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from auditor.sheets.numbers import NO_VALUE
from auditor.sheets.lengths import parse_length
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
    def is_label(self) -> bool:
        return self.field is not None

    @property
    def known(self) -> bool:
        """True where the text means anything at all as a label, title or heading."""
        return bool(self.field or self.section or self.flip or self.derived or self.position or self.direction
                    or self.pass_number or self.is_unit or self.pairs)  # fmt: skip


NOTHING = Meaning("")
_BRACKETS = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]")
_INLINE = re.compile(r"^([^:=]{1,60}?)\s*[:=]\s*(.*\S)\s*$", re.DOTALL)
_YEAR = re.compile(r"(?<![\d./-])(20\d\d)(?![\d./-]\d)")
_BREAK = re.compile(r"[\n\r;|]+|\s{3,}|\t")
_PASS = re.compile(r"(?P<word>[^\W\d]+(?: no\.?| number| #)?)\s*[-#:]?\s*(?P<number>\d{1,2})(?: (?:of|/) \d{1,2})?")
_ORDINAL = re.compile(r"(?P<number>\d{1,2}|first|second|third|fourth)(?:st|nd|rd|th)?\s+(?P<word>[^\W\d]+)")
_ORDINALS = {"first": 1, "second": 2, "third": 3, "fourth": 4}
_SASH = re.compile(r"sash[^\d]{0,40}?(\d[\d.,/ ½¼¾]*\s*(?:\"|''|inches|inch|ins?\b|mm|cm|m\b|ft\b|feet|')(?:\s*\d+\s*(?:in|\"))?)"
                   r"|(\d[\d.,/ ½¼¾]*\s*(?:\"|''|inches|inch|in|mm|cm|m|ft)\.?)[ -]*(?:sash|opening)")  # fmt: skip


@lru_cache(maxsize=65536)
def analyse(text: str) -> Meaning:
    """All that a text can mean. Long prose means nothing here: notes are looked at elsewhere."""
    folded = fold(text)
    if not folded or len(folded) > 160:
        return Meaning(folded)
    if folded in NO_VALUE:
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
    return vocabulary().fields.match(words_of(_take_unit(label.rstrip(" :."))[0])) is not None


def _of_label(folded: str, text: str, label: str, inline: str | None) -> Meaning:
    v = vocabulary()
    bare, unit, strange = _take_unit(label)
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
    section = v.sections.match(words) or v.sections.match(words_of(_take_unit(_core_of_title(bare))[0]))
    derived = v.derived.match(words) or (
        v.derived.match(words_of(_YEAR.sub(" ", bare))) if _YEAR.search(bare) else None
    )
    flip = _flip(label, unit)
    if section is None and not field and len(words) > 1:
        section = _section_in_title(words)
    position = None if inline else parse_position(bare)
    if field and field[0] == "unit" and inline is None and unit and unit.dimension == "velocity":
        inline, unit = unit.name, None  # 'All velocities measured in ft/min' says it all by itself
    found = {
        "field": field[0] if field else None, "weight": field[1] if field else 0, "inline": inline,
        "section": section[0] if section else None, "flip": flip, "derived": derived[0] if derived else None,
        "position": position, "direction": v.directions.get(" ".join(words)), "unit": unit, "strange_unit": strange,
        "pass_number": _pass_number(bare), "sash": _sash(folded), "year": _year(folded),
        "example": _is_example(folded, bool(field), bool(derived)),
    }  # fmt: skip
    if not field and inline is None:
        found |= _tag_beside_label(folded, text)
    elif inline is not None and not field and section is None and flip is None:
        found["inline"] = inline
    return Meaning(folded, **found)


def _take_unit(label: str) -> tuple[str, Unit | None, str | None]:
    """A label without the unit beside it: 'sash height (in)', 'velocity, fpm', 'sash_mm', 'velocities in ft/min'."""
    unit: Unit | None = None
    strange: str | None = None
    for inner in _BRACKETS.findall(label):
        candidate = inner.strip().removeprefix("in ").strip()
        found = find_unit(candidate)
        if found and unit is None:
            unit = found
        elif found is None and "/" not in candidate and "," in candidate:
            unit = unit or next((u for part in candidate.split(",") if (u := find_unit(part.strip()))), None)
        elif found is None and candidate and len(candidate) <= 12 and not candidate.isdigit():
            strange = candidate
    bare = _BRACKETS.sub(
        lambda m: " " if find_unit(m.group(1).strip().removeprefix("in ")) else f" {m.group(1)} ", label
    )
    bare = bare.strip(" :=-,")
    if unit is None:
        bare, unit = _trailing_unit(bare)
    return bare, unit, None if unit else strange


_TAIL = re.compile(r"^(.*?\S)(?:\s*[,:\-–]\s*|\s+in\s+|_|\s*/\s*|\s+)(\S+(?: ?(?:per|/) ?\S+){0,2})$")


def _trailing_unit(bare: str) -> tuple[str, Unit | None]:
    for split in ([bare.rsplit(",", 1)] if "," in bare else []) + [bare.rsplit(" in ", 1), bare.rsplit(" - ", 1)]:
        if len(split) == 2 and (unit := find_unit(split[1].strip())):
            return split[0].strip(), unit
    parts = re.split(r"[ _]", bare)
    for count in (4, 3, 2, 1):
        if (
            len(parts) > count
            and (unit := find_unit(" ".join(parts[-count:])))
            and _unit_may_trail(parts[-count:], unit)
        ):
            return " ".join(parts[:-count]).rstrip(" ,-"), unit
    return bare, None


def _unit_may_trail(parts: list[str], unit: Unit) -> bool:
    """A single letter or word that is also another word is a unit only where nothing else is likely."""
    return not (
        len(parts) == 1 and parts[0] in {"s", "%", "min", "second", "seconds", "percent", "foot", "'", "mb", "fc"}
    )


def _flip(label: str, unit: Unit | None) -> str | None:
    """The word that turns a title away from this survey's readings. Neither a remark with a number in brackets does so,
    nor the unit."""
    v = vocabulary()
    main = _BRACKETS.sub(
        lambda m: " " if re.search(r"\d", m.group(1)) or find_unit(m.group(1)) else f" {m.group(1)} ", label
    )
    main = _take_unit(main)[0]
    joined = f" {' '.join(words_of(main))} " + ("% " if unit and unit.name == "%" else "")
    found = [name for phrase, name in v.flips.items() if f" {phrase} " in joined]
    if not found:
        return None
    for first in ("percent", "deviation", "previous", "limit"):
        if first in found:
            return first
    return found[0]


_LENGTH = r"\d[\d.,/ ½¼¾'\"]*\s*(?:inches|inch|ins?|mm|cm|m|ft|feet)?(?:\s*\d+\s*(?:in|\"))?\.?"
_SETTING = re.compile(
    r"(?:[-,(]\s*)?(?:with |at )?(?:the )?sash(?: height| opening| set| position| open)?(?: to| of| at| =| -|:)*\s*"
    + _LENGTH + r"(?: open)?\)?|[-,(]?\s*(?:at )?" + _LENGTH + r"[ -]*sash(?: height| opening)?\)?"
)  # fmt: skip


def _core_of_title(bare: str) -> str:
    """A title without the sash setting, the pass and the year that it names beside its subject."""
    core = _SETTING.sub(" ", bare)
    core = _YEAR.sub(" ", core)
    words = core.split()
    axes = vocabulary().axes
    for i, word in enumerate(words[:-1]):
        if axes.get(" ".join(words_of(word))) == "pass" and words[i + 1].strip("#(),.:").isdigit():
            core = " ".join(words[:i] + words[i + 2 :])
            break
    return core.strip(" -,:;()")


def _is_example(folded: str, field: bool, derived: bool) -> bool:
    """A short text that calls what stands with it an example, and says no other thing."""
    if len(folded) > 80 or derived or re.search(r"www\.|https?:|@|\.\w+\.|\w\.example", folded):
        return False
    v = vocabulary()
    words = words_of(folded)
    sure = [w for w in words if w in v.example]
    may = [w for w in words if w in v.example_with]
    core = any(w in ("sample", "template") for w in words)
    return bool(sure) or (not field and core and len(may) == len(words) > 1) or folded in v.example_alone


def _section_in_title(words: list[str]) -> tuple[str, int] | None:
    """A title that holds a section's core words among others: 'Face velocity - east hood', 'Grid 1 face velocities'."""
    joined = " ".join(words)
    if re.search(r"\b(?:cross|x) ?(?:draft|draught)\b|\bcrossdra(?:ft|ught)\b", joined):
        return ("cross", 1)
    if re.search(r"\bface (?:velocity|vel)\b", joined):
        return ("face", 1)
    return None


def _pass_number(bare: str) -> int | None:
    axes = vocabulary().axes
    for pattern in (_PASS, _ORDINAL):
        found = pattern.fullmatch(bare) or pattern.match(bare)
        if found and axes.get(" ".join(words_of(found["word"]))) == "pass":
            number = found["number"]
            return _ORDINALS.get(number) or int(number)
    tail = re.search(r"[-(:,]?\s*\b([^\W\d]+)\s*#?(\d{1,2})\b\)?$", bare)
    if tail and axes.get(" ".join(words_of(tail[1]))) == "pass":
        return int(tail[2])
    return None


def _sash(folded: str) -> str | None:
    found = _SASH.search(folded)
    if not found:
        return None
    text = (found.group(1) or found.group(2)).strip()
    return text if parse_length(text) else None


def _year(folded: str) -> int | None:
    found = _YEAR.findall(folded)
    return int(found[0]) if len(set(found)) == 1 else None


_TAG = re.compile(
    r"^(?:fume |lab |laboratory )?(?:hood|cupboard|fumehood|fume hood)\s*(?:id|no\.?|number|tag|#)?[ #:.-]*(\S*\d\S*)$"
)


def _tag_beside_label(folded: str, text: str) -> dict:
    """'Hood B-214' and 'Sash 18 in' carry their value without a colon."""
    tag = _TAG.match(folded)
    if tag:
        return {"field": "hood", "weight": 2, "inline": text.strip()[-len(tag.group(1)) :]}
    found = re.match(
        r"^(?:working |test |operating )?sash(?: height| opening| setting| position)?(?: at| of)? (.+)$", folded
    )
    if found:
        length = parse_length(found.group(1).strip())
        if length and length.unit:
            return {"field": "sash_height", "weight": 2, "inline": found.group(1).strip()}
    return {}


_PAIR = re.compile(r"([^:]{1,60}):")


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
    return bool(colon) and vocabulary().fields.match(words_of(_take_unit(fold(label))[0])) is not None


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
