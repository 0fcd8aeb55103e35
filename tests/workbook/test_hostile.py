"""Files made to hurt: every one gets a clear refusal with the right code, in bounded time and memory."""

from __future__ import annotations

import io
import random
import re
import struct
import zipfile

import pytest
import xlsxwriter
import xlwt

from auditor.workbook import Limits, Unreadable, Workbook, read_workbook
from tests.workbook.builders import MAIN, archive, compound_file, relationships, worksheet, xlsx, xlsx_parts

ONE = worksheet('<row r="1"><c r="A1"><v>1</v></c></row>')


def refusal(data: bytes, limits: Limits | None = None, name: str = "x.xlsx") -> Unreadable:
    with pytest.raises(Unreadable) as caught:
        read_workbook(data, name, limits)
    return caught.value


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        (Limits(file_bytes=100), r"Size of the file: [\d,]+ bytes, where at most 100 bytes"),
        (Limits(unpacked_bytes=500), r"Unpacked size: [\d,]+ bytes, where at most 500 bytes"),
        (Limits(part_bytes=150), r"Unpacked size of part"),
        (Limits(parts=3), r"Parts in the archive: 5, where at most 3"),
        (Limits(sheets=1), r"Sheets: 2, where at most 1"),
        (Limits(cells=1), r"Filled cells: 2, where at most 1"),
        (Limits(merged_areas=1), r"Merged areas in sheet 'S1': 2"),
        (Limits(ratio_floor_bytes=300, compression_ratio=2), r"Compression ratio of part"),
    ],
)
def test_each_limit_says_which_it_is_and_by_how_much(limits: Limits, says: str) -> None:
    wide = worksheet(
        '<row r="1"><c r="A1"><v>1</v></c></row>',
        '<mergeCells><mergeCell ref="A1:B1"/><mergeCell ref="A2:B2"/></mergeCells>' + " " * 800,
    )
    parts = xlsx_parts(wide, ONE)
    del parts["[Content_Types].xml"]
    found = refusal(archive(parts), limits)
    assert found.code == "file-too-large"
    assert re.search(says, found.detail), found.detail


def test_a_bomb_is_refused_by_the_directory() -> None:
    parts = xlsx_parts(ONE) | {"xl/comments1.xml": b" " * 60_000_000}
    data = archive(parts)
    assert len(data) < 100_000
    assert "Compression ratio" in refusal(data).detail


def test_a_directory_that_lies_about_sizes_is_found_out() -> None:
    sheet = worksheet('<row r="1"><c r="A1"><v>1</v></c></row>', " " * 50_000)
    data = bytearray(xlsx(sheet))
    true_size = struct.pack("<I", len(sheet))
    assert data.count(true_size) == 2  # local header and directory
    for small in (10, 1000):
        lying = bytes(data).replace(true_size, struct.pack("<I", small))
        assert refusal(lying).code == "file-unreadable"


def test_methods_of_packing_that_workbooks_do_not_use() -> None:
    assert "packed in a way" in refusal(archive(xlsx_parts(ONE), zipfile.ZIP_LZMA)).detail


def test_two_parts_of_one_name() -> None:
    buffer = io.BytesIO(xlsx(ONE))
    with zipfile.ZipFile(buffer, "a") as package:
        package.writestr("xl/WORKSHEETS/sheet1.xml", ONE.replace("<v>1<", "<v>2<"))
    assert "twice" in refusal(buffer.getvalue()).detail


def test_encrypted_parts() -> None:
    data = bytearray(xlsx(ONE))
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = data.find(mark)
        while place >= 0:
            data[place + offset] |= 1
            place = data.find(mark, place + 4)
    assert refusal(bytes(data)).code == "file-encrypted"


def test_an_encrypted_workbook() -> None:
    data = compound_file({"EncryptionInfo": b"\x04\0\x04\0".ljust(4096), "EncryptedPackage": b"\1" * 5000})
    assert refusal(data).code == "file-encrypted"


