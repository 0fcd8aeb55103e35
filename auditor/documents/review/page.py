"""The review as one HTML file that needs nothing else: no script, no address, charts as SVG."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from auditor.documents.review import charts
from auditor.documents.review.model import Chart, Pack, Section, Table

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

_CHART_WIDTH = 640.0
_MOST = 500  # rows of a table
_CLIP = re.compile(r"clip-path: ?url\(#clip\);?")
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


def html(pack: Pack) -> bytes:
    """The review as HTML. Every text is put into the tree as text, so that none of it can be markup."""
    from lxml import etree
    from lxml.html import builder as h

    sections = [_section(section) for section in pack.sections]
    body = h.BODY(
        _tag("header", h.H1(pack.title), h.P(f"As of {pack.day}. Velocities in {pack.unit}.", h.CLASS("sub"))),
        _tag("main", _summary(pack), *sections),
        _tag("footer", h.P(pack.caution)),
    )
    head = h.HEAD(
        h.META(charset="utf-8"),
        h.META({"http-equiv": "Content-Security-Policy", "content": _POLICY}),
        h.META(name="viewport", content="width=device-width, initial-scale=1"),
        h.TITLE(pack.title),
        h.STYLE(_style()),
    )
    page = h.HTML(head, body, lang="en")
    return etree.tostring(page, method="html", encoding="utf-8", doctype="<!DOCTYPE html>", pretty_print=False)


def _tag(name: str, *children: Any, **attributes: str) -> Element:
    from lxml.builder import E

    return E(name, *[child for child in children if child is not None], **attributes)


def _style() -> str:
    from importlib.resources import files

    return files(__package__).joinpath("page.css").read_text(encoding="utf-8")


def _summary(pack: Pack) -> Element:
    figures = [_tag("div", _tag("dt", words), _tag("dd", value)) for value, words in pack.figures]
    standing = [_tag("tr", _tag("th", name, scope="row"), _tag("td", text)) for name, text in pack.standing]
    links = [_tag("li", _tag("a", section.title, href=f"#{section.key}")) for section in pack.sections]
    return _tag(
        "section",
        _tag("dl", *figures),
        _tag("ul", *[_tag("li", text) for text in pack.summary]),
        _tag("p", pack.caution, **{"class": "caution"}),
        _tag("h2", "What this stands on"),
        _tag("table", _tag("tbody", *standing), **{"class": "standing"}),
        _tag("nav", _tag("h2", "Contents"), _tag("ul", *links), **{"aria-label": "Contents"}),
        id="summary",
    )


def _section(section: Section) -> Element:
    return _tag(
        "section",
        _tag("h2", section.title),
        *[_tag("p", text) for text in section.paragraphs],
        *[_figure(chart) for chart in section.charts],
        *[part for table in section.tables for part in _table(table)],
        id=section.key,
    )


def _figure(chart: Chart) -> Element:
    """The drawing; its figures stand in the table after it, which a screen reader has."""
    from lxml import etree
    from reportlab.graphics import renderSVG

    drawn = renderSVG.drawToString(charts.drawing(chart, _CHART_WIDTH))
    svg = etree.fromstring(drawn.encode() if isinstance(drawn, str) else drawn, etree.XMLParser(resolve_entities=False))
    for part in svg.xpath("//*[local-name()='title' or local-name()='desc' or local-name()='clipPath']"):
        part.getparent().remove(part)
    for part in svg.xpath("//*[contains(@style, 'clip-path')]"):  # its name is the same in every drawing
        part.set("style", _CLIP.sub("", part.get("style")))
    svg.set("role", "img")
    svg.set("aria-label", chart.title)
    return _tag("figure", _tag("figcaption", chart.title), svg)


def _table(table: Table) -> list[Element]:
    title = _tag("h3", table.title)
    if not table.rows:
        return [title, _tag("p", table.empty)]
    kinds = [{"class": "right"} if column.right else {} for column in table.columns]
    heads = [_tag("th", c.heading, scope="col", **kind) for c, kind in zip(table.columns, kinds, strict=True)]
    rows = [
        _tag("tr", *[_tag("td", text, **kind) for text, kind in zip(row, kinds, strict=True)])
        for row in table.rows[:_MOST]
    ]
    made = [
        title,
        _tag("div", _tag("table", _tag("thead", _tag("tr", *heads)), _tag("tbody", *rows)), **{"class": "wide"}),
    ]
    if len(table.rows) > _MOST:
        made.append(_tag("p", table.more(_MOST), **{"class": "sub"}))
    return made
