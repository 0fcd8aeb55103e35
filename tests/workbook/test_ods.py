"""OpenDocument spreadsheets (ODF 1.3 part 3): written by odfpy and by hand."""

from __future__ import annotations

import datetime as dt
import io

import pytest
from odf.number import DateStyle, Day, Month, Number, NumberStyle, PercentageStyle, Text, Year
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style, TableProperties
from odf.table import CoveredTableCell, Table, TableCell, TableColumn, TableRow
from odf.text import P, Span

from auditor.workbook import Kind, Limits, Unreadable, Workbook, read_workbook
from tests.workbook.builders import archive

SPREADSHEET = "application/vnd.oasis.opendocument.spreadsheet"
URN = "urn:oasis:names:tc:opendocument:xmlns:"
# Short prefixes: a reader must go by the namespaces.
NAMES = {"o": "office", "t": "table", "x": "text", "s": "style", "n": "datastyle"}
SPACES = " ".join(f'xmlns:{prefix}="{URN}{name}:1.0"' for prefix, name in NAMES.items())
SPACES += ' xmlns:c="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'


def sample_ods() -> bytes:
    """Numbers, dates, formats, a merged area, hidden rows, columns and a hidden sheet, by odfpy."""
    document = OpenDocumentSpreadsheet()
    one = NumberStyle(name="N1")
    one.addElement(Number(decimalplaces="1", minintegerdigits="1"))
    percent = PercentageStyle(name="N2")
    percent.addElement(Number(decimalplaces="0", minintegerdigits="1"))
    percent.addElement(Text(text="%"))
    day = DateStyle(name="N3")
    for part in (Year(style="long"), Text(text="-"), Month(style="long"), Text(text="-"), Day(style="long")):
        day.addElement(part)
    for data_style, name in ((one, "ce1"), (percent, "ce2"), (day, "ce3")):
        document.automaticstyles.addElement(data_style)
        style = Style(name=name, family="table-cell", datastylename=data_style)
        document.automaticstyles.addElement(style)
    away = Style(name="ta2", family="table")
    away.addElement(TableProperties(display="false"))
    document.automaticstyles.addElement(away)
    table = Table(name="Hood 1")
    table.addElement(TableColumn(numbercolumnsrepeated=2, defaultcellstylename="ce1"))
    table.addElement(TableColumn(visibility="collapse"))
    first = TableRow()
    for text in ("Hood", "B-214"):
        cell = TableCell(valuetype="string")
        cell.addElement(P(text=text))
        first.addElement(cell)
    second = TableRow(visibility="collapse")
    second.addElement(TableCell(valuetype="float", value="98.25"))
    second.addElement(TableCell(valuetype="percentage", value="0.2", stylename="ce2"))
    second.addElement(TableCell(valuetype="date", datevalue="2026-03-05", stylename="ce3"))
    third = TableRow()
    merged = TableCell(valuetype="string", numbercolumnsspanned=2, numberrowsspanned=1)
    merged.addElement(P(text="merged"))
    third.addElement(merged)
    covered = CoveredTableCell(valuetype="float", value="7")
    third.addElement(covered)
    for row in (first, second, third):
        table.addElement(row)
    document.spreadsheet.addElement(table)
    hidden = Table(name="Lists", stylename=away)
    row = TableRow()
    cell = TableCell(valuetype="string")
    paragraph = P(text="ft")
    paragraph.addElement(Span(text="/min"))
    cell.addElement(paragraph)
    row.addElement(cell)
    hidden.addElement(row)
    document.spreadsheet.addElement(hidden)
    out = io.BytesIO()
    document.save(out)
    return out.getvalue()


def ods(table: str, styles: str = "", **more: str) -> bytes:
    content = (
        f"<o:document-content {SPACES}><o:automatic-styles>{styles}</o:automatic-styles>"
        f"<o:body><o:spreadsheet>{table}</o:spreadsheet></o:body></o:document-content>"
    )
    return archive({"mimetype": SPREADSHEET, "content.xml": content, **more})


def cells(rows: str, **options: str) -> dict[str, tuple[Kind, object]]:
    book = read_workbook(ods(f'<t:table t:name="T">{rows}</t:table>', **options), "x.ods")
    return {cell.address: (cell.kind, cell.value) for cell in book.sheets[0].cells.values()}


def one(cell: str) -> tuple[Kind, object] | None:
    return cells(f"<t:table-row>{cell}</t:table-row>").get("A1")


