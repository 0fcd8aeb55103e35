"""The chances that the signs may spend, from signs.toml, and one way to split a workbook's among its surveys."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import Any

import pandas as pd


@lru_cache(maxsize=1)
def figures() -> dict[str, dict[str, Any]]:
    """The tables of signs.toml."""
    return tomllib.loads(files(__package__).joinpath("signs.toml").read_text(encoding="utf-8"))


def per_survey(workbooks: pd.Series) -> pd.Series:
    """Each survey's part of its workbook's chance: equal parts among the surveys given."""
    return float(figures()["budget"]["per_workbook"]) / workbooks.groupby(workbooks).transform("size")


def in_words(chance: float) -> str:
    """'1 in 20,000', rounded to one digit towards the larger chance; 'less than 1 in a billion' below."""
    if chance < 1e-9:
        return "less than 1 in a billion"
    odds = 1 / chance
    size = 10 ** (len(str(int(odds))) - 1)
    return f"about 1 in {int(odds // size * size):,}"
