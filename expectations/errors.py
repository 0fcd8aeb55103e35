"""What is worse than a failed check."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd


class CheckNotRun(RuntimeError):
    """A check could not run, so nothing it guards may be relied on: whoever catches this holds all it concerned."""


def need(frame: pd.DataFrame, columns: list[str], what: str) -> None:
    """CheckNotRun where a column is absent: an absent column must not pass for one with nothing wrong."""
    absent = [column for column in columns if column not in frame.columns]
    if absent:
        raise CheckNotRun(f"The table of {what} lacks the columns {', '.join(absent)}.")