def test_an_xls_with_a_password() -> None:
    records = struct.pack("<HHHHHHII", 0x809, 16, 0x600, 5, 0, 0, 0, 0) + struct.pack("<HHH", 0x2F, 2, 1)
    assert refusal(compound_file({"Workbook": records.ljust(4096, b"\0")}), name="x.xls").code == "file-encrypted"


def test_a_compound_file_of_another_kind() -> None:
    assert "another kind" in refusal(compound_file({"WordDocument": bytes(4096)})).detail


@pytest.mark.parametrize("part", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/sharedStrings.xml", "_rels/.rels"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-7"])
def test_document_types_and_entities_are_refused(part: str, encoding: str) -> None:
    parts = xlsx_parts(ONE, strings="<si><t>a</t></si>")
    text = str(parts[part])
    text = text[text.index("?>") + 2 :] if text.startswith("<?xml") else text
    entities = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10 if n else "ha"}">' for n in range(9))
    bomb = f'<?xml version="1.0" encoding="{encoding}"?><!DOCTYPE x [{entities}]>{text}'
    found = refusal(archive(parts | {part: bomb.encode(encoding)}))
    assert found.code == "file-unreadable"


def test_an_external_entity_is_not_fetched(tmp_path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    head = f'<!DOCTYPE x [<!ENTITY e SYSTEM "{secret.as_uri()}">]>'
    rows = '<row r="1"><c r="A1" t="str"><v>&e;</v></c></row>'
    sheet = f'{head}<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'
    found = refusal(xlsx(sheet))
    assert "entities" in found.detail
    assert "secret" not in found.detail


def test_xml_nested_without_end() -> None:
    deep = worksheet('<row r="1"><c r="A1">' + "<x>" * 100_000 + "</x>" * 100_000 + "</c></row>")
    assert refusal(xlsx(deep)).code == "file-unreadable"


@pytest.mark.parametrize("rows", ["<c/>" * 1_600_000, '<row r="1">' + "<c/>" * 2_100_000 + "</row>"])
def test_swarms_of_tiny_elements(rows: str) -> None:
    found = refusal(archive(xlsx_parts(worksheet(rows + "<!-- -->")), zipfile.ZIP_STORED))
    assert "XML marks" in found.detail or "outside its rows" in found.detail


def test_a_style_sheet_too_big_for_a_tree() -> None:
    parts = xlsx_parts(ONE, styles="<cellXfs>" + "<xf/>" * 3_100_000 + "</cellXfs>")
    assert "XML marks in part 'xl/styles.xml'" in refusal(archive(parts, zipfile.ZIP_STORED)).detail


def test_one_endless_text() -> None:
    sheet = worksheet(f'<row r="1"><c r="A1" t="str"><v>{"x" * 20_000_000}</v></c></row>')
    assert refusal(archive(xlsx_parts(sheet), zipfile.ZIP_STORED)).code in ("file-too-large", "file-unreadable")


def test_whole_columns_merged_again_and_again() -> None:
    rows = "".join(f'<row r="{r}"><c r="A{r}"><v>1</v></c></row>' for r in range(1, 3000))
    merges = "<mergeCells>" + '<mergeCell ref="B1:XFD1048576"/>' * 20_000 + "</mergeCells>"
    assert "overlap" in refusal(xlsx(worksheet(rows, merges)), Limits(compression_ratio=10**6)).detail


def test_the_last_cell_of_a_sheet_costs_nothing() -> None:
    book = read_workbook(xlsx(worksheet('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>')), "x.xlsx")
    assert list(book.sheets[0].cells) == [(1048576, 16384)]


@pytest.mark.parametrize("place", ["1048577", "99999999999"])
def test_rows_beyond_the_last(place: str) -> None:
    assert refusal(xlsx(worksheet(f'<row r="{place}"><c r="A{place}"><v>1</v></c></row>'))).code.startswith("file-")


def test_relationships_that_lead_out_of_the_package_or_in_a_ring() -> None:
    parts = xlsx_parts(ONE)
    for target in ("../../../../etc/passwd", "http://127.0.0.1:9/x.xml", "workbook.xml"):
        parts["xl/_rels/workbook.xml.rels"] = relationships(("rId1", "worksheet", target))
        found = archive(parts)
        assert ("something else" if target == "workbook.xml" else "missing") in refusal(found).detail


@pytest.mark.parametrize("keep", [1, 3, 4, 30, 0.3, 0.6, 0.9, 0.99])
def test_truncated_files(keep: float) -> None:
    for data, name in ((xlsx(ONE), "x.xlsx"), (_xls(), "x.xls")):
        found = _read(data[: keep if isinstance(keep, int) else int(keep * len(data))], name)
        # Part of a file is never read as if it were the whole.
        assert isinstance(found, Unreadable) or found.sheets == read_workbook(data, name).sheets


def test_nothing_but_a_refusal_comes_out(monkeypatch: pytest.MonkeyPatch) -> None:
    for error in (MemoryError(), RecursionError("deep"), KeyError("x"), OSError("x"), AssertionError()):

        def fail(*_, error=error):
            raise error

        monkeypatch.setattr("auditor.workbook.xlsx.read_sheet", fail)
        found = refusal(xlsx(ONE))
        assert found.code == ("file-too-large" if isinstance(error, MemoryError) else "file-unreadable")
        assert type(error).__name__ in found.detail


def _read(data: bytes, name: str) -> Workbook | Unreadable:
    try:
        return read_workbook(data, name, Limits(unpacked_bytes=20_000_000, cells=50_000, binary_area=200_000))
    except Unreadable as error:
        found = error
    assert found.code in ("file-unreadable", "file-encrypted", "file-too-large")
    assert found.detail.endswith(("resend it", "without unused cells and pictures", "save the survey as .xlsx"))
    return found


def _xls() -> bytes:
    book, out = xlwt.Workbook(), io.BytesIO()
    sheet = book.add_sheet("Hood")
    for row in range(20):
        sheet.write(row, 0, f"label {row}")
        sheet.write(row, 1, row * 1.5)
    sheet.write_merge(22, 23, 0, 1, "merged")
    book.save(out)
    return out.getvalue()


def _xlsx() -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    sheet = book.add_worksheet("Hood")
    for row in range(20):
        sheet.write(row, 0, f"label {row}")
        sheet.write(row, 1, row * 1.5)
    sheet.merge_range(22, 0, 23, 1, "merged")
    book.close()
    return out.getvalue()


def _mutate(data: bytes, chance: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(chance.choice([1, 2, 8, 40])):
        place, sort = chance.randrange(len(out)), chance.randrange(4)
        if sort == 0:
            out[place] = chance.randrange(256)
        elif sort == 1:
            del out[place : place + chance.randrange(1, 60)]
        elif sort == 2:
            out[place:place] = out[chance.randrange(len(out)) :][: chance.randrange(1, 60)]
        else:
            out[place : place + 4] = struct.pack("<I", chance.choice([0, 1, 0xFFFFFFFF, 0x7FFFFFFF, 0x10000]))
        if not out:
            return b""
    return bytes(out)


@pytest.mark.parametrize("kind", ["xlsx", "xls", "inner", "ods", "xlsb"])
def test_random_damage_gives_a_workbook_or_a_refusal(kind: str) -> None:
    from tests.workbook.test_legacy import sample_xlsb
    from tests.workbook.test_ods import sample_ods

    chance = random.Random(kind)
    base = {"xlsx": _xlsx, "inner": _xlsx, "xls": _xls, "ods": sample_ods, "xlsb": sample_xlsb}[kind]()
    outcomes = {Workbook: 0, Unreadable: 0}
    for _ in range(150):
        if kind in ("inner", "ods", "xlsb"):  # damage inside the parts, under checksums that are right
            package = zipfile.ZipFile(io.BytesIO(base))
            parts = {name: package.read(name) for name in package.namelist()}
            name = chance.choice([n for n in parts if n.endswith((".xml", ".rels", ".bin"))])
            data = archive(parts | {name: _mutate(parts[name], chance)})
        else:
            data = _mutate(base, chance)
        outcomes[type(_read(data, f"x.{kind}"))] += 1
    assert outcomes[Unreadable] > 20
    print(kind, {sort.__name__: count for sort, count in outcomes.items()})
