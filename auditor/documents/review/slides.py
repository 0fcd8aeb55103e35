"""The review as slides: native charts, which can be edited, and short tables."""

from __future__ import annotations

import datetime as dt
import io
from typing import TYPE_CHECKING, Any

from auditor.documents.fixed import fixed
from auditor.documents.review.charts import COLOURS, INK
from auditor.documents.review.model import Chart, Pack, Section, Table

if TYPE_CHECKING:
    from pptx.presentation import Presentation

_WIDE, _HIGH = 13.333, 7.5  # inches, 16:9
_LEFT, _TOP, _BODY = 0.6, 1.35, 5.3
_SOFT = "#5a6469"


def slides(pack: Pack) -> bytes:
    """An .pptx: title, summary, then per section one slide for each chart and each short table. The same pack gives the
    same bytes."""
    import pptx
    from pptx.util import Inches

    deck = pptx.Presentation()
    deck.slide_width, deck.slide_height = Inches(_WIDE), Inches(_HIGH)
    deck.core_properties.title, deck.core_properties.author = pack.title, ""
    _summary(deck, pack)
    for section in pack.sections:
        _section(deck, pack, section)
    out = io.BytesIO()
    deck.save(out)
    return fixed(out.getvalue(), dt.date.fromisoformat(pack.day))


def _slide(deck: Presentation, pack: Pack, title: str) -> Any:
    """An empty slide with a title (a real one, for readers by ear) and the caution at its foot."""
    from pptx.util import Inches

    slide = deck.slides.add_slide(deck.slide_layouts[5])  # title only
    shape = slide.shapes.title
    shape.left, shape.top, shape.width, shape.height = (Inches(x) for x in (_LEFT, 0.35, _WIDE - 2 * _LEFT, 0.85))
    _write(shape.text_frame, [title], 23, bold=True)
    _box(slide, [pack.caution], (_LEFT, _HIGH - 0.5, 10.4, 0.35), 9, colour=_SOFT)
    _box(slide, [f"{pack.year}, as of {pack.day}"], (_WIDE - 2.6, _HIGH - 0.5, 2.0, 0.35), 9, colour=_SOFT)
    return slide


def _box(slide: Any, lines: list[str], place: tuple[float, ...], size: float, **look: Any) -> None:
    from pptx.util import Inches

    shape = slide.shapes.add_textbox(*(Inches(x) for x in place))
    _write(shape.text_frame, lines, size, **look)


def _write(frame: Any, lines: list[str], size: float, *, bold: bool = False, colour: str = INK, gap: float = 0) -> None:
    from pptx.enum.text import MSO_ANCHOR, PP_ALIGN
    from pptx.util import Pt

    frame.word_wrap = True
    frame.vertical_anchor = MSO_ANCHOR.TOP
    frame.margin_left = frame.margin_right = frame.margin_top = frame.margin_bottom = 0
    for number, line in enumerate(lines):
        paragraph = frame.paragraphs[0] if number == 0 else frame.add_paragraph()
        paragraph.alignment, paragraph.space_after = PP_ALIGN.LEFT, Pt(gap)
        run = paragraph.add_run()
        run.text = _plain(line)
        _font(run.font, size, bold, colour)


def _plain(text: str) -> str:
    """Text without the characters that XML cannot hold; a tab or a line's end is a blank."""
    return "".join(c if c.isprintable() else " " for c in text)


def _font(font: Any, size: float, bold: bool, colour: str) -> None:
    from pptx.util import Pt

    font.name, font.size, font.bold = "Verdana", Pt(size), bold
    font.color.rgb = _rgb(colour)


def _rgb(colour: str) -> Any:
    from pptx.dml.color import RGBColor

    return RGBColor.from_string(colour.removeprefix("#").upper())


