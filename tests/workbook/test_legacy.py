"""The binary formats: .xls by xlwt and by LibreOffice, .xlsb by hand after [MS-XLSB]."""

from __future__ import annotations

import datetime as dt
import io
import shutil
import struct
import subprocess
import zipfile
from pathlib import Path

import pytest
import python_calamine
import xlsxwriter
import xlwt

from auditor.workbook import Cell, Kind, Limits, Unreadable, Workbook, read_workbook
from auditor.workbook.facts import rk_number
from tests.workbook.builders import archive, compound_file, xlsb


def saved(book: xlwt.Workbook) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def by_address(book: Workbook, sheet: int = 0) -> dict[str, Cell]:
    return {cell.address: cell for cell in book.sheets[sheet].cells.values()}


def sample_xls() -> bytes:
    book = xlwt.Workbook()
    sheet, away = book.add_sheet("Hood 1"), book.add_sheet("Lists")
    day, one = xlwt.easyxf(num_format_str="yyyy-mm-dd"), xlwt.easyxf(num_format_str="0.0")
    sheet.write(0, 0, "Höod Ω")
    for column, value in enumerate((98, 102, 98.25)):
        sheet.write(1, column, value, one)
    sheet.write(2, 0, dt.date(2026, 3, 5), day)
    sheet.write(3, 0, True)
    sheet.row(3).set_cell_error(1, 0x0F)
    sheet.row(3).set_cell_error(2, 0x2A)
    sheet.write(3, 3, xlwt.Formula("1/0"))
    sheet.write_merge(5, 6, 0, 2, "merged")
    sheet.row(7).hidden = True
    sheet.write(7, 0, "hidden")
    sheet.col(1).hidden = True
    away.visibility = 2
    away.write(0, 0, "x" * 9000)
    return saved(book)


def test_xls() -> None:
    book = read_workbook(sample_xls(), "x.xls")
    cells = by_address(book)
    assert book.format == "xls"
    assert cells["A1"][2:4] == (Kind.TEXT, "Höod Ω")
    assert [cells[a][2:5] for a in ("A2", "B2", "C2")] == [(Kind.NUMBER, v, "0.0") for v in (98, 102, 98.25)]
    assert cells["A3"][2:5] == (Kind.DATE, dt.datetime(2026, 3, 5), "yyyy-mm-dd")
    assert cells["A4"][2:4] == (Kind.BOOLEAN, True)
    assert cells["B4"][2:4] == (Kind.ERROR, "#VALUE!")  # the library beneath gives '' for both
    assert cells["C4"][2:4] == (Kind.ERROR, "#N/A")
    assert cells["D4"][2:] == (Kind.FORMULA, None, "General", True)  # xlwt computes nothing
    sheet, away = book.sheets
    assert (sheet.merged, sheet.hidden_rows, sheet.hidden_columns) == ([(6, 1, 7, 3)], {8}, {2})
    assert (away.name, away.hidden, away.cells[1, 1].value) == ("Lists", True, "x" * 9000)


def test_the_1904_date_system_in_xls() -> None:
    book = xlwt.Workbook()
    book.dates_1904 = 1
    book.add_sheet("S").write(0, 0, 44624, xlwt.easyxf(num_format_str="yyyy-mm-dd"))
    assert by_address(read_workbook(saved(book), "x.xls"))["A1"].value == dt.datetime(2026, 3, 5)


def test_a_few_cells_far_apart_are_refused_before_memory_is_set_aside() -> None:
    book = xlwt.Workbook()
    sheet = book.add_sheet("S")
    sheet.write(0, 0, 1)
    sheet.write(65535, 255, 1)
    with pytest.raises(Unreadable, match="Area from the first to the last filled cell of sheet 'S'") as refusal:
        read_workbook(saved(book), "x.xls")
    assert refusal.value.code == "file-too-large"


def test_claimed_dimensions_beyond_the_format_are_refused() -> None:
    data = bytearray(sample_xls())
    place = data.find(struct.pack("<HH", 0x200, 14))
    data[place + 8 : place + 12] = b"\xff\xff\xff\x7f"
    with pytest.raises(Unreadable, match="more rows or columns"):
        read_workbook(bytes(data), "x.xls")


