"""Parts of a label or title: the unit beside it, the pass, the year, the sash setting, the word that turns it away."""

from __future__ import annotations

import re
from collections.abc import Sequence

from auditor.sheets.lengths import parse_length
from auditor.sheets.text import words_of
from auditor.sheets.units import Unit, find_unit
from auditor.sheets.vocabulary import vocabulary

_BRACKETS = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]")


YEAR = re.compile(r"(?<![\d./-])(20\d\d)(?![\d./-]\d)")


_PASS = re.compile(r"(?P<word>[^\W\d]+(?: no\.?| number| #)?)\s*[-#:]?\s*(?P<number>\d{1,2})(?: (?:of|/) \d{1,2})?")


_ORDINAL = re.compile(r"(?P<number>\d{1,2}|first|second|third|fourth)(?:st|nd|rd|th)?\s+(?P<word>[^\W\d]+)")


_ORDINALS = {"first": 1, "second": 2, "third": 3, "fourth": 4}


_SASH = re.compile(
    r"sash[^\d]{0,40}?(\d[\d.,/ ½¼¾]*\s*(?:\"|''|inches|inch|ins?\b|mm|cm|m\b|ft\b|feet|')(?:\s*\d+\s*(?:in|\"))?)"
    r"|(\d[\d.,/ ½¼¾]*\s*(?:\"|''|inches|inch|in|mm|cm|m|ft)\.?)[ -]*(?:sash|opening)"
)


def take_unit(label: str) -> tuple[str, Unit | None, str | None]:
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
        elif found is None and candidate and len(candidate) <= 12 and not candidate.isdecimal():
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


def flip_of(label: str, unit: Unit | None) -> str | None:
    """The word that turns a title away from this survey's readings. Neither a remark with a number in brackets does so,
    nor the unit."""
    v = vocabulary()
    main = _BRACKETS.sub(
        lambda m: " " if re.search(r"\d", m.group(1)) or find_unit(m.group(1)) else f" {m.group(1)} ", label
    )
    main = take_unit(core_of_title(main) or main)[0]
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
    + _LENGTH
    + r"(?: open)?\)?|[-,(]?\s*(?:at )?"
    + _LENGTH
    + r"[ -]*sash(?: height| opening)?\)?"
)


def core_of_title(bare: str) -> str:
    """A title without the sash setting, the pass and the year that it names beside its subject."""
    core = _SETTING.sub(" ", bare)
    core = YEAR.sub(" ", core)
    words = core.split()
    axes = vocabulary().axes
    for i, word in enumerate(words[:-1]):
        if axes.get(" ".join(words_of(word))) == "pass" and words[i + 1].strip("#(),.:").isdecimal():
            core = " ".join(words[:i] + words[i + 2 :])
            break
    return core.strip(" -,:;()")


def is_example(folded: str, field: bool, derived: bool) -> bool:
    """A short text that calls what stands with it an example, and says no other thing."""
    if len(folded) > 80 or derived or re.search(r"www\.|https?:|@|\.\w+\.|\w\.example", folded):
        return False
    v = vocabulary()
    words = words_of(folded)
    sure = [w for w in words if w in v.example]
    may = [w for w in words if w in v.example_with]
    core = any(w in ("sample", "template") for w in words)
    return bool(sure) or (not field and core and len(may) == len(words) > 1) or folded in v.example_alone


def section_in_title(words: Sequence[str]) -> tuple[str, int] | None:
    """A title that holds a section's core words among others: 'Face velocity - east hood', 'Grid 1 face velocities'."""
    joined = " ".join(words)
    if re.search(r"\b(?:cross|x) ?(?:draft|draught)\b|\bcrossdra(?:ft|ught)\b", joined):
        return ("cross", 1)
    if re.search(r"\bface (?:velocity|vel)\b", joined):
        return ("face", 1)
    return None


def pass_number_of(bare: str) -> int | None:
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


def sash_of(folded: str) -> str | None:
    found = _SASH.search(folded)
    if not found:
        return None
    text = (found.group(1) or found.group(2)).strip()
    return text if parse_length(text) else None


def year_of(folded: str) -> int | None:
    found = YEAR.findall(folded)
    return int(found[0]) if len(set(found)) == 1 else None
