"""The notice on a hood that must not be used, or only in part: one a page, to be read from three metres."""

from __future__ import annotations

import datetime as dt
from typing import Any

from auditor.documents import figures
from auditor.documents.labels.label import words
from auditor.documents.pages import BODY, BOLD, MM, draw, width_of, wrapped

# A letter is read with ease where it is 20 minutes of arc high, and by normal eyes down to 5 (ISO 9241-303 and the
# usual eye chart, from memory [M]). At 3 m that is 17.5 mm and 4.4 mm.
READ_WITH_EASE_MM, JUST_READ_MM = 17.5, 4.4
CAPITAL = 0.729  # height of a capital of the typeface, as a share of its size
LARGEST, SMALLEST = 34.0, 19.0  # of the reason, in points; capitals of 8.7 and 4.9 mm
_LOOK = {"do not use": ("#b3122f", "#ffffff"), "restricted": ("#ffb000", "#111111")}


def draw_notice(canvas: Any, page: tuple[float, float], row: dict[Any, Any], day: dt.date, call: str) -> None:
    """`page`: width and height in points. `row`: NOTICE of `auditor.answers.labelling`. `call`: whom to call."""
    said, every = words()["notice"][row["notice"]], words()["notice"]["all"]
    wide, high = page
    edge = 15 * MM
    band = 46 * MM
    _headline(canvas, said["headline"], row["notice"], page, band)
    room = wide - 2 * edge
    y = high - 10 * MM - band
    hood = said["hood"].format(hood_id=figures.shown(row["hood_id"], "text"))
    size = _to_fit(hood, BOLD, room, 25 * MM / CAPITAL)
    y -= size * CAPITAL + 9 * MM
    draw(canvas, edge, y, hood, BOLD, size)
    place = [figures.shown(row["building"], "text"), figures.shown(row["room"], "text")]
    named = ", ".join([place[0], f"room {place[1]}"] if place[1] != figures.MISSING else place[:1])
    line = f"{said['since'].format(since=figures.shown(row['since'], 'day'))}   {named}"
    size = _to_fit(line, BODY, room, 24)
    y -= size * CAPITAL + 8 * MM
    draw(canvas, edge, y, line, BODY, size)
    bottom = _foot(canvas, page, edge, said, every, row, day, call)
    _reason(canvas, edge, y - 7 * MM, y - 7 * MM - bottom, room, figures.shown(row["reason"], "long"))


def _headline(canvas: Any, text: str, notice: str, page: tuple[float, float], band: float) -> None:
    ground, ink = _LOOK[notice]
    wide, high = page
    canvas.setFillColor(ground)
    canvas.rect(10 * MM, high - 10 * MM - band, wide - 20 * MM, band, stroke=0, fill=1)
    canvas.setFillColor(ink)
    size = _to_fit(text, BOLD, wide - 34 * MM, 33 * MM / CAPITAL)
    y = high - 10 * MM - band / 2 - size * CAPITAL / 2
    draw(canvas, (wide - width_of(text, BOLD, size)) / 2, y, text, BOLD, size)
    canvas.setFillColor("#111111")


def _to_fit(text: str, font: str, width: float, size: float) -> float:
    full = width_of(text, font, size)
    return size if full <= width else size * width / full


def _reason(canvas: Any, x: float, top: float, high: float, width: float, text: str) -> None:
    """As large as there is room for; cut with '…' where even the smallest size has none."""
    size = LARGEST
    while size > SMALLEST and len(wrapped(text, BOLD, size, width)) * size * 1.25 > high:
        size -= 1
    lines = wrapped(text, BOLD, size, width)
    most = max(int(high / (size * 1.25)), 1)
    if len(lines) > most:
        lines = [*lines[: most - 1], lines[most - 1].rstrip(" ;,") + " …"]
    for number, line in enumerate(lines, 1):
        draw(canvas, x, top - number * size * 1.25 + size * 0.35, line, BOLD, size)


def _foot(
    canvas: Any, page: tuple[float, float], edge: float, said: dict, every: dict, row: dict, day: dt.date, call: str
) -> float:
    """Whom to call, and small print; the height at which it begins."""
    order = "" if figures.missing(row["work_order"]) else f"Work order {figures.shown(row['work_order'], 'text')}. "
    draw(canvas, edge, 10 * MM, f"{every['caution']}", BODY, 7)
    draw(canvas, edge, 14.5 * MM, f"{order}{said['rule']} Printed {day.isoformat()}.", BODY, 9)
    whom = said["call"].format(call=figures.shown(call, "text") if call.strip() else every["nobody"])
    size = _to_fit(whom, BOLD, page[0] - 2 * edge, 28)
    draw(canvas, edge, 22 * MM, whom, BOLD, size)
    return 22 * MM + size * 1.1
