"""The review's charts as drawings, the same for paper (PDF) and screen (SVG)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from auditor.documents.pages import BODY, in_one_font, width_of
from auditor.documents.review.model import Chart

if TYPE_CHECKING:
    from reportlab.graphics.shapes import Drawing

# Distinct for colour-blind readers; every part also carries its number or stands in the order of the legend.
COLOURS = {"pass": "#2a8fb0", "restricted": "#c47a00", "fail": "#c8324f", "held": "#8a63b8", "none": "#9aa0a6"}
INK, LINE = "#2b3236", "#d5d9d6"
SIZE, ROW, BAR = 8.0, 17.0, 11.0
LABEL_SHARE = 0.4


def drawing(chart: Chart, width: float) -> Drawing:
    """The chart, `width` points wide."""
    return _line(chart, width) if chart.kind == "line" else _bars(chart, width)


def _bars(chart: Chart, width: float) -> Drawing:
    """Lying bars, one row per category, its series one after the other."""
    from reportlab.graphics.shapes import Drawing, Rect

    height = ROW * len(chart.categories) + 40
    made = Drawing(width, height)
    left = min(width * LABEL_SHARE, max([width_of(c, BODY, SIZE) for c in chart.categories] or [0]) + 8)
    totals = [sum(v[i] or 0 for v in chart.values) for i in range(len(chart.categories))]
    scale = (width - left - 30) / max([*totals, 1])
    _legend(made, chart, left, height - 10)
    for i, name in enumerate(chart.categories):
        y = height - 40 - ROW * i
        _text(made, left - 6, y + 2.5, _short(name, left - 6), anchor="end")
        x = left
        for values, colour in zip(chart.values, chart.colours, strict=True):
            size = (values[i] or 0) * scale
            if size <= 0:
                continue
            made.add(Rect(x, y, size, BAR, fillColor=_colour(COLOURS[colour]), strokeColor=None))
            said = f"{values[i]:,.0f}"
            if size > width_of(said, BODY, SIZE - 1) + 3:
                _text(made, x + size / 2, y + 3, said, anchor="middle", colour="#ffffff", size=SIZE - 1)
            x += size
        _text(made, x + 4, y + 2.5, f"{totals[i]:,.0f}")
    _text(made, left, 4, chart.axis, size=SIZE - 1)
    return made


def _line(chart: Chart, width: float) -> Drawing:
    """One point per category, with its interval; a share of 0 to 100 % on the upright axis."""
    from reportlab.graphics.shapes import Circle, Drawing, Line

    height, left, bottom = 150.0, 40.0, 30.0
    made = Drawing(width, height)
    top = height - 14
    floor = 0.0 if min([v for v in (*chart.low, *chart.values[0]) if v is not None], default=0.0) < 0.5 else 0.5

    def at(share: float) -> float:
        return bottom + (top - bottom) * (share - floor) / (1 - floor)

    for share in (x / 10 for x in range(round(floor * 10), 11, 1 if floor else 2)):
        made.add(Line(left, at(share), width - 8, at(share), strokeColor=_colour(LINE), strokeWidth=0.5))
        _text(made, left - 5, at(share) - 2.5, f"{100 * share:.0f} %", anchor="end", size=SIZE - 1)
    step = (width - left - 20) / max(len(chart.categories), 1)
    ink = _colour(COLOURS[chart.colours[0]])
    before: tuple[float, float] | None = None
    for i, name in enumerate(chart.categories):
        x, value = left + step * (i + 0.5), chart.values[0][i]
        _text(made, x, bottom - 12, _short(name, step), anchor="middle")
        if value is None:
            _text(made, x, bottom + 4, "none judged", anchor="middle", size=SIZE - 1)
            before = None  # no line over a gap
            continue
        low, high = (ends[i] if ends else None for ends in (chart.low, chart.high))
        if low is not None and high is not None:
            made.add(Line(x, at(low), x, at(high), strokeColor=ink, strokeWidth=1))
        if before:
            made.add(Line(*before, x, at(value), strokeColor=ink, strokeWidth=1.2))
        made.add(Circle(x, at(value), 3, fillColor=ink, strokeColor=None))
        _text(made, x, at(max(value, high or value)) + 4, f"{100 * value:.0f} %", anchor="middle")
        before = (x, at(value))
    _text(made, left, 3, chart.axis, size=SIZE - 1)
    return made


def _legend(made: Drawing, chart: Chart, x: float, y: float) -> None:
    from reportlab.graphics.shapes import Rect

    for name, colour in zip(chart.series, chart.colours, strict=True):
        made.add(Rect(x, y - 1, 8, 8, fillColor=_colour(COLOURS[colour]), strokeColor=None))
        _text(made, x + 11, y, name)
        x += 11 + width_of(name, BODY, SIZE) + 14


def _text(
    made: Drawing, x: float, y: float, text: str, *, anchor: str = "start", colour: str = INK, size: float = SIZE
) -> None:
    from reportlab.graphics.shapes import String

    font, said = in_one_font(text)
    made.add(String(x, y, said, textAnchor=anchor, fontName=font, fontSize=size, fillColor=_colour(colour)))


def _short(text: str, width: float) -> str:
    if width_of(text, BODY, SIZE) <= width:
        return text
    while text and width_of(text + "…", BODY, SIZE) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def _colour(code: str):
    from reportlab.lib.colors import HexColor

    return HexColor(code)
