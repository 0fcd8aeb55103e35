"""Workbooks as other programs write them, and broken ones: marked, or refused in plain words."""

from __future__ import annotations

import datetime as dt
import io
import re

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.documents.returns import About, CannotMark, Point, marked_copy
from auditor.workbook import read_workbook
from auditor.workbook.own_sheet import NAME
from tests.documents.patching import packed, parts_of
from tests.documents.returns.workbooks import rich_workbook

ABOUT = About("book.xlsx", dt.date(2026, 11, 16))
TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
RELS = "http://schemas.openxmlformats.org/package/2006/relationships"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = {
    OFFICE: "http://purl.oclc.org/ooxml/officeDocument/relationships",
    MAIN: "http://purl.oclc.org/ooxml/spreadsheetml/main",
}


def bare(sheet: str, *, prefix: str = "", extra: str = "") -> bytes:
    """The smallest workbook there can be: no styles, no strings, cells with or without their references."""
    p = f"{prefix}:" if prefix else ""
    ns = f'xmlns{":" + prefix if prefix else ""}="{MAIN}"'
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{TYPES}"><Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" '
        'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override '
        'PartName="/xl/s.xml" '
        'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{RELS}"><Relationship Id="a" Type="{OFFICE}/officeDocument" '
        'Target="/xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<{p}workbook {ns} xmlns:r="{OFFICE}"><{p}sheets><{p}sheet name="It\'s &amp; one" '
        f'sheetId="7" r:id="x"/></{p}sheets>{extra}</{p}workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{RELS}"><Relationship Id="x" Type="{OFFICE}/worksheet" '
        'Target="s.xml"/></Relationships>',
        "xl/s.xml": sheet.replace("<", f"<{p}").replace(f"<{p}/", f"</{p}").replace("NS", ns),
    }  # fmt: skip
    return packed({name: text.encode() for name, text in parts.items()})


SHEET = (
    "<worksheet NS><sheetData><row><c><v>1</v></c><c><v>2</v></c></row>"
    '<row r="5"><c r="B5"><v>3</v></c></row></sheetData></worksheet>'
)
SAY = [
    Point("hold", "T", "M", "R", "It's & one", cell)
    for cell in ("B1", "A3", "B5", "C5", "A5", "D9", "XFD1048576", "B1:C2")
]


@pytest.mark.parametrize("prefix", ["", "x"])
def test_cells_without_references_and_a_workbook_without_styles(prefix) -> None:
    before = bare(SHEET, prefix=prefix)
    after = marked_copy(before, SAY, ABOUT)
    old, new = read_workbook(before, "a.xlsx"), read_workbook(after, "a.xlsx")
    assert [(s.cells, s.name) for s in new.sheets][1:] == [(s.cells, s.name) for s in old.sheets]
    sheet = openpyxl.load_workbook(io.BytesIO(after))["It's & one"]
    assert [sheet[a].value for a in ("A1", "B1", "B5")] == [1, 2, 3]
    for point in SAY[:-1]:
        assert sheet[point.cell].fill.fgColor.rgb == "FFFFC8CF", point.cell
        assert "What would mend it: R" in sheet[point.cell].comment.text
    assert sheet["A1"].fill.fgColor.rgb != "FFFFC8CF"


def test_a_merged_area_is_marked_where_it_shows() -> None:
    merged = SHEET.replace("</worksheet>", '<mergeCells count="1"><mergeCell ref="A5:C6"/></mergeCells></worksheet>')
    merged = merged.replace('<c r="B5"><v>3</v></c>', '<c r="A5"><v>3</v></c>')
    after = marked_copy(bare(merged), [Point("caution", "T", "M", "R", "It's & one", "B6")], ABOUT)
    sheet = openpyxl.load_workbook(io.BytesIO(after))["It's & one"]
    assert sheet["A5"].fill.fgColor.rgb == "FFFFEB9D"
    assert sheet["A5"].comment is not None


def test_the_strict_variant_keeps_its_namespaces() -> None:
    parts = parts_of(bare(SHEET))
    for name in ("xl/workbook.xml", "xl/s.xml", "_rels/.rels", "xl/_rels/workbook.xml.rels"):
        for loose, strict in STRICT.items():
            parts[name] = parts[name].replace(loose.encode(), strict.encode())
    before = packed(parts)
    after = marked_copy(before, SAY[:2], ABOUT)
    old, new = read_workbook(before, "a.xlsx"), read_workbook(after, "a.xlsx")
    assert [s.name for s in new.sheets] == [NAME, "It's & one"]
    assert new.sheets[1].cells == old.sheets[0].cells
    spreadsheet = [n for n in parts_of(after) if n.startswith("xl/") and n.endswith(".xml")]
    assert not any(MAIN.encode() in parts_of(after)[name] for name in spreadsheet)


def test_a_thread_of_the_newer_kind_is_left_as_it_is() -> None:
    """Its text stands in another part; the comment in this one only says so, and must not be changed."""
    parts = parts_of(rich_workbook())
    parts["xl/comments1.xml"] = parts["xl/comments1.xml"].replace(b"<author>K. L.</author>", b"<author>tc={1}</author>")
    old = re.findall(rb"<comment .*?</comment>", parts["xl/comments1.xml"])
    assert old
    after = parts_of(marked_copy(packed(parts), [Point("hold", "T", "M", "R", "Hood 1", "C21")], ABOUT))
    assert re.findall(rb"<comment .*?</comment>", after["xl/comments1.xml"]) == old


def test_text_of_a_sheet_is_inert_in_comments_and_list() -> None:
    said = '=1+1 <b>&amp;</b> "x" \x00\x0b\ud800 ]]> \u202e'
    point = Point("hold", said, said, said, "Hood 1", "C21", said, said)
    after = marked_copy(rich_workbook(), [point], ABOUT)
    book = openpyxl.load_workbook(io.BytesIO(after))
    assert book["Hood 1"]["C21"].comment.text.startswith("=1+1 <b>&amp;</b>")
    assert book[NAME]["F6"].value.startswith("=1+1 <b>&amp;</b>")
    assert book[NAME]["F6"].data_type == "s" or book[NAME]["F6"].data_type == "inlineStr"
    assert book[NAME]["F6"].quotePrefix


PARTS = parts_of(rich_workbook())


@given(st.sampled_from(sorted(PARTS)), st.integers(0, 10_000), st.binary(max_size=6), st.booleans())
@settings(max_examples=120, deadline=None)
def test_a_damaged_part_is_refused_or_marked_never_a_crash(name, place, put, cut) -> None:
    part = PARTS[name]
    at = place % (len(part) + 1)
    broken = packed(PARTS | {name: part[:at] + put + (b"" if cut else part[at + len(put) :])})
    points = [Point("hold", "T", "M", "R", "Hood 1", "C21"), Point("hold", "T", "M", "R", "Hood 2", "B3")]
    try:
        after = marked_copy(broken, points, ABOUT)
    except CannotMark as trouble:
        said = str(trouble)
    else:
        said = NAME if NAME.encode() in parts_of(after)["xl/workbook.xml"] else ""
    assert said
