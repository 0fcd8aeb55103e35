"""One hood's label, drawn into the room that it has."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from auditor.documents import figures
from auditor.documents.pages import BODY, BOLD, MM, draw, width_of, wrapped

if TYPE_CHECKING:
    from auditor.documents.figures import Unit
    from auditor.documents.labels.stock import Stock

_EDGE = 3.5 * MM  # printers do not reach a label's edge
_BEST_HEIGHT, _BEST_WIDTH = 52 * MM, 84 * MM  # inside the edge, for which the sizes below are meant
_SMALLEST = 5.0  # points
_QR_SHARE, _QR_LEAST = 0.42, 15 * MM


@lru_cache(maxsize=1)
def words() -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath("words.toml").read_text(encoding="utf-8"))


def draw_label(
    canvas: Any, corner: tuple[float, float], sheet: Stock, row: dict[Any, Any], unit: Unit, link: str
) -> None:
    """`corner`: lower left, in points. `link`: what the QR code says; '' for none."""
    said = words()["label"]
    wide, high = sheet.width * MM - 2 * _EDGE, sheet.height * MM - 2 * _EDGE
    scale = min(high / _BEST_HEIGHT, wide / _BEST_WIDTH, 1.7)
    x, floor = corner[0] + _EDGE, corner[1] + _EDGE
    square = max(_QR_LEAST, min(_QR_SHARE * high, 30 * MM)) if link else 0.0
    if link:
        _qr(canvas, link, x + wide - square, floor, square)
    lines = [(text, font, max(size * scale, _SMALLEST), gap) for text, font, size, gap in _lines(said, row, unit)]
    caution = max(6 * scale, _SMALLEST)
    warning = wrapped(said["caution"], BODY, caution, wide - square - 2 * MM)
    spare = high - caution * 1.2 * len(warning) - sum(size for _, _, size, _ in lines)
    gap_unit = min(spare / sum(gap for *_, gap in lines), 3 * scale)
    y = floor + high
    for text, font, size, gap in lines:
        y -= size * 0.92
        beside = square + 2 * MM if link and y < floor + square + 1 * MM else 0.0
        draw(canvas, x, y, *_fitting(text, font, size, wide - beside))
        y -= gap * gap_unit + size * 0.08
    for number, line in enumerate(reversed(warning)):
        draw(canvas, x, floor + number * caution * 1.2, line, BODY, caution)


def _lines(said: dict[str, str], row: dict[Any, Any], unit: Unit) -> list[tuple[str, str, float, float]]:
    """Text, typeface, size on the best label, and the gap after it in units of its own."""
    texts = {name: figures.shown(row[name], kind) for name, kind in _KINDS.items()}
    texts |= {"mean": figures.shown(row["face_mean_fpm"], "velocity", unit), "unit": unit.name}
    texts["sash"] = figures.length_in(row["sash_height_in"])
    place = ", ".join(t for t in (texts["building"], _room(texts)) if t != figures.MISSING)
    surveyed = said["surveyed" if texts["by"] != figures.MISSING else "surveyed_by_nobody"]
    return [
        (said["head"], BODY, 7.5, 1),
        (texts["hood_id"], BOLD, 24, 1.2),
        (place, BODY, 8.5, 3),
        (said["mean"].format(**texts), BOLD, 18, 1),
        (said["sash"].format(**texts), BOLD, 9.5, 3),
        (surveyed.format(**texts), BODY, 8, 1),
        (said["passed"].format(**texts), BODY, 8, 1),
        (said["due"].format(**texts), BOLD, 9.5, 2),
    ]


_KINDS = {
    "hood_id": "text", "building": "text", "room": "text", "by": "text", "surveyed_on": "day", "next_due": "day",
    "criteria": "text",
}  # fmt: skip


def _room(texts: dict[str, str]) -> str:
    return texts["room"] if texts["room"] == figures.MISSING else f"room {texts['room']}"


def _fitting(text: str, font: str, size: float, width: float) -> tuple[str, str, float]:
    """The text in a size in which it is no wider than `width`; the smallest size, and cut, where none is."""
    full = width_of(text, font, size)
    if full <= width:
        return text, font, size
    size = max(size * width / full, _SMALLEST)
    if width_of(text, font, size) <= width + 0.01:
        return text, font, size
    return wrapped(text, font, size, width - width_of("…", font, size))[0] + "…", font, size


def _qr(canvas: Any, text: str, x: float, y: float, side: float) -> None:
    """A QR code of 15 % redundancy (level M), black on white, with its quiet zone of four modules inside `side`."""
    from reportlab.graphics import renderPDF
    from reportlab.graphics.barcode.qr import QrCodeWidget
    from reportlab.graphics.shapes import Drawing

    code = QrCodeWidget(text, barLevel="M", barWidth=side, barHeight=side, barBorder=4)
    made = Drawing(side, side)
    made.add(code)
    renderPDF.draw(made, canvas, x, y)
