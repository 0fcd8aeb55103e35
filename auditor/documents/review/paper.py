"""The review as a PDF to read: one page of summary, the contents, then section by section."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from auditor.documents.pages import BODY, BOLD, MM, PAPERS, fonts, in_one_font, markup, width_of
from auditor.documents.review import charts
from auditor.documents.review.model import Pack, Section, Table

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

_MARGIN = 18 * MM
_TALL = 900  # characters of a cell that may be taller than a page; only then is a row split
_CELL, _BESIDE = 7.2, 10.0  # size of a cell's text, and the room beside it, in points


def pdf(pack: Pack, paper: str = "a4") -> bytes:
    """The review on `paper` ('a4', 'letter'). The same pack gives the same bytes."""
    from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

    fonts()
    size = PAPERS[paper]
    out = io.BytesIO()

    class Document(BaseDocTemplate):
        def afterFlowable(self, flowable: Flowable) -> None:  # noqa: N802 - reportlab's name
            _outline(self, flowable)

    document = Document(
        out, pagesize=size, leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=_MARGIN, bottomMargin=_MARGIN,
        invariant=1, title=pack.title, author="", subject=f"as of {pack.day}", lang="en",
    )  # fmt: skip
    frame = Frame(_MARGIN, 16 * MM, size[0] - 2 * _MARGIN, size[1] - 31 * MM, 0, 0, 0, 0, id="body")
    document.addPageTemplates(PageTemplate(frames=[frame], onPage=lambda canvas, _: _margins(canvas, pack, size)))
    document.multiBuild(_story(pack, size[0] - 2 * _MARGIN, _styles()))
    return out.getvalue()


def _outline(document: Any, flowable: Any) -> None:
    key = getattr(flowable, "section_key", None)
    if key:
        document.canv.bookmarkPage(key)
        document.canv.addOutlineEntry(flowable.getPlainText(), key, 0, closed=True)
        document.notify("TOCEntry", (0, flowable.getPlainText(), document.page, key))


def _margins(canvas: Any, pack: Pack, size: tuple[float, float]) -> None:
    canvas.saveState()
    canvas.setFillGray(0.35)
    for x, text, put in ((_MARGIN, pack.title, canvas.drawString),
                         (size[0] - _MARGIN, f"page {canvas.getPageNumber()}", canvas.drawRightString)):  # fmt: skip
        canvas.setFont(*(in_one_font(text)[0], 7))
        put(x, 10 * MM, text)
    canvas.setFont(BODY, 6.2)
    canvas.drawString(_MARGIN, 7 * MM, pack.caution)
    canvas.restoreState()


def _styles() -> dict[str, Any]:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle

    ink, soft = HexColor(charts.INK), HexColor("#5a6469")
    base = {"fontName": BODY, "textColor": ink, "allowWidows": 0, "allowOrphans": 0}
    return {
        name: ParagraphStyle(name, **(base | style))
        for name, style in {
            "title": {"fontName": BOLD, "fontSize": 20, "leading": 25, "spaceAfter": 3},
            "sub": {"fontSize": 9, "leading": 12, "textColor": soft, "spaceAfter": 8},
            "h1": {"fontName": BOLD, "fontSize": 14, "leading": 18, "spaceAfter": 5, "spaceBefore": 4},
            "h2": {"fontName": BOLD, "fontSize": 9.5, "leading": 12, "spaceBefore": 9, "spaceAfter": 4},
            "body": {"fontSize": 8.8, "leading": 12.6, "spaceAfter": 5},
            "toc": {"fontSize": 8.8, "leading": 13.5},
            "small": {"fontSize": 7.4, "leading": 10, "textColor": soft, "spaceBefore": 3},
            "cell": {"fontSize": _CELL, "leading": 9.1},
            "right": {"fontSize": _CELL, "leading": 9.1, "alignment": 2},
            "head": {"fontName": BOLD, "fontSize": _CELL, "leading": 9.1},
            "head-right": {"fontName": BOLD, "fontSize": _CELL, "leading": 9.1, "alignment": 2},
            "figure": {"fontName": BOLD, "fontSize": 17, "leading": 21},
            "words": {"fontSize": 7.8, "leading": 10.2, "textColor": soft},
        }.items()
    }  # fmt: skip


def _story(pack: Pack, width: float, style: dict[str, Any]) -> list[Any]:
    from reportlab.platypus import PageBreak, Paragraph, Spacer
    from reportlab.platypus.tableofcontents import TableOfContents

    contents = TableOfContents(levelStyles=[style["toc"]], dotsMinLevel=0)
    story: list[Any] = [
        Paragraph(markup(pack.title, BOLD), style["title"]),
        Paragraph(markup(f"As of {pack.day}. Velocities in {pack.unit}."), style["sub"]),
        _figures(pack, width, style), Spacer(1, 8),
        *[Paragraph("•&nbsp; " + markup(text), style["body"]) for text in pack.summary],
        Paragraph(markup("What this stands on", BOLD), style["h2"]), _standing(pack, width, style),
        Paragraph(markup(pack.caution), style["small"]),
        PageBreak(), Paragraph("Contents", style["h1"]), contents,
    ]  # fmt: skip
    for section in pack.sections:
        story += _section(section, width, style)
    return story


def _figures(pack: Pack, width: float, style: dict[str, Any]) -> Any:
    """The single figures, three in a row."""
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Paragraph
    from reportlab.platypus import Table as Grid

    cells = [[Paragraph(markup(value, BOLD), style["figure"]), Paragraph(markup(text), style["words"])]
             for value, text in pack.figures]  # fmt: skip
    rows = [cells[i : i + 3] + [""] * (3 - len(cells[i : i + 3])) for i in range(0, len(cells), 3)]
    return Grid(
        rows, colWidths=[width / 3] * 3,
        style=[("VALIGN", (0, 0), (-1, -1), "TOP"), ("BOX", (0, 0), (-1, -1), 0.6, HexColor(charts.LINE)),
               ("INNERGRID", (0, 0), (-1, -1), 0.6, HexColor(charts.LINE)), ("TOPPADDING", (0, 0), (-1, -1), 5),
               ("BOTTOMPADDING", (0, 0), (-1, -1), 7)],
    )  # fmt: skip


def _standing(pack: Pack, width: float, style: dict[str, Any]) -> Any:
    from reportlab.platypus import Paragraph
    from reportlab.platypus import Table as Grid

    rows = [[Paragraph(markup(name), style["cell"]), Paragraph(markup(text), style["cell"])]
            for name, text in pack.standing]  # fmt: skip
    padding = [(side, (0, 0), (-1, -1), 1.5) for side in ("TOPPADDING", "BOTTOMPADDING", "LEFTPADDING")]
    return Grid(rows, colWidths=[width * 0.24, width * 0.76], style=[("VALIGN", (0, 0), (-1, -1), "TOP"), *padding])


def _section(section: Section, width: float, style: dict[str, Any]) -> list[Any]:
    from reportlab.platypus import CondPageBreak, KeepTogether, Paragraph, Spacer

    heading = Paragraph(markup(section.title, BOLD), style["h1"])
    heading.section_key = section.key
    opening = [heading, *[Paragraph(markup(text), style["body"]) for text in section.paragraphs]]
    drawn = [[Paragraph(markup(c.title, BOLD), style["h2"]), charts.drawing(c, width)] for c in section.charts]
    first = drawn[0] if drawn else []
    made: list[Any] = [Spacer(1, 10), CondPageBreak(60 * MM), KeepTogether([*opening, *first])]
    made += [KeepTogether(parts) for parts in drawn[1:]]
    for table in section.tables:
        made += _table(table, width, style)
    return made


def _table(table: Table, width: float, style: dict[str, Any]) -> list[Any]:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import CondPageBreak, Paragraph
    from reportlab.platypus import Table as Grid

    title = Paragraph(markup(table.title, BOLD), style["h2"])
    if not table.rows:
        return [title, Paragraph(markup(table.empty), style["body"])]
    heads = [Paragraph(markup(c.heading, BOLD), style["head-right" if c.right else "head"]) for c in table.columns]
    styles = [style["right" if c.right else "cell"] for c in table.columns]
    rows = [
        [Paragraph(markup(text), own) for text, own in zip(row, styles, strict=True)]
        for row in table.rows[: table.most]
    ]
    grid = Grid(
        [heads, *rows], colWidths=_widths(table, width), repeatRows=1,
        splitInRow=int(any(len(text) > _TALL for row in table.rows[: table.most] for text in row)),
        style=[("VALIGN", (0, 0), (-1, -1), "TOP"), ("LINEBELOW", (0, 0), (-1, 0), 0.8, HexColor(charts.INK)),
               ("LINEBELOW", (0, 1), (-1, -1), 0.4, HexColor(charts.LINE)), ("LEFTPADDING", (0, 0), (-1, -1), 2),
               ("RIGHTPADDING", (0, 0), (-1, -1), _BESIDE - 2), ("TOPPADDING", (0, 0), (-1, -1), 2),
               ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5)],
    )  # fmt: skip
    made: list[Any] = [CondPageBreak(35 * MM), title, grid]
    if len(table.rows) > table.most:
        made.append(Paragraph(markup(table.more(table.most)), style["small"]))
    return made


def _widths(table: Table, width: float) -> list[float]:
    """Columns by their share, none so narrow that a word of it (a day, a tag) would be cut, as far as there is room."""
    texts = [
        [(c.heading, BOLD), *((row[i], BODY) for row in table.rows[: table.most])] for i, c in enumerate(table.columns)
    ]
    least = [
        min(max(width_of(word, font, _CELL) for text, font in column for word in text.split() or [""]), width / 5)
        + _BESIDE
        + 1
        for column in texts
    ]
    spare = width - sum(least)
    if spare < 0:
        return [one * width / sum(least) for one in least]
    total = sum(column.share for column in table.columns)
    wanted = [max(width * column.share / total - one, 0.0) for column, one in zip(table.columns, least, strict=True)]
    return [one + spare * more / sum(wanted) for one, more in zip(least, wanted, strict=True)]
