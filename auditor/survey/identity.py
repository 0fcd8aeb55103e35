"""Which hood of the register a survey means, by rules that cannot take one hood for another.

Each rule turns a tag into a key. It is used only for keys that one hood of the register has and no other, and numbers
that stand apart are never run together, so that 'B-2-14' and 'B-21-4' stay two hoods.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Callable, Mapping
from functools import lru_cache

import numpy as np
import pandas as pd

from auditor.survey.columns import REGISTER
from auditor.survey.frames import days, texts

_RUNS = re.compile(r"[^\W\d_]+|\d+|[^\w\s\-‐-―_#.:/()]")
_WORDS = {  # words before a tag that are no part of it, and the kind of device they speak of
    "hood": "hood", "tag": "", "no": "", "nr": "", "number": "", "id": "", "unit": "", "asset": "",
    "fume": "hood", "fumehood": "hood", "fh": "hood", "lfh": "hood", "cfh": "hood", "cupboard": "hood",
    "bsc": "cabinet", "biosafety": "cabinet", "cabinet": "cabinet",
}  # fmt: skip
_CABINET = re.compile(r"cabinet|bsc|biosafety|clean bench", re.IGNORECASE)
PREFIX = "register_"


@lru_cache(maxsize=65536)
def _case(tag: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", tag).casefold().split())


@lru_cache(maxsize=65536)
def _runs(tag: str) -> tuple[str, ...]:
    """Runs of letters (those that only marks part are joined) and of digits (never joined): 'D-A 01' is da, 01."""
    joined: list[str] = []
    for run in _RUNS.findall(_case(tag)):
        if joined and run.isalpha() and joined[-1].isalpha():
            joined[-1] += run
        else:
            joined.append(run)
    return tuple(joined)


def _zeros(tag: str) -> tuple[str, ...]:
    return tuple(r.lstrip("0") or "0" if r.isdigit() else r for r in _runs(tag))


@lru_cache(maxsize=65536)
def _bare(tag: str) -> tuple[tuple[str, ...], str]:
    """The tag's key without the words before it, and the device they name ('' where they name none)."""
    words = [w for w in re.split(r"[\s\-_#.:/]+|(?<=[^\W\d_])(?=\d)", _case(tag)) if w]
    device = ""
    while len(words) > 1 and words[0] in _WORDS:
        device = _WORDS[words[0]] or device
        words = words[1:]
    return _zeros("-".join(words)), device


def match_hoods(
    surveys: pd.DataFrame, register: pd.DataFrame, known_aliases: Mapping[str, str] | None = None
) -> pd.DataFrame:
    """The surveys with hood_id (the register's spelling, missing where no rule is certain), hood_match ('exact',
    'alias', 'case', 'marks', 'zeros', 'prefix'), hood_suggestion (the nearest tag, for people: never used), and the
    `register_*` columns of the hood as they stood on the day of the survey (today's row where the day is missing, the
    first row for a day before it). `register` has the contract's columns, and valid_from, valid_to (exclusive; NaT:
    open) where dated."""
    tags = [str(t) for t in register["hood_id"].dropna().unique()]
    devices = _devices(register)
    aliases = {_case(k): v for k, v in (known_aliases or {}).items() if v in set(tags)}
    rules = _rules(tags)
    found: dict[str, tuple[str | None, str | None, str | None]] = {}
    written = texts(surveys, "hood")
    nearest = _Nearest(tags)
    for text in {str(w) for w in written if w is not None and str(w).strip()}:
        hood, rule = _match(text, rules, aliases, devices)
        found[text] = (hood, rule, None if hood else nearest(text))
    blank = (None, None, None)
    rows = [found.get(str(w), blank) if w is not None else blank for w in written]
    out = surveys.assign(
        hood_id=pd.Series([r[0] for r in rows], index=surveys.index, dtype=object),
        hood_match=pd.Series([r[1] for r in rows], index=surveys.index, dtype=object),
        hood_suggestion=pd.Series([r[2] for r in rows], index=surveys.index, dtype=object),
    )
    return register_columns(out, register)


_Rules = list[tuple[str, Callable, dict]]


def _rules(tags: list[str]) -> _Rules:
    rules: list[tuple[str, Callable]] = [
        ("exact", str.strip),
        ("case", _case),
        ("marks", _runs),
        ("zeros", _zeros),
        ("prefix", lambda tag: _bare(tag)[0]),
    ]
    return [(name, key, _unique({tag: key(tag) for tag in tags})) for name, key in rules]


