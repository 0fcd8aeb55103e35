"""Where a label says that a reading stands: 'Top', 'CL', 'Row 3', 'B2', 'R1C2', 'Top left', 'P7', '1 (right)'."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from auditor.sheets.text import fold, words_of
from auditor.sheets.units import find_unit
from auditor.sheets.vocabulary import vocabulary


class Position(NamedTuple):
    """Parts that a label gives. `row_rank` and `column_rank` order position words (smaller is nearer the top, the
    left); `row_number`, `column_number` count from 1; `number` is a bare number whose axis the label does not name,
    `letter` a bare letter as 1..26; `point` the number of a point on no named axis."""

    row_rank: float | None = None
    column_rank: float | None = None
    row_number: int | None = None
    column_number: int | None = None
    number: int | None = None
    letter: int | None = None
    point: int | None = None
    line_row: float | None = None  # rank of the whole phrase on one axis, where it could mean that too:
    line_column: float | None = None  # 'middle left' is a column of its own, or the left of the middle row


_AXIS = re.compile(r"^([^\W\d_]+|#)(?: (?:no|number|#))?[ .:#-]*(\d{1,3}|[a-z])$")
_CELL = re.compile(r"^r(?:ow)?[ .:-]?(\d{1,2})[ ,.:/-]*c(?:ol|olumn)?[ .:-]?(\d{1,2})$")
_CELL_CR = re.compile(r"^c(?:ol|olumn)?[ .:-]?(\d{1,2})[ ,.:/-]*r(?:ow)?[ .:-]?(\d{1,2})$")
_LETTER_NUMBER = re.compile(r"^([a-z])[ .-]?(\d{1,2})$")
_NUMBER_LETTER = re.compile(r"^(\d{1,2})[ .-]?([a-z])$")
_BOTH = re.compile(r"^(.+?)\s*[(/,:=-]?\s*\(?(\d{1,2}|[a-z])\)?$")


@lru_cache(maxsize=32768)
def parse_position(text: str) -> Position | None:
    """The position that the whole text names, or None."""
    folded = fold(text).strip(" .:()")
    if not folded or len(folded) > 40:
        return None
    if folded.isdecimal():
        return Position(number=int(folded)) if len(folded) <= 3 and int(folded) > 0 else None
    return _cell(folded) or _axis(folded) or _words(folded) or _numbered_word(folded)


def _cell(folded: str) -> Position | None:
    found = _CELL.match(folded)
    if found:
        return Position(row_number=int(found[1]), column_number=int(found[2]))
    found = _CELL_CR.match(folded)
    if found:
        return Position(row_number=int(found[2]), column_number=int(found[1]))
    return None


def _axis(folded: str) -> Position | None:
    found = _AXIS.match(folded)
    if not found:
        return None
    axis = vocabulary().axes.get(" ".join(words_of(found[1])))
    index = int(found[2]) if found[2].isdecimal() else ord(found[2]) - 96
    if index < 1:
        return None
    lone = len(found[1]) == 1 and found[1].isascii() and found[1].isalpha() and found[2].isdecimal()
    extra = {"letter": ord(found[1]) - 96, "number": index} if lone else {}
    if axis == "row" and (len(found[1]) > 1 or found[2].isdecimal()):
        return Position(row_number=index, **extra)
    if axis == "column" and (len(found[1]) > 1 or found[2].isdecimal()):
        return Position(column_number=index, **extra)
    if axis == "point" and found[2].isdecimal():
        return Position(point=index, **extra)
    return None


_BESIDE_THE_POINT = frozenset(
    {"row", "column", "col", "side", "hand", "edge", "level", "corner", "line", "of", "opening", "the"}
    | {"section", "third", "position"}
)


def _words(folded: str) -> Position | None:
    """Position words on one axis or both. A bare letter is kept as a letter too ('B' is bottom, or the second row); a
    word that may be on either axis ('centre', 'mid') gets both ranks."""
    v = vocabulary()
    words: Sequence[str] = [w for w in words_of(folded) if w not in _BESIDE_THE_POINT]
    if len(words) > 1:
        words = [v.abbreviations.get(w, w) for w in words]
    joined = " ".join(words)
    if not joined:
        return None
    row, column = v.rows.get(joined), v.columns.get(joined)
    if re.search(r"\b(?:row|level)\b", folded):
        column = None if row is not None else column
    elif re.search(r"\b(?:col|column|side)\b", folded) and column is not None:
        row = None
    both = _split_words(words) if len(words) > 1 else _split_letters(joined)
    if both:
        return Position(row_rank=both[0], column_rank=both[1], line_row=row, line_column=column)
    if row is not None or column is not None:
        letter = ord(joined) - 96 if len(joined) == 1 and joined.isascii() and len(folded) == 1 else None
        return Position(row_rank=row, column_rank=column, letter=letter)
    if len(joined) == 1 and joined.isascii() and joined.isalpha():
        return Position(letter=ord(joined) - 96)
    return None


def _split_words(words: Sequence[str]) -> tuple[float, float] | None:
    """(row rank, column rank) of words that name both axes, in either order."""
    v = vocabulary()
    for cut in range(1, len(words)):
        first, second = " ".join(words[:cut]), " ".join(words[cut:])
        if first in v.rows and second in v.columns:
            return v.rows[first], v.columns[second]
        if first in v.columns and second in v.rows:
            return v.rows[second], v.columns[first]
    return None


def _split_letters(joined: str) -> tuple[float, float] | None:
    """(row rank, column rank) of initials: 'TL', 'BCR', 'MLC'."""
    v = vocabulary()
    if not (joined.isalpha() and 2 <= len(joined) <= 4) or find_unit(joined):
        return None
    for cut in range(1, len(joined)):
        first, second = joined[:cut], joined[cut:]
        if len(first) <= 2 and first in v.rows and second in v.columns and len(second) <= 2:
            return v.rows[first], v.columns[second]
    return None


def _numbered_word(folded: str) -> Position | None:
    found = _LETTER_NUMBER.match(folded)
    if found:
        return Position(letter=ord(found[1]) - 96, number=int(found[2]))
    found = _NUMBER_LETTER.match(folded)
    if found:
        return Position(letter=ord(found[2]) - 96, number=int(found[1]))
    found = re.match(r"^(.*\S) ?[ (,:=/-] ?([^\d()]+?)\)?$", folded)
    if found and (axis := _axis(found[1].strip(" (,:=/-"))) is not None and (axis.row_number or axis.column_number):
        word = _words(found[2])
        return axis._replace(row_rank=word.row_rank, column_rank=word.column_rank) if word and not word.letter else None
    found = re.match(r"^(\d{1,2}|[a-z]) ?[(,:=/-]? ?([^\d()]+)\)?$", folded)
    if found:
        return _with_word(found[1], found[2])
    found = re.match(r"^([^\d()]+?) ?[(,:=/-]? ?\(?(\d{1,2}|[a-z])\)?$", folded)
    return _with_word(found[2], found[1]) if found else None


def _with_word(index: str, word: str) -> Position | None:
    """'1 (right)', 'Row A - top', 'Left 1': a number or letter with a position word beside it."""
    base = parse_position(word.strip(" -,(:/="))
    if (
        base is None
        or base.number
        or base.point
        or (base.letter and base.row_rank is None and base.column_rank is None)
    ):
        return None
    if base.letter:
        return None
    if index.isdecimal():
        return base._replace(number=int(index))
    return base._replace(letter=ord(index) - 96)