def test_xls_of_excel_5() -> None:
    def record(kind: int, body: bytes) -> bytes:
        return struct.pack("<HH", kind, len(body)) + body

    start = struct.pack("<HHHH", 0x500, 5, 0, 0)
    code = record(0x41E, struct.pack("<HB", 164, 3) + b"0.0")
    styles = b"".join(record(0xE0, struct.pack("<HH", 0, number) + bytes(12)) for number in (0, 164, 14))
    head = record(0x809, start) + record(0x42, struct.pack("<H", 1252)) + code + styles
    sheet = (
        record(0x809, struct.pack("<HHHH", 0x500, 0x10, 0, 0))
        + record(0x200, struct.pack("<5H", 0, 3, 0, 2, 0))
        + record(0x204, struct.pack("<4H", 0, 0, 0, 4) + "Höhe".encode("cp1252"))
        + record(0x203, struct.pack("<3Hd", 1, 0, 1, 98.5))
        + record(0x203, struct.pack("<3Hd", 1, 1, 2, 46086))
        + record(0x205, struct.pack("<3HBB", 2, 0, 0, 0x2A, 1))
        + record(0x0A, b"")
    )
    size = len(head) + 4 + 13 + 4
    book = head + record(0x85, struct.pack("<IBBB", size, 0, 0, 6) + b"Hood 1") + record(0x0A, b"") + sheet
    data = compound_file({"Book": book.ljust(4096, b"\0")})
    read = read_workbook(data, "x.xls")
    assert read.sheets[0].name == "Hood 1"
    assert {a: c[2:] for a, c in by_address(read).items()} == {
        "A1": (Kind.TEXT, "Höhe", "General", False),
        "A2": (Kind.NUMBER, 98.5, "0.0", False),
        "B2": (Kind.DATE, dt.datetime(2026, 3, 5), "mm-dd-yy", False),
        "A3": (Kind.ERROR, "#N/A", "General", False),
    }


def test_records_that_claim_more_than_there_is() -> None:
    with zipfile.ZipFile(io.BytesIO(sample_xlsb())) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    table = bytearray(parts["xl/sharedStrings.bin"])
    table[11:12] = b"\x13\xff\xff\xff\x7f"  # the first text: 256 MB
    with pytest.raises(Unreadable, match="cut short"):
        read_workbook(archive(parts | {"xl/sharedStrings.bin": bytes(table)}), "x.xlsb")


@pytest.mark.parametrize(
    ("rk", "number"),
    # Worked out from the field's definition ([MS-XLS] 2.5.217): 1.0 is 3FF0000000000000h, whose upper 30 bits are kept.
    [
        (0x3FF00000, 1),
        (0x3FF00001, 0.01),
        (100 << 2 | 2, 100),
        (12345 << 2 | 3, 123.45),
        (0xFFFFFFFE, -1),
        (0xC0000000, -2),
    ],
)
def test_numbers_in_the_short_form(rk: int, number: float) -> None:
    assert rk_number(rk) == number


def cell(kind: int, column: int, value: bytes, style: int = 0) -> tuple[int, bytes]:
    return kind, struct.pack("<II", column, style) + value


def row(number: int, hidden: bool = False) -> tuple[int, bytes]:
    return 0, struct.pack("<IIH", number, 0, 300) + bytes([0, 0x10 if hidden else 0, 0]) + struct.pack("<I", 0)


def formula(kind: int, column: int, value: bytes) -> tuple[int, bytes]:
    return cell(kind, column, value + struct.pack("<HII", 0, 0, 0))


def sample_xlsb() -> bytes:
    text = struct.pack("<I", 3) + "a/b".encode("utf-16-le")
    records = [
        (129, b""),
        (148, struct.pack("<4I", 0, 9, 0, 9)),
        (390, b""),
        (60, struct.pack("<4IH", 1, 2, 2304, 0, 1)),
        (391, b""),
        (145, b""),
        row(0),
        cell(7, 0, struct.pack("<I", 1)),
        cell(2, 1, struct.pack("<I", 9825 << 2 | 3), 1),
        cell(5, 2, struct.pack("<d", 46086), 2),
        row(1, hidden=True),
        cell(3, 0, b"\x0f"),
        cell(4, 1, b"\1"),
        cell(6, 2, text),
        cell(1, 3, b""),
        row(4),
        formula(9, 0, struct.pack("<d", 98.5)),
        formula(11, 1, b"\x07"),
        formula(8, 2, text),
        formula(10, 3, b"\0"),
        (146, b""),
        (177, struct.pack("<I", 1)),
        (176, struct.pack("<4I", 8, 9, 0, 1)),
        (178, b""),
        (130, b""),
    ]
    return xlsb(records, ["unused", "Hood"], ["General", "0.0", "yyyy-mm-dd"])


