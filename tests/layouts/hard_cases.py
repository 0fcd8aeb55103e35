"""Hand-made hard cases, each named for what is hard: `hard_cases()` gives them all, with their truth."""

from __future__ import annotations

from tests.layouts import hard_forms, hard_grids, hard_held, hard_more, hard_tables, hard_words
from tests.layouts.hard import build_all
from tests.layouts.truth import Case

MODULES = (hard_forms, hard_grids, hard_tables, hard_words, hard_held, hard_more)


def hard_cases() -> list[Case]:
    """Truth status: 'accepted' is read with certainty by a careful analyst; 'held' must not pass; 'either' may be
    held, but read wrongly it may not be; 'absent' is no survey at all."""
    return build_all()
