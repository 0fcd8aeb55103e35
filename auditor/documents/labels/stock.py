"""Sheets of labels by their dimensions, and where on them each label lies."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from auditor.documents.pages import MM, PAPERS

DEFAULTS = {"a4": "a4-99x68", "letter": "letter-4x3.33in"}


@dataclass(frozen=True)
class Stock:
    """A sheet of `columns` by `rows` labels; lengths in mm, from the paper's left and top edge."""

    paper: str
    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    gap_across: float
    gap_down: float

    def places(self, skip: int = 0) -> Iterator[tuple[bool, float, float]]:
        """For each label, row by row and sheet by sheet without end: whether a new sheet begins, and the label's left
        and lower edge in points from the paper's lower left corner. `skip`: labels already used on the first sheet."""
        each = self.columns * self.rows
        place = skip % each
        first = True
        while True:
            row, column = divmod(place, self.columns)
            x = self.left + column * (self.width + self.gap_across)
            y = self.top + row * (self.height + self.gap_down) + self.height
            yield place == 0 and not first, x * MM, PAPERS[self.paper][1] - y * MM
            first = False
            place = (place + 1) % each


@lru_cache(maxsize=1)
def stocks() -> dict[str, Stock]:
    """The sheets of stock.toml by name."""
    read = tomllib.loads(files(__package__).joinpath("stock.toml").read_text(encoding="utf-8"))
    return {name: Stock(**one) for name, one in read.items()}