def test_what_odfpy_writes() -> None:
    book: Workbook = read_workbook(sample_ods(), "x.ods")
    hood, lists = book.sheets
    assert book.format == "ods"
    assert {c.address: (c.kind, c.value, c.number_format) for c in hood.cells.values()} == {
        "A1": (Kind.TEXT, "Hood", "0.0"),  # the column's default style
        "B1": (Kind.TEXT, "B-214", "0.0"),
        "A2": (Kind.NUMBER, 98.25, "0.0"),
        "B2": (Kind.NUMBER, 0.2, "0%"),
        "C2": (Kind.DATE, dt.datetime(2026, 3, 5), "yyyy-mm-dd"),
        "A3": (Kind.TEXT, "merged", "0.0"),
    }
    assert (hood.hidden, hood.hidden_rows, hood.hidden_columns, hood.merged) == (False, {2}, {3}, [(3, 1, 3, 2)])
    assert "B3" in book.notes[0]
    assert (lists.name, lists.hidden, lists.cells[1, 1].value) == ("Lists", True, "ft/min")


@pytest.mark.parametrize(
    ("cell", "found"),
    [
        ('<t:table-cell o:value-type="float" o:value="98"/>', (Kind.NUMBER, 98)),
        ('<t:table-cell o:value-type="currency" o:currency="USD" o:value="5.5"/>', (Kind.NUMBER, 5.5)),
        ('<t:table-cell o:value-type="boolean" o:boolean-value="true"/>', (Kind.BOOLEAN, True)),
        ('<t:table-cell o:value-type="date" o:date-value="2026-03-05T14:30:00"/>',
         (Kind.DATE, dt.datetime(2026, 3, 5, 14, 30))),
        ('<t:table-cell o:value-type="time" o:time-value="PT14H30M00.5S"/>', (Kind.DATE, dt.time(14, 30, 0, 500000))),
        ('<t:table-cell o:value-type="time" o:time-value="PT36H00M00S"/>', (Kind.DATE, dt.timedelta(hours=36))),
        ('<t:table-cell o:value-type="string"><x:p>a<x:s x:c="3"/>b<x:tab/>c</x:p><x:p>d</x:p>'
         "</t:table-cell>", (Kind.TEXT, "a   b\tc\nd")),
        ('<t:table-cell o:value-type="string"><o:annotation><x:p>remark</x:p></o:annotation>'
         "<x:p>98</x:p></t:table-cell>", (Kind.TEXT, "98")),
        ('<t:table-cell o:value-type="string"><o:annotation><x:p>remark</x:p></o:annotation>'
         "</t:table-cell>", None),
        ('<t:table-cell o:value-type="string"><x:p/></t:table-cell>', None),
        ('<t:table-cell o:value-type="string" o:string-value="x"/>', (Kind.TEXT, "x")),
        ("<t:table-cell><x:p>untyped</x:p></t:table-cell>", (Kind.TEXT, "untyped")),
        ('<t:table-cell t:formula="of:=1/0" o:value-type="string" o:string-value="" '
         'c:value-type="error"><x:p>#DIV/0!</x:p></t:table-cell>', (Kind.ERROR, "#DIV/0!")),
        ('<t:table-cell t:formula="of:=[.B1]" o:value-type="float" o:value="0"><x:p>Err:502</x:p>'
         "</t:table-cell>", (Kind.ERROR, "Err:502")),
        ('<t:table-cell t:formula="of:=[.B1]"/>', (Kind.FORMULA, None)),
        ('<t:table-cell t:formula="of:=&quot;&quot;" o:value-type="string"><x:p/></t:table-cell>', None),
    ],
)  # fmt: skip
def test_kinds(cell: str, found: tuple[Kind, object] | None) -> None:
    assert one(cell) == found


def test_the_formula_flag() -> None:
    row = '<t:table-row><t:table-cell t:formula="of:=1+1" o:value-type="float" o:value="2"/></t:table-row>'
    cell = read_workbook(ods(f"<t:table>{row}</t:table>"), "x").sheets[0].cells[1, 1]
    assert (cell.value, cell.formula) == (2, True)


def test_repeated_rows_and_cells() -> None:
    number = '<t:table-cell o:value-type="float" o:value="5"'
    rows = (
        f'<t:table-row t:number-rows-repeated="2"><t:table-cell t:number-columns-repeated="3"/>{number}'
        ' t:number-columns-repeated="2"/></t:table-row><t:table-row t:number-rows-repeated="1048000"/>'
        f"<t:table-row-group><t:table-header-rows><t:table-row>{number}/></t:table-row>"
        "</t:table-header-rows></t:table-row-group>"
    )
    assert list(cells(rows)) == ["D1", "E1", "D2", "E2", "A1048003"]


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ('<t:table-row t:number-rows-repeated="999999">{}</t:table-row>', "Filled cells"),
        ('<t:table-row t:number-rows-repeated="9999999"/><t:table-row>{}</t:table-row>', "Rows in sheet"),
        ('<t:table-row><t:table-cell t:number-columns-repeated="99999"/>{}</t:table-row>', "Columns in sheet"),
    ],
)  # fmt: skip
def test_repetition_is_bounded(rows: str, says: str) -> None:
    filled = '<t:table-cell o:value-type="float" o:value="5" t:number-columns-repeated="9"/>'
    data = ods(f"<t:table>{rows.format(filled)}</t:table>")
    with pytest.raises(Unreadable, match=says) as refusal:
        read_workbook(data, "x.ods")
    assert refusal.value.code == "file-too-large"


