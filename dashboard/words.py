"""How things are said on screen: verdicts in word, shape and colour, figures with their unit, sheet text made inert."""

from __future__ import annotations

import re
from typing import Any

import pandas as pd

from auditor.codes import inert

CAUTION = (
    "This supports, and does not replace, local codes and licensed practice. Face velocity alone does not prove that a "
    "hood contains."
)
# Word -> shape, Streamlit colour, chart colour (distinct for colour-blind readers, and at least 3:1 on light and dark).
LOOKS: dict[str, tuple[str, str, str]] = {
    "pass": ("●", "blue", "#2a8fb0"),
    "restricted": ("▲", "orange", "#c47a00"),
    "fail": ("■", "red", "#c8324f"),
    "not judged": ("○", "gray", "#7d828a"),
    "held": ("◆", "violet", "#8a63b8"),
    "do not use until settled": ("◆", "red", "#c8324f"),
    "do not use": ("■", "red", "#c8324f"),
    "awaiting retest": ("△", "orange", "#c47a00"),
    "overdue": ("◷", "orange", "#c47a00"),
    "never surveyed": ("○", "gray", "#7d828a"),
    "in service": ("●", "blue", "#2a8fb0"),
    "out of service": ("–", "gray", "#7d828a"),
    "superseded": ("–", "gray", "#7d828a"),
    "accepted": ("●", "blue", "#2a8fb0"),
}
CHART_SHAPES = {
    "pass": "circle",
    "restricted": "triangle-up",
    "fail": "square",
    "not judged": "cross",
    "held": "diamond",
}
MISSING = "–"
_PUNCTUATION = re.compile(r"([\\`*_{}\[\]()<>#+\-.!|~$^=:&@\"'/])")
_SHORTCODE = re.compile(r":(?=[\w+\-/]+:)")


def missing(value: Any) -> bool:
    return value is None or value is pd.NaT or value is pd.NA or value != value


def plain(value: Any, length: int = 200) -> str:
    """A value for a place that takes no markup: one line, no control characters, '–' where missing."""
    return MISSING if missing(value) or value == "" else inert(str(value), length)


def safe(value: Any, length: int = 600) -> str:
    """A value for a place that takes Markdown, so that it shows as it stands: every mark escaped, and no icon name of
    the form :name: left whole."""
    text = _SHORTCODE.sub(":\u2060", plain(value, length))
    return _PUNCTUATION.sub(r"\\\1", text)


def shaped(word: Any) -> str:
    """'■ fail': the shape and the word."""
    return f"{LOOKS[word][0]} {word}" if word in LOOKS else plain(word)


def day(value: Any) -> str:
    return MISSING if missing(value) else pd.Timestamp(value).date().isoformat()


def count(number: Any, one: str, many: str = "") -> str:
    value = 0 if missing(number) else int(number)
    return f"{value:,} {one if value == 1 else many or one + 's'}"


def percent(share: Any, digits: int = 0) -> str:
    return MISSING if missing(share) else f"{100 * share:.{digits}f} %"


def interval(low: Any, high: Any) -> str:
    return "" if missing(low) or missing(high) else f"{100 * low:.0f}–{100 * high:.0f} %"


def held_out(held: int, undated: int = 0) -> str:
    """How many held surveys a figure leaves out."""
    if not held and not undated:
        return "No survey is held; nothing is left out."
    said = f"{count(held, 'held survey')} left out of every figure here"
    return f"{said} ({count(undated, 'more')} without a date)." if undated else f"{said}."
