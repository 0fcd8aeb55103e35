"""Text as cells carry it, folded so that spellings which differ only to the machine compare equal."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_SPACES = re.compile(r"[\s\u00a0\u1680\u180e\u2000-\u200d\u202f\u205f\u2060\u3000\ufeff]+")
_DASHES = re.compile(r"[\u2010-\u2015\u2043\u2212\ufe58\ufe63\uff0d]")
_WORDS = re.compile(r"[^\W_]+|[%#]")
_APOSTROPHES = str.maketrans(
    {
        "\u2019": "'",
        "\u2018": "'",
        "\u02bc": "'",
        "\u201c": '"',
        "\u201d": '"',
        "\u2032": "'",
        "\u2033": '"',
        "\u00b4": "'",
        "`": "'",
    }
)


def plain_digits(text: str) -> str:
    """Decimal digits of any script as 0-9; every other character stays. No compatibility folding, since that would
    turn '18\u00bd' into '181/2'."""
    if text.isascii():
        return text
    return "".join(str(unicodedata.decimal(ch)) if ch.isdecimal() else ch for ch in text)


@lru_cache(maxsize=65536)
def fold(text: str) -> str:
    """Lower case, one plain space for any run of blanks, plain hyphens and quotes, digits 0-9, ends stripped."""
    if not text.isascii():
        text = _DASHES.sub("-", plain_digits(text)).translate(_APOSTROPHES)
        text = unicodedata.normalize("NFC", text)
    return _SPACES.sub(" ", text).strip().casefold()


def is_blank(text: str) -> bool:
    """True where nothing but blanks (of any kind, invisible ones too) stands in the text."""
    return not _SPACES.sub("", text)


def stem(word: str) -> str:
    """A plain English singular: good enough to make 'readings' and 'reading' one word on both sides of a lookup."""
    if len(word) <= 3 or word.endswith(("ss", "us", "is")):
        return word
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith(("shes", "ches", "xes", "sses")):
        return word[:-2]
    return word[:-1] if word.endswith("s") else word


@lru_cache(maxsize=65536)
def words_of(folded: str) -> tuple[str, ...]:
    """The words of a folded text, singular; '%' and '#' are words."""
    return tuple(stem(w) for w in _WORDS.findall(folded.replace("_", " ")))


_CLAUSE = re.compile(
    r",(?!\s*20\d\d\b)|[;()\[\]|]|\.(?=\s+[a-z])(?<!in\.)|\s-+\s|\b(?:and|with)\s(?=(?:the |all )?sash)|:(?=\s*all\b)"
)


def clauses_of(folded: str) -> list[str]:
    """The parts of a folded text between commas, full stops, brackets and dashes, without the marks; a comma before a
    year ends no part."""
    return [c for part in _CLAUSE.split(folded) if (c := part.strip(" .:,-"))]
