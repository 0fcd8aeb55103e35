"""A return copy is the contractor's own workbook and what was added to it, nothing else."""

from __future__ import annotations

import copy
import datetime as dt
import io

import openpyxl
import pytest
from lxml import etree

from auditor.documents.returns import About, CannotMark, Point, list_workbook, marked_copy
from auditor.workbook import read_workbook
from auditor.workbook.own_sheet import NAME, TITLE
from tests.documents.patching import MAIN, needs_office, office, parts_of
from tests.documents.returns.workbooks import MISSING, rich_workbook

ABOUT = About("amber.xlsx", dt.date(2026, 11, 16))
POINTS = [
    Point("hold", "A point is missing", "A cell of the grid is blank.", "Measure it.", "Hood 1", MISSING, "H-1"),
    Point("caution", "Twice asked", "A second thing at the same cell.", "Look again.", "Hood 1", MISSING, "H-1"),
    Point("caution", "Sash", "It is not the working height.", "Say why.", "Hood 1", "B3", "H-1", "18"),
    Point("hold", "Copied", "These readings stand elsewhere too.", "Measure again.", "Hood 2", "B21:D22", "H-2"),
    Point("caution", "No averages", "=HYPERLINK(\"http://x\") <b>&", "None", "Hood 2", "J40"),
    Point("caution", "Whole sheet", "Hidden.", "Show it.", "Lists"),
    Point("hold", "Elsewhere", "On no sheet of this book.", "Ask.", "Nowhere", "A1"),
]  # fmt: skip


@pytest.fixture(scope="module", params=["plain", "macros", "no comments", "no button"])
def pair(request) -> tuple[dict[str, bytes], dict[str, bytes], bytes]:
    kind = request.param
    before = rich_workbook(macros=kind == "macros", comments=kind not in ("no comments",), button=kind != "no button")
    after = marked_copy(before, POINTS, ABOUT)
    return parts_of(before), parts_of(after), after


def tree(data: bytes) -> etree._Element:
    return etree.fromstring(data)


def canonical(element: etree._Element) -> bytes:
    return etree.tostring(element, method="c14n")


def sheets(parts: dict[str, bytes]) -> dict[str, str]:
    rels = {r.get("Id"): r.get("Target") for r in tree(parts["xl/_rels/workbook.xml.rels"])}
    key = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
    return {s.get("name"): "xl/" + rels[s.get(key)] for s in tree(parts["xl/workbook.xml"]).iter(f"{MAIN}sheet")}


def test_every_part_is_there_and_those_not_added_to_are_the_same_bytes(pair) -> None:
    before, after, _ = pair
    named = sheets(before)
    touched = {
        "[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/styles.xml", named["Hood 1"],
        named["Hood 2"], "xl/worksheets/_rels/sheet1.xml.rels", "xl/worksheets/_rels/sheet2.xml.rels",
        "xl/comments1.xml", "xl/drawings/vmlDrawing1.vml",
    }  # fmt: skip
    assert set(before) <= set(after)
    changed = {name for name in before if before[name] != after[name]}
    assert changed <= touched, changed - touched
    kinds = {name.rpartition("/")[0] for name in before}
    assert {"xl/media", "xl/charts", "xl/drawings", "xl/chartsheets"} <= kinds  # the proof speaks of something


def test_the_sheets_differ_in_marks_alone(pair) -> None:
    """With the marks taken out again, each sheet is what it was, element by element."""
    before, after, _ = pair
    names = sheets(before)
    for name in ("Hood 1", "Hood 2"):
        old, new = tree(before[names[name]]), tree(after[names[name]])
        styles = {c.get("r"): c.get("s") for c in old.iter(f"{MAIN}c")}
        for cell in list(new.iter(f"{MAIN}c")):
            if cell.get("r") not in styles:
                assert len(cell) == 0, "what is added is blank"
                cell.getparent().remove(cell)
            elif styles[cell.get("r")] is None:
                cell.attrib.pop("s", None)
            else:
                cell.set("s", styles[cell.get("r")])
        for row in [r for r in new.iter(f"{MAIN}row") if len(r) == 0 and r.get("r") == "40"]:
            row.getparent().remove(row)
        if old.find(f"{MAIN}legacyDrawing") is None and new.find(f"{MAIN}legacyDrawing") is not None:
            new.remove(new.find(f"{MAIN}legacyDrawing"))
        for view in old.iter(f"{MAIN}sheetView"):
            view.attrib.pop("tabSelected", None)
        assert canonical(old) == canonical(new)


