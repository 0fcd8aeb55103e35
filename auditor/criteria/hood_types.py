"""What kind of device a hood is, by the words of its type, and whether a face velocity judges it."""

from __future__ import annotations

import re
import tomllib
from functools import cache, lru_cache
from importlib import resources
from typing import NamedTuple

import numpy as np
import pandas as pd

from auditor.survey.frames import texts

_VARIABLE = re.compile(r"\bvav\b|variable[- ]?(?:air[- ]?)?volume", re.IGNORECASE)


class HoodType(NamedTuple):
    """`routed`: why a face velocity does not judge it, '' where it does."""

    name: str
    routed: str = ""
    variable_volume: bool = False


@cache
def _types() -> tuple[tuple[str, re.Pattern[str], str], ...]:
    data = tomllib.loads((resources.files("auditor.criteria") / "hood_types.toml").read_text(encoding="utf-8"))
    return tuple((t["name"], re.compile(t["words"], re.IGNORECASE), t.get("routed", "")) for t in data["type"])


def type_names() -> tuple[str, ...]:
    """The names of the kinds, 'fume hood' (an ordinary one) among them."""
    return ("fume hood", *(name for name, _, _ in _types()))


@lru_cache(maxsize=4096)
def hood_type(words: str | None) -> HoodType:
    """The kind of device that the words of a type name; an ordinary fume hood where they name no other."""
    text = words or ""
    variable = bool(_VARIABLE.search(text))
    for name, pattern, routed in _types():
        if pattern.search(text):
            return HoodType(name, routed, variable)
    return HoodType("fume hood", "", variable)


def hood_types(surveys: pd.DataFrame) -> list[HoodType]:
    """Of each survey: by the register's type, else by the sheet's."""
    register, sheet = texts(surveys, "register_hood_type"), texts(surveys, "hood_type")
    return [
        hood_type(str(r) if r is not None else None if s is None else str(s))
        for r, s in zip(register, sheet, strict=True)
    ]


def is_setback(surveys: pd.DataFrame) -> np.ndarray:
    """Whether the survey was made in a reduced mode, by the words of its operating mode."""
    modes = texts(surveys, "operating_mode")
    return np.array([m is not None and _setback(str(m)) for m in modes], dtype=bool)


@lru_cache(maxsize=4096)
def _setback(mode: str) -> bool:
    denied = re.compile(r"\b(?:no|not|without|out of|non)[- ]+(?:in )?(?:set|un|night|reduc)", re.IGNORECASE)
    if denied.search(mode):
        return False
    return bool(re.search(r"set[- ]?back|unattended|un-?occupied|night|reduced|standby|hibernat", mode, re.IGNORECASE))
