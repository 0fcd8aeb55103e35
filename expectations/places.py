"""Whether two names of a place mean the same: forgiving in spelling, never in substance."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

from expectations.limits import PLACE_WORDS_DROPPED, PLACE_WORDS_SAME

if TYPE_CHECKING:
    import pandas as pd

_WORD = re.compile(r"[^\W_]+")


@lru_cache(maxsize=16384)
def _words(text: str) -> tuple[str, ...]:
    """The words that tell a place: without case, signs, 'Bldg' and the like; '2.0' and '2nd' are '2'."""
    text = re.sub(r"(?<=\d)\.0+\b", "", text.casefold())
    ordinal = re.sub(r"\b(\d+)(?:st|nd|rd|th)\b", r"\1", text)
    words = [PLACE_WORDS_SAME.get(word, word) for word in _WORD.findall(ordinal)]
    told = [word for word in words if word not in PLACE_WORDS_DROPPED]
    return tuple(told or words)


def _bare(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(word.lstrip("0") or "0" for word in words)


def _same(sheet: str, register: str, building: str) -> bool:
    ours, theirs = _words(register), _words(sheet)
    if _bare(ours) == _bare(theirs) or "".join(ours) == "".join(theirs):
        return True
    # 'Alder 204' for room 204 of the Alder Building says nothing else.
    house = set(_words(building)) - set(ours)
    return _bare(tuple(word for word in theirs if word not in house)) == _bare(ours)


def same_place(sheet: pd.Series, register: pd.Series, building: pd.Series) -> pd.Series:
    """False where sheet and register both name the place and mean another one; all as text, missing allowed."""
    import pandas as pd

    both = sheet.notna() & register.notna()
    agrees = pd.Series(True, index=sheet.index, dtype=bool)
    if both.any():
        house = building.astype(object).where(building.notna(), "")
        rows = zip(sheet[both], register[both], house[both], strict=True)
        agrees[both] = [_same(str(a), str(b), str(c)) for a, b, c in rows]
    return agrees