def test_styles_are_only_added(pair) -> None:
    before, after, _ = pair
    old, new = tree(before["xl/styles.xml"]), tree(after["xl/styles.xml"])
    for group in old:
        twin = new.find(group.tag)
        was, now = [canonical(e) for e in group], [canonical(e) for e in twin]
        assert now[: len(was)] == was
        assert twin.get("count") == (group.get("count") if len(was) == len(now) else str(len(now)))


def test_a_mark_keeps_the_number_format_and_the_border(pair) -> None:
    _, _, data = pair
    sheet = openpyxl.load_workbook(io.BytesIO(data))["Hood 1"]
    cell = sheet[MISSING]
    assert (cell.number_format, cell.border.left.style) == ("0", "thin")
    assert cell.fill.fgColor.rgb == "FFFFC8CF"  # the graver of the two
    assert sheet["B3"].fill.fgColor.rgb == "FFFFEB9D"
    assert sheet["B2"].fill.fgColor.rgb == "FFDDEEFF"


def test_comments_say_what_is_wrong_and_keep_what_was_said(pair) -> None:
    before, _, data = pair
    sheet = openpyxl.load_workbook(io.BytesIO(data))["Hood 1"]
    said = sheet[MISSING].comment.text
    assert "A cell of the grid is blank." in said
    assert "What would mend it: Measure it." in said
    assert "A second thing at the same cell." in said
    if "xl/comments1.xml" in before and b"Probe slipped" in before["xl/comments1.xml"]:
        assert said.endswith("Probe slipped here.")
        assert sheet["B3"].comment.text.endswith("Sash at its stop.")


def test_every_comment_has_its_shape_and_no_two_share_a_number(pair) -> None:
    import re

    before, after, _ = pair
    known = {n for name, data in before.items() for n in re.findall(rb"_s(\d+)", data) if name.endswith(".vml")}
    added = []
    for name, data in after.items():
        if name.endswith(".vml"):
            own = re.findall(rb'id="_x0000_s(\d+)"', data)
            assert len(own) == len(set(own))
            added += [n for n in own if n not in re.findall(rb"_s(\d+)", before.get(name, b""))]
    assert added
    assert len(added) == len(set(added))
    assert not known & set(added)
    for name, part in {n: p for n, p in after.items() if n.startswith("xl/comments")}.items():
        rels = next(
            r for r in after if r.startswith("xl/worksheets/_rels") and name.removeprefix("xl/").encode() in after[r]
        )
        related = {r.get("Type").rpartition("/")[2]: r.get("Target") for r in tree(after[rels])}
        targets = [r.get("Target") for r in tree(after[rels]) if r.get("Type").endswith("/vmlDrawing")]
        assert related["comments"]
        places = {
            (int(row) + 1, int(column) + 1)
            for target in targets
            for row, column in re.findall(
                rb"<x:Row>(\d+)</x:Row>\s*<x:Column>(\d+)</x:Column>", after["xl/" + target.removeprefix("../")]
            )
        }
        cells = {openpyxl.utils.cell.coordinate_from_string(c.get("ref")) for c in tree(part).iter(f"{MAIN}comment")}
        assert {(row, openpyxl.utils.column_index_from_string(letters)) for letters, row in cells} <= places
        for target in targets:
            etree.fromstring(after["xl/" + target.removeprefix("../")])  # ours is well-formed XML


def test_the_list_stands_first_with_links_and_nothing_in_it_is_alive(pair) -> None:
    _, after, data = pair
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert book.sheetnames[0] == NAME
    assert book.sheetnames[1:] == ["Hood 1", "Hood 2", "Lists", "Picture of it"]
    page = book[NAME]
    assert page["A1"].value == TITLE
    rows = [[c.value for c in row] for row in page.iter_rows(min_row=6)]
    assert [row[1] for row in rows] == ["must be settled"] * 3 + ["please check"] * 4
    assert {row[7] for row in rows} == {
        "Measure it.",
        "Look again.",
        "Say why.",
        "Measure again.",
        "None",
        "Show it.",
        "Ask.",
    }
    assert all(cell.data_type in ("s", "n", "inlineStr") for row in page.iter_rows() for cell in row)
    links = {cell.hyperlink.location for row in page.iter_rows() for cell in row if cell.hyperlink}
    assert links == {"'Hood 1'!C21", "'Hood 1'!B3", "'Hood 2'!B21", "'Hood 2'!J40", "'Lists'!A1"}
    assert all(cell.hyperlink.target is None for row in page.iter_rows() for cell in row if cell.hyperlink)
    assert not any(
        b"<f" in part for name, part in after.items() if name not in sheets(after) and TITLE.encode() in part
    )


