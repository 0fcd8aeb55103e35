"""How the sheets of an Office Open XML package are found (ECMA-376 part 2), and what is said of what is not there."""

from __future__ import annotations

import io

import pytest
import xlsxwriter

from auditor.workbook import Limits, Unreadable, read_workbook
from tests.workbook.builders import MAIN, REL, STRICT, STRICT_REL, archive, relationships, worksheet, xlsx, xlsx_parts

ONE = worksheet('<row r="1"><c r="A1"><v>1</v></c></row>')
TWO = worksheet('<row r="1"><c r="A1"><v>2</v></c></row>')


def refusal(data: bytes, name: str = "x.xlsx", limits: Limits | None = None) -> Unreadable:
    with pytest.raises(Unreadable) as caught:
        read_workbook(data, name, limits)
    return caught.value


def test_sheets_come_in_the_order_of_the_workbook_with_their_names() -> None:
    parts = xlsx_parts(ONE, TWO)
    parts["xl/workbook.xml"] = (
        f'<workbook xmlns="{MAIN}" xmlns:r="{REL}"><sheets><sheet name="Second &amp; last" sheetId="2" r:id="rId2"/>'
        '<sheet name="First" sheetId="1" r:id="rId1"/></sheets></workbook>'
    )
    book = read_workbook(archive(parts), "x.xlsx")
    assert [(s.name, s.index, s.cells[1, 1].value) for s in book.sheets] == [("Second & last", 0, 2), ("First", 1, 1)]
    assert (book.format, book.name, book.notes) == ("xlsx", "x.xlsx", [])


@pytest.mark.parametrize("state", ["hidden", "veryHidden"])
def test_hidden_sheets(state: str) -> None:
    parts = xlsx_parts(ONE, TWO)
    parts["xl/workbook.xml"] = str(parts["xl/workbook.xml"]).replace('name="S2"', f'name="S2" state="{state}"')
    assert [s.hidden for s in read_workbook(archive(parts), "x").sheets] == [False, True]


@pytest.mark.parametrize(
    "target", ["worksheets/sheet1.xml", "/xl/worksheets/sheet1.xml", "./worksheets/../worksheets/sheet1.xml",
               "worksheets\\sheet1.xml", "Worksheets/Sheet1.XML", "worksheets/sheet%31.xml"],
)  # fmt: skip
def test_targets_absolute_relative_and_in_odd_case(target: str) -> None:
    parts = xlsx_parts(ONE)
    parts["xl/_rels/workbook.xml.rels"] = relationships(("rId1", "worksheet", target))
    assert read_workbook(archive(parts), "x").sheets[0].cells[1, 1].value == 1


def test_part_names_in_odd_case_and_another_main_part() -> None:
    parts = xlsx_parts(ONE)
    odd = {
        "[CONTENT_TYPES].XML": parts["[Content_Types].xml"],
        "_RELS/.rels": relationships(("rId1", "officeDocument", "/Book/Main.xml")),
        "book/MAIN.xml": parts["xl/workbook.xml"],
        "Book/_rels/main.XML.rels": relationships(("rId1", "worksheet", "../Leaf.xml")),
        "LEAF.xml": ONE,
    }
    assert read_workbook(archive(odd), "x").sheets[0].cells[1, 1].value == 1


@pytest.mark.parametrize("missing", ["xl/worksheets/sheet2.xml", "xl/_rels/workbook.xml.rels", "xl/workbook.xml"])
def test_a_missing_part_makes_the_file_unreadable_and_never_drops_a_sheet(missing: str) -> None:
    parts = xlsx_parts(ONE, TWO)
    del parts[missing]
    found = refusal(archive(parts))
    assert found.code == "file-unreadable"
    assert "missing" in found.detail or "office document of another kind" in found.detail


def test_the_missing_sheet_is_named() -> None:
    parts = xlsx_parts(ONE, TWO)
    del parts["xl/worksheets/sheet2.xml"]
    assert "sheet 'S2'" in refusal(archive(parts)).detail


@pytest.mark.parametrize("missing", ["xl/sharedStrings.xml", "xl/styles.xml"])
def test_a_missing_table_of_texts_or_styles(missing: str) -> None:
    parts = xlsx_parts(ONE, strings="<si><t>a</t></si>", styles="<cellXfs><xf/></cellXfs>")
    del parts[missing]
    assert "missing" in refusal(archive(parts)).detail


def test_no_sheets_listed() -> None:
    assert "lists no sheets" in refusal(xlsx()).detail


def test_the_strict_variant_is_read() -> None:
    sheet = worksheet(
        '<row r="1" hidden="1"><c r="A1" s="1"><v>46086</v></c><c r="B1" t="s"><v>0</v></c></row>',
        '<mergeCells><mergeCell ref="B1:C1"/></mergeCells>', ns=STRICT,
    )  # fmt: skip
    styles = '<cellXfs><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs>'
    data = xlsx(sheet, strings="<si><t>Hood</t></si>", styles=styles, ns=STRICT, rel=STRICT_REL)
    found = read_workbook(data, "strict.xlsx").sheets[0]
    assert str(found.cells[1, 1].value) == "2026-03-05 00:00:00"
    assert found.cells[1, 2].value == "Hood"
    assert (found.hidden_rows, found.merged) == ({1}, [(1, 2, 1, 3)])


def test_chart_sheets_have_no_grid() -> None:
    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer)
    book.add_worksheet("Data").write(0, 0, 5)
    sheet, chart = book.add_chartsheet("Picture"), book.add_chart({"type": "line"})
    chart.add_series({"values": "=Data!$A$1:$A$1"})
    sheet.set_chart(chart)
    book.close()
    read = read_workbook(buffer.getvalue(), "x.xlsx")
    assert [(s.name, s.grid, len(s.cells)) for s in read.sheets] == [("Data", True, 1), ("Picture", False, 0)]
    assert "Picture" in read.notes[0]


def test_a_sheet_of_an_unknown_kind_is_not_passed_over() -> None:
    parts = xlsx_parts(ONE)
    parts["xl/_rels/workbook.xml.rels"] = relationships(("rId1", "somethingNew", "worksheets/sheet1.xml"))
    assert "somethingNew" in refusal(archive(parts)).detail


def test_macros_are_noted_and_not_run() -> None:
    book = read_workbook(archive(xlsx_parts(ONE) | {"xl/vbaProject.bin": b"\0" * 100}), "x.xlsm")
    assert book.format == "xlsm"
    assert any("macros" in note for note in book.notes)


def test_links_to_other_files_are_noted_and_not_followed() -> None:
    parts = xlsx_parts(ONE)
    parts["xl/_rels/workbook.xml.rels"] = relationships(
        ("rId1", "worksheet", "worksheets/sheet1.xml"), ("rId9", "externalLink", "externalLinks/link1.xml")
    )
    assert any("other files" in note for note in read_workbook(archive(parts), "x.xlsx").notes)


def test_the_format_is_told_by_content_not_by_name() -> None:
    assert read_workbook(xlsx(ONE), "survey.xls").format == "xlsx"
    assert read_workbook(xlsx(ONE), "survey.csv").format == "xlsx"


def test_other_packages() -> None:
    word = {
        "[Content_Types].xml": "<Types/>",
        "_rels/.rels": relationships(("rId1", "officeDocument", "word/document.xml")),
        "word/document.xml": "<w:document xmlns:w='urn:w'/>",
    }
    assert "office document of another kind" in refusal(archive(word)).detail
    assert "a zip archive" in refusal(archive({"readme.txt": "hello"})).detail
    assert refusal(archive({})).code == "file-unreadable"
