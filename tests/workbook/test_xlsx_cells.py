"""What each kind of cell in an Office Open XML sheet becomes (ECMA-376 part 1, 18.3.1.4, 18.18.11)."""

from __future__ import annotations

import datetime as dt
import io

import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st

from auditor.workbook import Cell, Kind, Limits, Unreadable, read_workbook, xlsx_quick
from tests.workbook.builders import MAIN, worksheet, xlsx

FORMATS = (
    '<numFmts count="3"><numFmt numFmtId="164" formatCode="0.0"/><numFmt numFmtId="165" formatCode="yyyy\\-mm\\-dd"/>'
    '<numFmt numFmtId="166" formatCode="[h]:mm"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/>'
    '<xf numFmtId="165"/><xf numFmtId="166"/><xf numFmtId="14"/><xf numFmtId="21"/></cellXfs>'
)


def cells_of(rows: str, **options) -> dict[str, Cell]:
    """Cells of a one-sheet workbook by address; read both ways, plainly and by the XML parser, which must agree."""
    options.setdefault("styles", FORMATS)
    plain = read_workbook(xlsx(worksheet(rows), **options), "plain.xlsx").sheets[0].cells
    commented = worksheet(rows + "<!-- for the XML parser -->")
    with pytest.raises(xlsx_quick.NotPlain):
        xlsx_quick.split(commented.encode())
    assert read_workbook(xlsx(commented, **options), "parsed.xlsx").sheets[0].cells == plain
    return {cell.address: cell for cell in plain.values()}


def only(rows: str, **options) -> tuple[Kind, object]:
    (cell,) = cells_of(rows, **options).values()
    return cell.kind, cell.value


@pytest.mark.parametrize(
    ("cell", "kind", "value"),
    [
        ('<c r="A1"><v>98</v></c>', Kind.NUMBER, 98),
        ('<c r="A1" t="n"><v>98.5</v></c>', Kind.NUMBER, 98.5),
        ('<c r="A1"><v>1.5E2</v></c>', Kind.NUMBER, 150.0),
        ('<c r="A1"><v>-3</v></c>', Kind.NUMBER, -3),
        ('<c r="A1" t="b"><v>1</v></c>', Kind.BOOLEAN, True),
        ('<c r="A1" t="b"><v>0</v></c>', Kind.BOOLEAN, False),
        ('<c r="A1" t="e"><v>#VALUE!</v></c>', Kind.ERROR, "#VALUE!"),
        ('<c r="A1" t="e"><f>1/0</f><v>#DIV/0!</v></c>', Kind.ERROR, "#DIV/0!"),
        ('<c r="A1" t="str"><f>A2</f><v>ft/min &amp; more</v></c>', Kind.TEXT, "ft/min & more"),
        ('<c r="A1" t="inlineStr"><is><t>Hood</t></is></c>', Kind.TEXT, "Hood"),
        ('<c r="A1" t="inlineStr"><is><r><t>Ho</t></r><r><t>od</t></r></is></c>', Kind.TEXT, "Hood"),
        ('<c r="A1" t="inlineStr"><is><t xml:space="preserve">  </t></is></c>', Kind.TEXT, "  "),
        ('<c r="A1" t="inlineStr"><v>odd &amp; old</v></c>', Kind.TEXT, "odd & old"),
        ('<c r="A1" t="s"><v>0</v></c>', Kind.TEXT, "shared"),
        ('<c r="A1" t="d"><v>2026-03-05T14:30:00</v></c>', Kind.DATE, dt.datetime(2026, 3, 5, 14, 30)),
        ('<c r="A1"><f>AVERAGE(B1:B9)</f></c>', Kind.FORMULA, None),
        ('<c r="A1"><f>AVERAGE(B1:B9)</f><v></v></c>', Kind.FORMULA, None),
        ('<c r="A1"><f>AVERAGE(B1:B9)</f><v/></c>', Kind.FORMULA, None),
        ('<c r="A1" t="str"><f>B1</f></c>', Kind.FORMULA, None),
    ],
)
def test_kinds(cell: str, kind: Kind, value: object) -> None:
    found = only(f'<row r="1">{cell}</row>', strings="<si><t>shared</t></si>")
    assert found == (kind, value)
    assert type(found[1]) is type(value)


@pytest.mark.parametrize(
    "cell",
    [
        '<c r="A1"/>',
        '<c r="A1" s="1"/>',
        '<c r="A1" s="1"></c>',
        '<c r="A1"><v></v></c>',
        '<c r="A1" t="s"><v>0</v></c>',  # an empty text in the table
        '<c r="A1" t="str"><f>IF(B1="","",B1)</f><v></v></c>',  # a stored empty result: shows blank
        '<c r="A1" t="inlineStr"><is><t></t></is></c>',
    ],
)
def test_blank_cells_are_absent(cell: str) -> None:
    assert cells_of(f'<row r="1">{cell}</row>', strings="<si><t/></si>") == {}