def test_a_million_hidden_rows_below_the_last_cost_nothing() -> None:
    rows = (
        '<t:table-row t:visibility="filter"><t:table-cell o:value-type="float" o:value="5"/>'
        '</t:table-row><t:table-row t:number-rows-repeated="999999999" t:visibility="collapse"/>'
    )
    assert read_workbook(ods(f"<t:table>{rows}</t:table>"), "x").sheets[0].hidden_rows == {1}


def test_tables_that_are_no_sheets() -> None:
    row = '<t:table-row><t:table-cell o:value-type="float" o:value="{}"/></t:table-row>'
    content = (
        f"<t:tracked-changes><t:deletion><t:table-row>{row.format(1)}</t:table-row></t:deletion>"
        f'</t:tracked-changes><t:table t:name="T">{row.format(2)}</t:table>'
        f"<t:dde-links><t:table>{row.format(3)}</t:table></t:dde-links>"
    )
    (sheet,) = read_workbook(ods(content), "x").sheets
    assert [cell.value for cell in sheet.cells.values()] == [2]


@pytest.mark.parametrize(
    ("style", "code"),
    [
        ('<n:number-style s:name="N"><n:number n:decimal-places="2" n:min-integer-digits="1" '
         'n:grouping="true"/></n:number-style>', "#,##0.00"),
        ('<n:number-style s:name="N"><n:number n:decimal-places="1" n:min-integer-digits="1"/>'
         "<n:text> fpm</n:text></n:number-style>", '0.0" fpm"'),
        ('<n:number-style s:name="N"><n:number/></n:number-style>', "General"),
        ('<n:time-style s:name="N" n:truncate-on-overflow="false"><n:hours/><n:text>:</n:text>'
         '<n:minutes n:style="long"/></n:time-style>', "[h]:mm"),
        ('<n:text-style s:name="N"><n:text-content/></n:text-style>', "@"),
    ],
)  # fmt: skip
def test_number_formats(style: str, code: str) -> None:
    styles = f'{style}<s:style s:name="c" s:family="table-cell" s:data-style-name="N"/>'
    row = '<t:table-row t:default-cell-style-name="c"><t:table-cell o:value-type="float" o:value="1"/></t:table-row>'
    assert read_workbook(ods(f"<t:table>{row}</t:table>", styles), "x").sheets[0].cells[1, 1].number_format == code


def test_a_ring_of_styles_ends() -> None:
    styles = '<s:style s:name="a" s:family="table-cell" s:parent-style-name="a"/>'
    row = '<t:table-row><t:table-cell t:style-name="a" o:value-type="float" o:value="1"/></t:table-row>'
    cell = read_workbook(ods(f"<t:table>{row}</t:table>", styles), "x").sheets[0].cells[1, 1]
    assert cell.number_format == "General"


def test_encrypted_and_foreign_documents() -> None:
    manifest = '<m:manifest xmlns:m="urn:m"><m:file-entry><m:encryption-data/></m:file-entry></m:manifest>'
    with pytest.raises(Unreadable) as refusal:
        read_workbook(ods("<t:table/>", **{"META-INF/manifest.xml": manifest}), "x.ods")
    assert refusal.value.code == "file-encrypted"
    text = archive({"mimetype": "application/vnd.oasis.opendocument.text", "content.xml": "<x/>"})
    with pytest.raises(Unreadable, match="OpenDocument file of another kind"):
        read_workbook(text, "x.ods")
    for broken in (ods(""), archive({"mimetype": SPREADSHEET})):
        with pytest.raises(Unreadable, match="damaged"):
            read_workbook(broken, "x.ods")


@pytest.mark.parametrize(
    "cell",
    [
        '<t:table-cell o:value-type="float"/>',
        '<t:table-cell o:value-type="float" o:value="1_0"/>',
        '<t:table-cell o:value-type="date" o:date-value="soon"/>',
        '<t:table-cell o:value-type="time" o:time-value="P"/>',
        '<t:table-cell o:value-type="odd" o:value="1"/>',
        '<t:table-cell t:number-columns-repeated="-1"/>',
    ],
)
def test_damaged_cells(cell: str) -> None:
    with pytest.raises(Unreadable, match="damaged"):
        one(cell)


def test_too_many_sheets() -> None:
    with pytest.raises(Unreadable, match="Sheets: 2") as refusal:
        read_workbook(ods("<t:table/><t:table/>"), "x", Limits(sheets=1))
    assert refusal.value.code == "file-too-large"
