"""The words of the trade, from one TOML file per language, compiled once into rules over bags of words.

A rule is a line such as `sash height|opening? test|working*`: its elements are separated by blanks, `a|b` are
alternatives, `?` marks one word that may be absent, `*` words of which any number may stand there. A label matches
when every element that must be there is, and every word of the label is used by an element or is a filler. So 'Height
of the sash at test' matches, and 'Design sash height' does not.
"""

from __future__ import annotations

import difflib
import itertools
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

from auditor.sheets.text import fold, stem, words_of

LANGUAGES = ("en",)


@dataclass(frozen=True, slots=True)
class Rule:
    """One compiled rule: what it names, the elements that must and that may be there (each a set of words), and the
    words of which any number may be."""

    name: str
    needed: tuple[frozenset[str], ...]
    allowed: tuple[frozenset[str], ...]
    free: frozenset[str]


@dataclass(slots=True)
class Rules:
    """Rules of one kind (fields, sections ...), indexed by the words of their first needed element."""

    fillers: frozenset[str]
    by_word: dict[str, list[Rule]] = field(default_factory=dict)
    words: set[str] = field(default_factory=set)

    def add(self, name: str, line: str) -> None:
        needed: list[frozenset[str]] = []
        allowed: list[frozenset[str]] = []
        free: frozenset[str] = frozenset()
        for element in line.split():
            alternatives = frozenset(stem(w) for w in element.rstrip("?*").split("|"))
            self.words |= alternatives
            if element.endswith("*"):
                free |= alternatives
            else:
                (allowed if element.endswith("?") else needed).append(alternatives)
        rule = Rule(name, tuple(needed), tuple(allowed), free)
        for word in needed[0]:
            self.by_word.setdefault(word, []).append(rule)

    def match(self, words: Sequence[str]) -> tuple[str, int] | None:
        """The best rule's name and weight (needed words count double) for all these words, or None.

        None as well where two names match equally well: an unclear label is no label."""
        best: dict[str, int] = {}
        for word in words:
            for rule in self.by_word.get(word, ()):
                weight = self._weight(rule, words)
                if weight > best.get(rule.name, 0):
                    best[rule.name] = weight
        if not best:
            return None
        top = max(best.values())
        names = [name for name, weight in best.items() if weight == top]
        return (names[0], top) if len(names) == 1 else None

    def _weight(self, rule: Rule, words: Sequence[str]) -> int:
        left = list(words)
        for element in rule.needed:
            hit = next((w for w in left if w in element), None)
            if hit is None:
                return 0
            left.remove(hit)
        for element in rule.allowed:
            hit = next((w for w in left if w in element), None)
            if hit is not None:
                left.remove(hit)
        strange = [w for w in left if w not in rule.free]
        if any(w not in self.fillers for w in strange):
            return 0
        return 2 * (len(words) - len(strange)) + len(rule.needed)


@dataclass(slots=True)
class Vocabulary:
    """All words of one or more languages. The tables other than rules map a folded word or phrase to its meaning."""

    fields: Rules
    sections: Rules
    derived: Rules
    flips: dict[str, str]  # a word that turns a title into something else than readings -> the section it makes it
    rows: dict[str, float]  # vertical position words -> rank from the top
    columns: dict[str, float]  # horizontal position words -> rank from the left
    abbreviations: dict[str, str]
    axes: dict[str, str]  # 'row', 'column', 'point', 'pass' words
    directions: dict[str, str]
    modes: dict[str, str]
    occasions: dict[str, str]
    instruments: dict[str, str]
    kinds: dict[str, str]  # values of a 'kind' column: face, cross-draft, ...
    verdicts: frozenset[str]
    example: frozenset[str]  # words that call a thing an example
    example_with: frozenset[str]  # words that do so only together
    example_alone: frozenset[str]  # whole texts that do so
    sheet_kinds: dict[str, str]
    notes: dict[str, list[str]]
    counts: tuple[str, ...]
    answers_begin: tuple[str, ...]
    known: frozenset[str]


@cache
def _tables() -> list[dict]:
    folder = files("auditor.sheets") / "vocabulary"
    return [tomllib.loads((folder / f"{language}.toml").read_text(encoding="utf-8")) for language in LANGUAGES]


@cache
def months() -> dict[str, int]:
    """Folded month names and abbreviations -> 1..12."""
    return {fold(name): i for t in _tables() for i, names in enumerate(t["months"], 1) for name in names}


def _rules(tables: list[dict], section: str) -> Rules:
    rules = Rules(frozenset(stem(w) for t in tables for w in t["fillers"]))
    for table in tables:
        for name, lines in table[section].items():
            for line in lines:
                rules.add(name, line)
    return rules


def _reverse(tables: list[dict], section: str, key=lambda text: " ".join(words_of(fold(text)))) -> dict[str, str]:
    return {key(word): name for t in tables for name, words in t[section].items() for word in words}


@cache
def vocabulary() -> Vocabulary:
    """The compiled vocabulary of all languages."""
    tables = _tables()
    ranks = {
        axis: {" ".join(words_of(fold(w))): float(rank) for t in tables for rank, words in t[axis] for w in words}
        for axis in ("rows", "columns")
    }
    fields, sections, derived = (_rules(tables, name) for name in ("fields", "sections", "derived"))
    notes: dict[str, list[str]] = {}
    for table in tables:
        for name, phrases in table["notes"].items():
            notes.setdefault(name, []).extend(fold(p) for p in phrases)
    return Vocabulary(
        fields=fields,
        sections=sections,
        derived=derived,
        flips=_reverse(tables, "flips"),
        rows=ranks["rows"],
        columns=ranks["columns"],
        abbreviations=_reverse(tables, "abbreviations"),
        axes=_reverse(tables, "axes"),
        directions=_reverse(tables, "directions"),
        modes=_reverse(tables, "operating_modes"),
        occasions=_reverse(tables, "occasions"),
        instruments=_reverse(tables, "instruments"),
        kinds=_reverse(tables, "reading_kinds"),
        verdicts=frozenset(fold(w) for t in tables for w in t["verdicts"]),
        example=frozenset(stem(fold(w)) for t in tables for w in t["example"]),
        example_with=frozenset(stem(fold(w)) for t in tables for w in t["example_with"]),
        example_alone=frozenset(fold(w) for t in tables for w in t["example_alone"]),
        sheet_kinds=_reverse(tables, "sheet_kinds"),
        notes=notes,
        counts=tuple(fold(c) for t in tables for c in t["counts"]),
        answers_begin=tuple(f"{fold(a)} " for t in tables for a in t["answers_begin"]),
        known=frozenset(fields.words | sections.words | derived.words),
    )


def suggest(folded: str) -> str | None:
    """A field whose words differ from this label's by a typing error only ('sahs height'), or None. Never a reading."""
    v = vocabulary()
    raw = re.findall(r"[^\W_]+", folded)
    words = [stem(w) for w in raw]
    choices: list[list[str]] = []
    for whole, word in zip(raw, words, strict=True):
        if word in v.known or word in v.fields.fillers or len(whole) < 4 or whole.isdigit():
            choices.append([word])
        else:
            choices.append(difflib.get_close_matches(whole, v.known, n=3, cutoff=0.74))
    for mended in itertools.islice(itertools.product(*choices), 16):
        found = v.fields.match(list(mended)) if list(mended) != words else None
        if found:
            return found[0]
    return None