def test_xlsb() -> None:
    book = read_workbook(sample_xlsb(), "x.xlsb")
    assert book.format == "xlsb"
    assert {a: c[2:] for a, c in by_address(book).items()} == {
        "A1": (Kind.TEXT, "Hood", "General", False),
        "B1": (Kind.NUMBER, 98.25, "0.0", False),
        "C1": (Kind.DATE, dt.datetime(2026, 3, 5), "yyyy-mm-dd", False),
        "A2": (Kind.ERROR, "#VALUE!", "General", False),
        "B2": (Kind.BOOLEAN, True, "General", False),
        "C2": (Kind.TEXT, "a/b", "General", False),
        "A5": (Kind.NUMBER, 98.5, "General", True),
        "B5": (Kind.ERROR, "#DIV/0!", "General", True),
        "C5": (Kind.TEXT, "a/b", "General", True),
        "D5": (Kind.BOOLEAN, False, "General", True),
    }
    (sheet,) = book.sheets
    assert (sheet.hidden_rows, sheet.hidden_columns, sheet.merged) == ({2}, {2, 3}, [(9, 1, 10, 2)])


def test_the_hand_made_xlsb_is_one_to_an_independent_reader() -> None:
    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(sample_xlsb()))
    assert book.sheet_names == ["S1"]
    assert book.get_sheet_by_index(0).to_python()[0] == ["Hood", 98.25, dt.date(2026, 3, 5), ""]


def test_xlsb_limits() -> None:
    far = xlsb(
        [(129, b""), (145, b""), row(1_048_575), cell(2, 16_383, bytes(4)), row(0), cell(2, 0, bytes(4)), (146, b"")]
    )
    for limits, says in (
        (Limits(), "Area"),
        (Limits(cells=1), "Filled cells"),
        (Limits(columns=9), "Columns"),
        (Limits(rows=9), "Rows"),
    ):
        with pytest.raises(Unreadable, match=says) as refusal:
            read_workbook(far, "x.xlsb", limits)
        assert refusal.value.code == "file-too-large"


def test_libreoffice_writes_the_same_cells_in_every_format(tmp_path: Path) -> None:
    program = shutil.which("soffice")
    if program is None:
        pytest.skip("LibreOffice is not installed")
    source = tmp_path / "source.xlsx"
    book = xlsxwriter.Workbook(str(source))
    sheet, away = book.add_worksheet("Hood 1"), book.add_worksheet("Lists")
    one, day = book.add_format({"num_format": "0.0"}), book.add_format({"num_format": "yyyy-mm-dd"})
    sheet.write_row(0, 0, ["Hood", "Höhe Ω", "<20", " a  b "])
    sheet.write_row(1, 0, [98, 102.5, 0.125, -3], one)
    sheet.write_datetime(2, 0, dt.datetime(2026, 3, 5), day)
    sheet.write_formula(3, 0, "=1/0", None, "#DIV/0!")
    sheet.write_formula(3, 1, "=NA()", None, "#N/A")
    sheet.write_formula(3, 2, "=AVERAGE(A2:B2)", one, 100.25)
    sheet.merge_range(5, 0, 6, 2, "merged")
    sheet.set_row(8, None, None, {"hidden": True})
    sheet.write(8, 0, "hidden")
    sheet.set_column(5, 6, None, None, {"hidden": True})
    away.write(0, 0, "list")
    away.hide()
    book.close()
    reference = _summary(read_workbook(source.read_bytes(), "source.xlsx"))
    for form in ("xls", "ods", "xlsx"):
        out = tmp_path / form
        command = [
            program,
            f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}",
            "--headless",
            "--convert-to",
            form,
        ]
        subprocess.run([*command, "--outdir", str(out), str(source)], check=True, capture_output=True, timeout=120)
        read = read_workbook((out / f"source.{form}").read_bytes(), f"source.{form}")
        assert read.format == form
        for ours, theirs in zip(reference, _summary(read), strict=True):
            assert theirs == ours, form


def _summary(book: Workbook) -> list:
    """All that every format can say; formats are compared without the escapes that programs add."""
    return [
        (
            (sheet.name, sheet.hidden, sheet.merged, sorted(sheet.hidden_rows), sorted(sheet.hidden_columns)),
            [c._replace(number_format=c.number_format.replace("\\", "")) for c in sheet.cells.values()],
        )
        for sheet in book.sheets
    ]