def test_formula_flag_and_format_are_kept() -> None:
    found = cells_of(
        '<row r="1"><c r="A1" s="1"><f>AVERAGE(B1:C1)</f><v>98.25</v></c><c r="B1" s="1"><v>98</v></c>'
        '<c r="C1"><f t="shared" si="0"/><v>7</v></c></row>'
    )
    assert found["A1"] == Cell(1, 1, Kind.NUMBER, 98.25, "0.0", True)
    assert found["B1"] == Cell(1, 2, Kind.NUMBER, 98, "0.0", False)
    assert found["C1"] == Cell(1, 3, Kind.NUMBER, 7, "General", True)


def test_dates_by_number_format() -> None:
    found = cells_of(
        '<row r="1"><c r="A1" s="2"><v>46086</v></c><c r="B1" s="3"><v>1.5</v></c><c r="C1" s="5"><v>0.25</v></c>'
        '<c r="D1" s="4"><v>46086.75</v></c><c r="E1" s="2"><v>-1</v></c><c r="F1" s="1"><v>46086</v></c></row>'
    )
    # 46086 is 5 March 2026: 25569 is 1 January 1970, and 46086 - 25569 = 20517 days later.
    assert found["A1"][2:5] == (Kind.DATE, dt.datetime(2026, 3, 4) + dt.timedelta(days=1), "yyyy\\-mm\\-dd")
    assert found["A1"].value == dt.datetime(1970, 1, 1) + dt.timedelta(days=46086 - 25569)
    assert found["B1"].value == dt.timedelta(hours=36)
    assert found["C1"].value == dt.time(6)
    assert found["D1"].value == dt.datetime(2026, 3, 5, 18)
    assert found["E1"][2:4] == (Kind.NUMBER, -1)  # shows ##### in a spreadsheet; no date
    assert found["F1"][2:4] == (Kind.NUMBER, 46086)


def test_the_1904_date_system() -> None:
    rows = '<row r="1"><c r="A1" s="2"><v>44624</v></c></row>'
    for written in ("1", "true"):
        assert only(rows, properties=f'<workbookPr date1904="{written}"/>')[1] == dt.datetime(2026, 3, 5)
    assert only(rows, properties='<workbookPr date1904="0"/>')[1] == dt.datetime(2022, 3, 4)


def test_shared_strings_rich_text_and_phonetic_runs() -> None:
    table = (
        "<si><t>plain</t></si><si><r><t>98 </t></r><r><rPr><b/></rPr><t>fpm</t></r></si>"
        '<si><t>課</t><rPh sb="0" eb="1"><t>カ</t></rPh></si><si><t xml:space="preserve"> a </t></si>'
    )
    rows = '<row r="1">' + "".join(f'<c r="{c}1" t="s"><v>{n}</v></c>' for n, c in enumerate("ABCD")) + "</row>"
    assert [cell.value for cell in cells_of(rows, strings=table).values()] == ["plain", "98 fpm", "課", " a "]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("a_x000D_b", "a\rb"),
        ("_x005F_x0041_", "_x0041_"),
        ("_xD83D__xDE00_", "\U0001f600"),
        ("_xD83D_", "\ufffd"),
        ("a_x0000_", "a\ufffd"),
        ("hood_xylene", "hood_xylene"),
    ],
)
def test_escapes(written: str, meant: str) -> None:
    assert only('<row r="1"><c r="A1" t="s"><v>0</v></c></row>', strings=f"<si><t>{written}</t></si>")[1] == meant
    assert only(f'<row r="1"><c r="A1" t="inlineStr"><is><t>{written}</t></is></c></row>')[1] == meant
    assert only(f'<row r="1"><c r="A1" t="str"><v>{written}</v></c></row>')[1] == meant


def test_rows_and_cells_without_references() -> None:
    found = cells_of('<row><c><v>1</v></c><c><v>2</v></c></row><row r="5"><c r="C5"><v>3</v></c><c><v>4</v></c></row>')
    assert {address: cell.value for address, cell in found.items()} == {"A1": 1, "B1": 2, "C5": 3, "D5": 4}


def test_a_wrong_dimension_cuts_nothing_off() -> None:
    sheet = worksheet('<row r="40"><c r="Z40"><v>7</v></c></row>', before='<dimension ref="A1"/>')
    assert list(read_workbook(xlsx(sheet), "x.xlsx").sheets[0].cells) == [(40, 26)]