def test_names_that_belong_to_a_sheet_still_do_and_the_list_alone_is_selected(pair) -> None:
    before, after, data = pair
    was, now = tree(before["xl/workbook.xml"]), tree(after["xl/workbook.xml"])
    order = [[s.get("name") for s in root.iter(f"{MAIN}sheet")] for root in (was, now)]
    for old, new in zip(was.iter(f"{MAIN}definedName"), now.iter(f"{MAIN}definedName"), strict=True):
        assert (old.text, old.get("name")) == (new.text, new.get("name"))
        if old.get("localSheetId") is not None:
            assert order[0][int(old.get("localSheetId"))] == order[1][int(new.get("localSheetId"))]
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert [s.title for s in book.worksheets if s.sheet_view.tabSelected] == [NAME]
    assert book.active.title == NAME
    assert book["Lists"].sheet_state == "hidden"


def test_what_is_read_from_the_copy_is_what_was_read_from_the_original(pair) -> None:
    before, _, data = pair
    from tests.documents.patching import packed

    old, new = read_workbook(packed(before), "a.xlsx"), read_workbook(data, "a.xlsx")
    assert [s.name for s in new.sheets] == [NAME, *(s.name for s in old.sheets)]
    for one, other in zip(old.sheets, new.sheets[1:], strict=True):
        assert one.cells == other.cells
        assert (one.merged, one.hidden) == (other.merged, other.hidden)


def test_a_second_return_takes_the_place_of_the_first(pair) -> None:
    """One list, one comment a cell; what is settled says so, and a contractor's own comment stands alone again."""
    before, _, data = pair
    again = marked_copy(data, [POINTS[2]], ABOUT)
    book = openpyxl.load_workbook(io.BytesIO(again))
    assert [name for name in book.sheetnames if name.startswith(NAME)] == [NAME]
    assert book[NAME].max_row == 6
    page, own = book["Hood 1"], "xl/comments1.xml" in before and b"Probe slipped" in before["xl/comments1.xml"]
    assert page["B3"].comment.text.count("It is not the working height.") == 1
    assert page["B3"].comment.text.endswith("Sash at its stop.") == own
    assert page["B3"].fill.fgColor.rgb == "FFFFEB9D"
    assert page[MISSING].comment.text == ("Probe slipped here." if own else "Settled since the last return.")
    assert page[MISSING].fill.fgColor.rgb == "FFDDEFD6"
    assert {c.fill.fgColor.rgb for row in book["Hood 2"]["B21:D22"] for c in row} == {"FFDDEFD6"}
    assert book["Hood 2"]["B2"].fill.fgColor.rgb == "FFDDEEFF"
    third = marked_copy(again, POINTS, ABOUT)
    assert openpyxl.load_workbook(io.BytesIO(third))["Hood 2"]["C22"].fill.fgColor.rgb == "FFFFC8CF"


def test_the_same_points_give_the_same_bytes() -> None:
    data = rich_workbook()
    assert marked_copy(data, POINTS, ABOUT) == marked_copy(data, copy.copy(POINTS), ABOUT)


@needs_office
def test_an_office_program_opens_the_copy(tmp_path) -> None:
    import pypdfium2

    data = marked_copy(rich_workbook(macros=True), POINTS, ABOUT)
    pages = pypdfium2.PdfDocument(office(data, tmp_path, "pdf", "xlsm"))
    text = " ".join(page.get_textpage().get_text_bounded() for page in pages)
    assert "Points to settle in amber.xlsx" in " ".join(text.split())
    assert "Surveyed with the door shut" in " ".join(text.split())


@pytest.mark.parametrize("data", [b"", b"Hood,Reading\nH-1,98\n", b"PK\x03\x04 cut short", rich_workbook()[:9000]])
def test_what_cannot_be_marked_says_so(data) -> None:
    with pytest.raises(CannotMark):
        marked_copy(data, POINTS, ABOUT)


def test_points_of_other_formats_go_back_in_a_list_of_their_own() -> None:
    data = list_workbook(POINTS, ABOUT)
    page = openpyxl.load_workbook(io.BytesIO(data))[NAME]
    assert page["A1"].value == TITLE
    assert page.max_row == 5 + len(POINTS)
    assert all(cell.data_type != "f" and cell.hyperlink is None for row in page.iter_rows() for cell in row)
    assert data == list_workbook(POINTS, ABOUT)