def _unique(keys: dict) -> dict:
    """key -> tag, of the keys that one tag alone has."""
    out: dict = {}
    twice = set()
    for tag, key in keys.items():
        if key in out:
            twice.add(key)
        out[key] = tag
    return {key: tag for key, tag in out.items() if key not in twice and key}


def _devices(register: pd.DataFrame) -> dict[str, str]:
    """For each tag the kind of device it is: by its own prefix, else by the register's hood type."""
    kinds = texts(register, "hood_type")
    out = {}
    for tag, kind in zip(register["hood_id"].astype(str), kinds, strict=True):
        out[tag] = _bare(tag)[1] or ("cabinet" if kind is not None and _CABINET.search(str(kind)) else "hood")
    return out


def _match(
    text: str, rules: _Rules, aliases: Mapping[str, str], devices: Mapping[str, str]
) -> tuple[str | None, str | None]:
    for name, key, known in rules:
        hood = known.get(key(text))
        if hood is not None and (name != "prefix" or _bare(text)[1] in ("", devices[hood])):
            return hood, name
        if name == "exact" and _case(text) in aliases:
            return aliases[_case(text)], "alias"
    return None, None


class _Nearest:
    """The tag most like a text, or None. Tags are first ranked by the letters they share, so that a long register costs
    little; the answer depends on the text and the register alone."""

    def __init__(self, tags: list[str], shortlist: int = 24, cutoff: float = 0.72):
        self.tags = sorted(tags)
        self.shortlist, self.cutoff = shortlist, cutoff
        self.bags = np.array([self._bag(t) for t in self.tags]) if tags else np.zeros((0, 128))

    @staticmethod
    def _bag(text: str) -> np.ndarray:
        return np.bincount([ord(c) % 128 for c in _case(text)] or [0], minlength=128).astype(np.int16)

    def __call__(self, text: str) -> str | None:
        if not self.tags or len(text) > 80:
            return None
        distance = np.abs(self.bags - self._bag(text)).sum(axis=1)
        near = [self.tags[i] for i in np.argsort(distance, kind="stable")[: self.shortlist]]
        scores = [(difflib.SequenceMatcher(None, _case(text), _case(t), autojunk=False).ratio(), t) for t in near]
        best = max(scores, key=lambda s: s[0])
        return best[1] if best[0] >= self.cutoff else None


def register_columns(surveys: pd.DataFrame, register: pd.DataFrame) -> pd.DataFrame:
    """The register's columns of each survey's hood as they stood on its day, prefixed `register_`."""
    columns = [c for c in REGISTER if c != "hood_id"]
    row = _row_on_the_day(surveys, register)
    known = register.reset_index(drop=True).reindex(columns=columns)
    at_the_time = known.reindex(row).set_axis(surveys.index).add_prefix(PREFIX)
    return pd.concat([surveys.drop(columns=[c for c in at_the_time if c in surveys]), at_the_time], axis=1)


def _row_on_the_day(surveys: pd.DataFrame, register: pd.DataFrame) -> np.ndarray:
    """Position in the register of the row that holds for each survey, -1 where its hood is not known."""
    tags = pd.Index(register["hood_id"].astype(object).unique())
    start = days(register, "valid_from")
    start = np.where(np.isnat(start), np.datetime64("0001-01-01", "s"), start).astype("int64")
    of = tags.get_indexer(pd.Index(register["hood_id"].astype(object)))
    order = np.lexsort((start, of))
    hood = tags.get_indexer(pd.Index(texts(surveys, "hood_id")))
    day = days(surveys, "surveyed_on")
    when = np.where(np.isnat(day), np.datetime64("9999-12-31", "s"), day).astype("int64")
    span = np.int64(2) ** 41  # seconds; longer than any two dates lie apart, so that one sort orders hood and day
    keys = of[order] * span + start[order] + span // 4
    place = np.searchsorted(keys, hood * span + when + span // 4, side="right") - 1
    first = np.searchsorted(of[order], hood, side="left")
    return (
        np.where(hood >= 0, order[np.clip(np.maximum(place, first), 0, max(len(order) - 1, 0))], -1)
        if len(order)
        else np.full(len(surveys), -1)
    )
