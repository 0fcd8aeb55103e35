"""The list as a sheet of the workbook's own kind of XML: every text is a string, every place a link."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lxml import etree

from auditor.documents.returns.comments import texts
from auditor.documents.returns.looks import FILLS, Styles
from auditor.documents.returns.model import ALIVE, About, Point, area, clean
from auditor.workbook.cells import a1
from auditor.workbook.own_sheet import TITLE

HEAD = 5  # rows over the first point
_BAND, _INK, _LINK, _WHITE = "FF24506B", "FF1F2933", "FF0B5394", "FFFFFFFF"


@dataclass(frozen=True)
class Line:
    """One row of the list; `place` is where its link goes, '' where there is nothing to go to."""

    cells: tuple[str, ...]
    severity: str
    place: str


def lines_of(points: Sequence[Point], sheets: Sequence[str]) -> list[Line]:
    """The points as rows: what must be settled first, then in the order of the workbook. `sheets`: its sheet names."""
    order = {name: number for number, name in enumerate(sheets)}

    def rank(point: Point) -> tuple:
        return point.severity != "hold", order.get(point.sheet, len(order)), area(point.cell) or (0, 0, 0, 0)

    said, lines = texts(), []
    for number, point in enumerate(sorted(points, key=rank), start=1):
        there = point.cell or (said["whole_sheet"] if point.sheet else said["whole_file"])
        cells = (
            str(number), said[point.severity], point.hood, point.sheet, there, point.written,
            f"{point.title}. {point.message}", point.remedy,
        )  # fmt: skip
        place = _target(point) if point.sheet in order else ""
        lines.append(Line(tuple(clean(text) for text in cells), point.severity, place))
    return lines


def _target(point: Point) -> str:
    """'Sheet 1'!B7, the first cell of a range."""
    name = point.sheet.replace("'", "''")
    spot = area(point.cell)
    return f"'{name}'!{a1(spot[0], spot[1]) if spot else 'A1'}"


def heading(about: About, lines: Sequence[Line], *, marked: bool) -> list[str]:
    """The rows over the list: title, what it is about, how many, what to do."""
    said = texts()
    holds = sum(line.severity == "hold" for line in lines)
    counts = said["counts"].format(hold=holds, caution=len(lines) - holds)
    about_it = f"{said['of']} {clean(about.workbook, 200)}, {said['on']} {about.on.isoformat()}. {counts}"
    return [TITLE, about_it, said["how"] if marked else f"{said['unmarked']}", said["honest"]]


def height(line: Line) -> float:
    """Points that a row needs for its longest text; not every program finds out for itself."""
    widths = texts()["widths"]
    rows = max(
        sum(math.ceil(max(len(piece), 1) / (width * 0.95)) for piece in text.split("\n"))
        for text, width in zip(line.cells, widths, strict=True)
    )
    return min(13.0 * rows + 5, 400.0)


def list_part(about: About, lines: Sequence[Line], styles: Styles, ns: str) -> etree._Element:
    """The sheet's root element. `ns` in braces."""
    said = texts()
    root = etree.Element(f"{ns}worksheet", nsmap={None: ns[1:-1]})
    pages = etree.SubElement(root, f"{ns}sheetPr")
    etree.SubElement(pages, f"{ns}tabColor", rgb=_BAND)
    etree.SubElement(pages, f"{ns}pageSetUpPr", fitToPage="1")
    views = etree.SubElement(root, f"{ns}sheetViews")
    view = etree.SubElement(views, f"{ns}sheetView", showGridLines="0", tabSelected="1", workbookViewId="0")
    etree.SubElement(
        view, f"{ns}pane", ySplit=str(HEAD), topLeftCell=f"A{HEAD + 1}", activePane="bottomLeft", state="frozen"
    )
    columns = etree.SubElement(root, f"{ns}cols")
    for number, width in enumerate(said["widths"], start=1):
        etree.SubElement(columns, f"{ns}col", min=str(number), max=str(number), width=str(width), customWidth="1")
    data = etree.SubElement(root, f"{ns}sheetData")
    tops = heading(about, lines, marked=True)
    looks = [styles.plain(bold=True, size=14, wrap=False)] + [styles.plain()] * 3
    for number, (text, look) in enumerate(zip(tops, looks, strict=True), start=1):
        row = etree.SubElement(data, f"{ns}row", r=str(number), ht="22" if number == 1 else "28", customHeight="1")
        _text(row, ns, number, 1, text, look)
    header = etree.SubElement(data, f"{ns}row", r=str(HEAD))
    for column, name in enumerate(said["columns"], start=1):
        _text(header, ns, HEAD, column, name, styles.plain(bold=True, colour=_WHITE, fill=_BAND))
    for number, line in enumerate(lines, start=HEAD + 1):
        row = etree.SubElement(data, f"{ns}row", r=str(number), ht=f"{height(line):g}", customHeight="1")
        _line(row, ns, number, line, styles)
    _tail(root, ns, lines, len(said["columns"]))
    return root


def _line(row: etree._Element, ns: str, number: int, line: Line, styles: Styles) -> None:
    for column, text in enumerate(line.cells, start=1):
        alive = text.startswith(ALIVE)
        if column == 2:
            look = styles.plain(bold=True, fill=FILLS[line.severity], ruled=True)
        elif column == 5 and line.place:
            look = styles.plain(colour=_LINK, link=True, ruled=True)
        else:
            look = styles.plain(quoted=alive, ruled=True)
        _text(row, ns, number, column, text, look)


def _text(row: etree._Element, ns: str, number: int, column: int, text: str, look: int) -> None:
    cell = etree.SubElement(row, f"{ns}c", r=a1(number, column), s=str(look), t="inlineStr")
    said = etree.SubElement(etree.SubElement(cell, f"{ns}is"), f"{ns}t")
    said.text = text
    said.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")


def _tail(root: etree._Element, ns: str, lines: Sequence[Line], width: int) -> None:
    merged = etree.SubElement(root, f"{ns}mergeCells", count="4")
    for number in range(1, 5):
        etree.SubElement(merged, f"{ns}mergeCell", ref=f"A{number}:{a1(number, width)}")
    linked = [(number, line) for number, line in enumerate(lines, start=HEAD + 1) if line.place]
    if linked:
        links = etree.SubElement(root, f"{ns}hyperlinks")
        for number, line in linked:
            etree.SubElement(links, f"{ns}hyperlink", ref=f"E{number}", location=line.place, display=line.cells[4])
    etree.SubElement(
        root, f"{ns}pageMargins", left="0.4", right="0.4", top="0.5", bottom="0.5", header="0.3", footer="0.3"
    )
    etree.SubElement(root, f"{ns}pageSetup", orientation="landscape", fitToWidth="1", fitToHeight="0")
    ignored = etree.SubElement(root, f"{ns}ignoredErrors")  # numbers that are text on purpose
    etree.SubElement(ignored, f"{ns}ignoredError", sqref=f"A1:{a1(HEAD + len(lines), width)}", numberStoredAsText="1")