def test_cells_come_in_reading_order() -> None:
    rows = (
        '<row r="2"><c r="B2"><v>4</v></c><c r="A2"><v>3</v></c></row>'
        '<row r="1"><c r="B1"><v>2</v></c><c r="A1"><v>1</v></c></row>'
    )
    assert [cell.value for cell in cells_of(rows).values()] == [1, 2, 3, 4]


def test_merged_areas_show_only_their_first_cell_and_say_so() -> None:
    sheet = worksheet(
        '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>2</v></c><c r="D1"><v>3</v></c></row>',
        '<mergeCells><mergeCell ref="A1:C2"/><mergeCell ref="D1"/></mergeCells>',
    )
    book = read_workbook(xlsx(sheet), "x.xlsx")
    assert book.sheets[0].merged == [(1, 1, 2, 3)]
    assert {cell.address for cell in book.sheets[0].cells.values()} == {"A1", "D1"}
    assert "B1" in book.notes[0]


def test_hidden_rows_and_columns() -> None:
    rows = '<row r="1" hidden="1"/><row r="2" ht="0" customHeight="1"><c r="A2"><v>1</v></c></row><row r="3" ht="0.5"/>'
    columns = (
        '<cols><col min="2" max="4" hidden="1"/><col min="6" max="6" width="0"/><col min="7" max="7" width="9"/></cols>'
    )
    for mark in ("", "<!-- x -->"):
        sheet = read_workbook(xlsx(worksheet(rows + mark, before=columns)), "x.xlsx").sheets[0]
        assert sheet.hidden_rows == {1, 2}
        assert sheet.hidden_columns == {2, 3, 4, 6}


def test_a_prefix_for_the_namespace() -> None:
    rows = '<x:row r="1"><x:c r="A1"><x:v>5</x:v></x:c></x:row>'
    sheet = f'<x:worksheet xmlns:x="{MAIN}"><x:sheetData>{rows}</x:sheetData></x:worksheet>'
    assert read_workbook(xlsx(sheet), "x.xlsx").sheets[0].cells[1, 1].value == 5


def test_rows_of_another_namespace_are_not_rows() -> None:
    rows = '<row r="1" xmlns="urn:other"><c r="A1"><v>5</v></c></row><row r="2"><c r="A2"><v>6</v></c></row>'
    assert list(cells_of(rows)) == ["A2"]


def test_sheet_data_elsewhere_is_no_sheet_data() -> None:
    sheet = worksheet("").replace("<sheetData></sheetData>", "<x><sheetData>{}</sheetData></x>")
    row = '<row r="1"><c r="A1"><v>5</v></c></row>'
    assert read_workbook(xlsx(sheet.format(row)), "x.xlsx").sheets[0].cells == {}


def test_cells_of_another_namespace_are_not_cells() -> None:
    rows = '<row r="1"><c xmlns="urn:other" r="A1"><v>5</v></c><c r="B1"><v>6</v></c></row>'
    assert cells_of(rows) == {"B1": Cell(1, 2, Kind.NUMBER, 6)}


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ('<row r="1"><c r="A1"><v>1_000</v></c></row>', "A1"),
        ('<row r="1"><c r="A1"><v>NaN</v></c></row>', "A1"),
        ('<row r="1"><c r="A1"><v>1e999</v></c></row>', "A1"),
        ('<row r="1"><c r="A1"><v>٩٨</v></c></row>', "A1"),
        ('<row r="1"><c r="A1" t="b"><v>yes</v></c></row>', "A1"),
        ('<row r="1"><c r="A1" t="d"><v>soon</v></c></row>', "A1"),
        ('<row r="1"><c r="A1" t="s"><v>9</v></c></row>', "A1"),
        ('<row r="1"><c r="A1" t="s"><v>-1</v></c></row>', "A1"),
        ('<row r="1"><c r="A1" t="e"/></row>', "A1"),
        ('<row r="1"><c r="A1" t="e"><v></v></c></row>', "A1"),
        ('<c r="A1"><v>9</v></c>', "outside its rows"),
        ('<row r="1"><c r="A1" t="zz"><v>9</v></c></row>', "zz"),
        ('<row r="1"><c r="A2"><v>9</v></c></row>', "A2"),
        ('<row r="1"><c r="1A"><v>9</v></c></row>', "1A"),
        ('<row r="0"><c r="A1"><v>9</v></c></row>', "row"),
        ('<row r="1"><c r="A1"><v>9</v></c><c r="A1"><v>8</v></c></row>', "twice"),
        ('<row r="1"><c r="A1"><v>9</v></c></row><row r="1"><c r="A1"><v>8</v></c></row>', "twice"),
        ('<row r="1"><c r="A1"><v>9</c></row>', "well-formed"),
        ('<row r="1"><c r="A1"><v>9</v></c>', "well-formed"),
        ('<row r="1" r="2"><c r="A1"><v>9</v></c></row>', "well-formed"),
        ('<row r="1"><c r="A1" t="str"><v>&nbsp;</v></c></row>', "well-formed"),
    ],
)
def test_what_no_spreadsheet_program_writes_is_refused_with_its_place(rows: str, says: str) -> None:
    for mark in ("", "<!-- x -->"):
        with pytest.raises(Unreadable, match=says) as refusal:
            read_workbook(xlsx(worksheet(rows + mark), strings="<si><t>a</t></si>", styles=FORMATS), "x.xlsx")
        assert refusal.value.code == "file-unreadable"