def _summary(deck: Presentation, pack: Pack) -> None:
    slide = _slide(deck, pack, pack.title)
    wide, high = (_WIDE - 2 * _LEFT) / 3, 1.25
    for place, (value, words) in enumerate(pack.figures):
        x, y = _LEFT + wide * (place % 3), _TOP + high * (place // 3)
        _box(slide, [value], (x, y, wide - 0.2, 0.55), 28, bold=True)
        _box(slide, [words], (x, y + 0.55, wide - 0.3, 0.6), 12, colour=_SOFT)
    _box(slide, [f"•  {text}" for text in pack.summary], (_LEFT, _TOP + 2.6, _WIDE - 2 * _LEFT, 2.8), 12.5, gap=4)
    slide = _slide(deck, pack, "What this stands on")
    _box(slide, [f"{name}: {text}" for name, text in pack.standing], (_LEFT, _TOP, _WIDE - 2 * _LEFT, _BODY), 15, gap=9)


def _section(deck: Presentation, pack: Pack, section: Section) -> None:
    notes = list(section.paragraphs)
    tables = [table for table in section.tables if table.most_on_slide]
    for chart in section.charts:
        slide = _slide(deck, pack, chart.title)
        _chart(slide, chart)
        _notes(slide, [section.title, *notes])
    for table in tables if not section.charts else [t for t in tables if not _drawn(section, t)]:
        slide = _slide(deck, pack, f"{section.title}: {table.title}")
        _table(slide, table, notes)
        _notes(slide, notes)
    if not section.charts and not tables:
        slide = _slide(deck, pack, section.title)
        _box(slide, notes, (_LEFT, _TOP, _WIDE - 2 * _LEFT, _BODY), 15, gap=10)


def _drawn(section: Section, table: Table) -> bool:
    """Whether a chart of the section shows the same rows."""
    first = tuple(row[0] for row in table.rows)
    return any(set(chart.categories) <= set(first) and chart.categories for chart in section.charts)


def _notes(slide: Any, lines: list[str]) -> None:
    slide.notes_slide.notes_text_frame.text = "\n".join(_plain(line) for line in lines)


def _chart(slide: Any, chart: Chart) -> None:
    from pptx.chart.data import CategoryChartData
    from pptx.enum.chart import XL_CHART_TYPE, XL_LEGEND_POSITION
    from pptx.util import Inches, Pt

    data = CategoryChartData(number_format="0%" if chart.percent else "0")
    data.categories = [_plain(name) for name in chart.categories]
    for name, values in zip(chart.series, chart.values, strict=True):
        data.add_series(name, values)
    if chart.low:
        data.add_series("95 % low", chart.low)
        data.add_series("95 % high", chart.high)
    kind = XL_CHART_TYPE.LINE_MARKERS if chart.kind == "line" else XL_CHART_TYPE.BAR_STACKED
    place = (Inches(x) for x in (_LEFT, _TOP - 0.1, _WIDE - 2 * _LEFT, _BODY + 0.2))
    drawn = slide.shapes.add_chart(kind, *place, data).chart
    drawn.has_title = False
    drawn.has_legend, drawn.legend.position, drawn.legend.include_in_layout = True, XL_LEGEND_POSITION.TOP, False
    drawn.font.size, drawn.font.name, drawn.font.color.rgb = Pt(12), "Verdana", _rgb(INK)
    _axes(drawn, chart)
    for number, series in enumerate(drawn.plots[0].series):
        _series(series, chart, number)


def _axes(drawn: Any, chart: Chart) -> None:
    from pptx.enum.chart import XL_TICK_LABEL_POSITION
    from pptx.util import Pt

    values, names = drawn.value_axis, drawn.category_axis
    values.major_gridlines.format.line.color.rgb = _rgb("#d5d9d6")
    values.format.line.fill.background()
    values.tick_labels.number_format, values.tick_labels.number_format_is_linked = "0%" if chart.percent else "0", False
    values.has_title = True
    values.axis_title.text_frame.text = chart.axis
    _font(values.axis_title.text_frame.paragraphs[0].runs[0].font, 11, False, _SOFT)
    names.tick_labels.font.size = Pt(12)
    if chart.kind == "line":
        lowest = min([v for v in (*chart.low, *chart.values[0]) if v is not None], default=0.0)
        values.minimum_scale, values.maximum_scale = (0.5 if lowest >= 0.5 else 0.0), 1.0
    else:
        names.reverse_order = True  # the first category on top, as in the table
        values.tick_label_position = XL_TICK_LABEL_POSITION.HIGH  # and the numbers still below
        drawn.plots[0].gap_width, drawn.plots[0].overlap = 45, 100
        values.minimum_scale = 0


def _series(series: Any, chart: Chart, number: int) -> None:
    from pptx.enum.chart import XL_LABEL_POSITION
    from pptx.enum.dml import MSO_LINE
    from pptx.util import Pt

    if chart.kind != "line":
        series.format.fill.solid()
        series.format.fill.fore_color.rgb = _rgb(COLOURS[chart.colours[number]])
        labels = series.data_labels
        labels.show_value, labels.number_format, labels.number_format_is_linked = True, "0;;", False
        _font(labels.font, 11, False, "#ffffff")
        return
    colour = _rgb(COLOURS[chart.colours[0]])
    series.smooth = False
    series.format.line.color.rgb, series.format.line.width = colour, Pt(2.5 if number == 0 else 1)
    if number:
        series.format.line.dash_style = MSO_LINE.DASH
        series.marker.style = None
    else:
        series.data_labels.show_value, series.data_labels.number_format = True, "0%"
        series.data_labels.number_format_is_linked = False
        series.data_labels.position = XL_LABEL_POSITION.ABOVE
        series.marker.format.fill.solid()
        series.marker.format.fill.fore_color.rgb = colour


def _table(slide: Any, table: Table, said: list[str]) -> None:
    from pptx.util import Inches

    if not table.rows:
        _box(slide, [*said, table.empty], (_LEFT, _TOP, _WIDE - 2 * _LEFT, _BODY), 15, gap=10)
        return
    rows = table.rows[: table.most_on_slide]
    wide = _WIDE - 2 * _LEFT
    place = (Inches(x) for x in (_LEFT, _TOP, wide, 0.4 * (len(rows) + 1)))
    shape = slide.shapes.add_table(len(rows) + 1, len(table.columns), *place)
    total = sum(column.share for column in table.columns)
    for number, column in enumerate(table.columns):
        shape.table.columns[number].width = Inches(wide * column.share / total)
        _cell(shape.table.cell(0, number), column.heading, column.right, bold=True)
        for line, row in enumerate(rows, 1):
            _cell(shape.table.cell(line, number), row[number], column.right)
    if len(table.rows) > len(rows):
        _box(slide, [table.more(len(rows))], (_LEFT, _HIGH - 0.85, wide, 0.3), 10, colour=_SOFT)


def _cell(cell: Any, text: str, right: bool, *, bold: bool = False) -> None:
    from pptx.enum.text import PP_ALIGN
    from pptx.util import Inches

    short = text if len(text) <= 150 else text[:149].rstrip() + "…"
    cell.margin_left, cell.margin_right = Inches(0.06), Inches(0.15)
    cell.margin_top = cell.margin_bottom = Inches(0.03)
    cell.fill.solid()
    cell.fill.fore_color.rgb = _rgb("#e9edeb" if bold else "#ffffff")
    paragraph = cell.text_frame.paragraphs[0]
    paragraph.alignment = PP_ALIGN.RIGHT if right else PP_ALIGN.LEFT
    run = paragraph.add_run()
    run.text = _plain(short)
    _font(run.font, 11, bold, INK)
