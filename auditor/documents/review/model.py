"""What a review is made of, whatever it is printed on: sections of sentences, charts and tables, all as text and
numbers that are ready to be shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd


@dataclass(frozen=True)
class Column:
    heading: str
    share: float  # of the table's width, relative to its other columns
    right: bool  # numbers stand to the right


@dataclass(frozen=True)
class Table:
    """`rows`: texts. `most`: how many rows paper shows; the rest is in sheet `sheet` of the workbook."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    most: int
    most_on_slide: int
    sheet: str
    empty: str

    def more(self, shown: int) -> str:
        """Where the rows beyond the first `shown` are."""
        left = len(self.rows) - shown
        return (
            f"{left:,} more {'row is' if left == 1 else 'rows are'} in sheet '{self.sheet}' of the review's workbook."
        )


@dataclass(frozen=True)
class Chart:
    """`kind`: 'stacked' (bars), 'bars' or 'line'. `values`: one list per series, None where there is none; with
    `percent` they are fractions. `low`, `high`: ends of the interval round the first series."""

    kind: str
    title: str
    categories: tuple[str, ...]
    series: tuple[str, ...]
    values: tuple[tuple[float | None, ...], ...]
    colours: tuple[str, ...]
    axis: str
    percent: bool = False
    low: tuple[float | None, ...] = ()
    high: tuple[float | None, ...] = ()


@dataclass(frozen=True)
class Section:
    key: str
    title: str
    paragraphs: tuple[str, ...]
    charts: tuple[Chart, ...] = ()
    tables: tuple[Table, ...] = ()


@dataclass(frozen=True)
class Pack:
    """`standing`: what all of it stands on, as (name, text). `figures`: the summary's single figures as (value, words).
    `frames`: the tables behind everything, by the name of their sheet, velocities in ft/min and, where another unit was
    asked for, beside it."""

    title: str
    year: int
    day: str
    unit: str
    caution: str
    standing: tuple[tuple[str, str], ...]
    figures: tuple[tuple[str, str], ...]
    summary: tuple[str, ...]
    sections: tuple[Section, ...]
    frames: Mapping[str, pd.DataFrame] = field(default_factory=dict)