def test_a_style_that_is_not_defined_is_noted() -> None:
    book = read_workbook(xlsx(worksheet('<row r="1"><c r="A1" s="77"><v>9</v></c></row>'), styles=FORMATS), "x.xlsx")
    assert book.sheets[0].cells[1, 1].number_format == "General"
    assert "formats" in book.notes[0]


def test_large_parts_are_streamed_with_the_same_result(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = "".join(
        f'<row r="{r}"{" hidden=" + chr(34) + "1" + chr(34) if r % 7 == 0 else ""}>'
        + "".join(f'<c r="{c}{r}" s="1"><v>{r}.5</v></c>' for c in "ABC") + "</row>"
        for r in range(1, 200)
    )  # fmt: skip
    data = xlsx(
        worksheet(
            rows, '<mergeCells><mergeCell ref="A1:B1"/></mergeCells>', "<cols><col min='2' max='2' hidden='1'/></cols>"
        ),
        styles=FORMATS,
    )
    whole = read_workbook(data, "x.xlsx")
    monkeypatch.setattr("auditor.workbook.xlsx_sheet._TREE_BYTES", 100)
    assert read_workbook(data, "x.xlsx") == whole
    assert whole.sheets[0].hidden_columns == {2}
    assert whole.sheets[0].merged == [(1, 1, 1, 2)]
    assert len(whole.sheets[0].cells) == 199 * 3 - 1


LETTERS = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"), exclude_characters="\ufffe\uffff")
VALUES = st.one_of(
    st.integers(-10**9, 10**9),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.booleans(),
    st.text(LETTERS, min_size=1, max_size=20),
    st.datetimes(dt.datetime(1901, 1, 1), dt.datetime(2199, 1, 1)).map(lambda d: d.replace(microsecond=0)),
)  # fmt: skip


@given(st.dictionaries(st.tuples(st.integers(0, 30), st.integers(0, 30)), VALUES, min_size=1, max_size=30))
def test_what_xlsxwriter_writes_is_what_is_read(values: dict) -> None:
    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer)
    sheet, day = book.add_worksheet(), book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss"})
    for (row, column), value in values.items():
        if isinstance(value, dt.datetime):
            sheet.write_datetime(row, column, value, day)
        elif isinstance(value, str):
            sheet.write_string(row, column, value)
        elif isinstance(value, bool):
            sheet.write_boolean(row, column, value)
        else:
            sheet.write_number(row, column, value)
    book.close()
    found = read_workbook(buffer.getvalue(), "x.xlsx").sheets[0].cells
    assert {(row - 1, column - 1) for row, column in found} == set(values)
    for (row, column), value in values.items():
        cell = found[row + 1, column + 1]
        if isinstance(value, float):
            assert cell.value == pytest.approx(value, rel=1e-15, abs=1e-300)
        else:
            assert cell.value == value
            assert (cell.kind is Kind.BOOLEAN) == isinstance(value, bool)


def test_limits_on_cells_rows_columns_and_texts() -> None:
    rows = '<row r="9"><c r="A9"><v>1</v></c><c r="K9" t="inlineStr"><is><t>abcdef</t></is></c></row>'
    data = xlsx(worksheet(rows))
    assert read_workbook(data, "x", Limits(cells=2, rows=9, columns=11, text_length=6)).sheets
    for limits, says in (
        (Limits(cells=1), "Filled cells: 2, where at most 1"),
        (Limits(rows=8), "Rows in sheet 'S1': 9"),
        (Limits(columns=10), "Columns in sheet 'S1': 11"),
        (Limits(text_length=5), "K9 of sheet 'S1': 6 characters"),
    ):
        with pytest.raises(Unreadable, match=says) as refusal:
            read_workbook(data, "x", limits)
        assert refusal.value.code == "file-too-large"


def test_columns_beyond_the_last_in_any_order() -> None:
    with pytest.raises(Unreadable, match="Columns in sheet 'S1': 16,385") as refusal:
        read_workbook(xlsx(worksheet('<row r="1"><c r="XFE1"><v>1</v></c><c r="A1"><v>1</v></c></row>')), "x.xlsx")
    assert refusal.value.code == "file-too-large"
