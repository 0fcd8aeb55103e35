"""The quick way through a sheet's rows: the XML parser's result, or none."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from auditor.workbook import Unreadable, read_workbook, xlsx_quick
from tests.workbook.builders import MAIN, archive, worksheet, xlsx_parts

ROOT = Path(__file__).resolve().parents[2]
ROWS = (
    '<row r="1" spans="1:6" hidden="1" x14ac:dyDescent="0.25"><c r="A1" s="1" t="s"><v>0</v></c>'
    '<c r="B1"><f>A&amp;B</f><v>9.5</v></c><c r="C1" t="str"><f t="shared" si="0"/><v>a&lt;b</v></c></row>'
    '<row r="2" ht="0"/><row r="3"><c r="A3" t="inlineStr"><is><t xml:space="preserve"> x&amp;y </t></is></c>'
    '<c r="B3" t="b"><v>1</v></c><c r="C3" t="e"><v>#N/A</v></c><c r="D3" s="2"><v>46000</v></c><c r="E3"/></row>'
)
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
SHEET = (
    f'{HEAD}<worksheet xmlns="{MAIN}" xmlns:x14ac="urn:x14"><sheetData>{ROWS}</sheetData>'
    '<mergeCells><mergeCell ref="A5:B6"/></mergeCells></worksheet>'
)
STYLES = '<cellXfs><xf numFmtId="0"/><xf numFmtId="1"/><xf numFmtId="14"/></cellXfs>'
PARTS = xlsx_parts(SHEET, strings="<si><t>S</t></si><si><t>T</t></si>", styles=STYLES)
DAMAGE = [
    "", " ", "<", ">", "&", "&amp;", "&#65;", "9", "<v>", "</v>", "</c>", "</row>", "<row>", '<row r="7">', ' r="A1"',
    "\r", "\n", "\t", "\0", "1_0", '"', "'", "/", "<f>", "</f>", "<is><t>q</t></is>", "<v/>", "<!-- -->",
    "]]>", "<![CDATA[x]]>", "e", "str", ' t="n"', ' s="1"', ' xmlns="u"', "\uffff", "\u00e9", "<c>", "<x/>",
    '<c r="F9"><v>1</v></c>', "=",
    "sheetData", "</sheetData><sheetData>", "<sheetData>",
]  # fmt: skip


def plain(sheet: bytes) -> bool:
    try:
        return len(list(xlsx_quick.rows(xlsx_quick.split(sheet)[1], frozenset({"x14ac"})))) > 0
    except xlsx_quick.NotPlain:
        return False


def outcome(sheet: bytes) -> object:
    try:
        found = read_workbook(archive(PARTS | {"xl/worksheets/sheet1.xml": sheet}, 0), "x.xlsx").sheets[0]
    except Unreadable as error:
        return error.code
    return found.cells, found.hidden_rows, found.merged


def both_ways(sheet: bytes, monkeypatch: pytest.MonkeyPatch) -> tuple[object, object]:
    quick = outcome(sheet)
    with monkeypatch.context() as patch:
        patch.setattr(xlsx_quick, "split", decline)
        return quick, outcome(sheet)


def decline(data: bytes) -> tuple[bytes, str]:
    raise xlsx_quick.NotPlain


def test_both_ways_agree_on_sound_and_damaged_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    assert plain(SHEET.encode())
    chance, quickly, read = random.Random(7), 0, 0
    for _ in range(800):
        sheet = SHEET
        for _ in range(chance.choice([1, 1, 2, 3])):
            place = chance.randrange(len(HEAD), len(sheet))
            sheet = sheet[:place] + chance.choice(DAMAGE) + sheet[place + chance.choice([0, 0, 1, 2, 5, 9]) :]
        quick, parsed = both_ways(sheet.encode(), monkeypatch)
        assert quick == parsed, sheet
        quickly += plain(sheet.encode())
        read += not isinstance(quick, str)
    assert quickly > 50
    assert read > 25


@pytest.mark.parametrize(
    "sheet",
    [
        SHEET.replace("<sheetData>", "<!-- x --><sheetData>"),
        SHEET.replace("UTF-8", "ISO-8859-1"),
        SHEET.replace("UTF-8", "UTF-16").encode("utf-16"),
        SHEET.replace("<v>9.5</v>", "<v><![CDATA[9.5]]></v>"),
        SHEET.replace("9.5", "9&#46;5"),
        SHEET.replace('r="A1" s="1"', 's="1" r="A1"'),
        SHEET.replace("<sheetData>", "<sheetData >"),
        SHEET.replace("<v>1</v>", "<v>1</v><extLst/>"),
        SHEET.replace('<c r="B1">', '<c r="B1" vm="1">'),
        SHEET.replace('x14ac:dyDescent="0.25"', "x14ac:dyDescent='0.25'"),
    ],
)
def test_what_is_not_plain_is_left_to_the_xml_parser(sheet: str | bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    data = sheet if isinstance(sheet, bytes) else sheet.encode()
    assert not plain(data)
    assert outcome(data) == outcome(SHEET.encode())


def test_an_undeclared_prefix_is_not_plain(monkeypatch: pytest.MonkeyPatch) -> None:
    broken = SHEET.replace(' xmlns:x14ac="urn:x14"', "")
    assert both_ways(broken.encode(), monkeypatch) == ("file-unreadable", "file-unreadable")


def test_an_empty_sheet_is_plain() -> None:
    assert xlsx_quick.split(worksheet("").encode())[1] == ""
    assert outcome(worksheet("").encode()) == ({}, frozenset(), [])
