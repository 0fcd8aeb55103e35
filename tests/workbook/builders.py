"""Small files made by hand, so that a test can hold what no spreadsheet program would write."""

from __future__ import annotations

import io
import struct
import zipfile

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
REL = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT_REL = "http://purl.oclc.org/ooxml/officeDocument/relationships"
PACKAGE_REL = "http://schemas.openxmlformats.org/package/2006/relationships"


def archive(parts: dict[str, str | bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", method) as package:
        for name, content in parts.items():
            package.writestr(name, content)
    return buffer.getvalue()


def relationships(*items: tuple[str, str, str], rel: str = REL) -> str:
    """`items` are (id, last part of the type, target)."""
    body = "".join(f'<Relationship Id="{i}" Type="{rel}/{kind}" Target="{target}"/>' for i, kind, target in items)
    return f'<?xml version="1.0" encoding="UTF-8"?><Relationships xmlns="{PACKAGE_REL}">{body}</Relationships>'


def worksheet(rows: str, around: str = "", before: str = "", ns: str = MAIN) -> str:
    head = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    return f'{head}<worksheet xmlns="{ns}">{before}<sheetData>{rows}</sheetData>{around}</worksheet>'


def xlsx_parts(
    *sheets: str, strings: str | None = None, styles: str | None = None, properties: str = "", ns: str = MAIN,
    rel: str = REL,
) -> dict[str, str | bytes]:  # fmt: skip
    """The parts of a workbook whose sheets 'S1', 'S2' ... are the given XML texts. `strings` is the content of the
    string table, `styles` that of the style sheet."""
    listed = "".join(f'<sheet name="S{n}" sheetId="{n}" r:id="rId{n}"/>' for n in range(1, len(sheets) + 1))
    related = [(f"rId{n}", "worksheet", f"worksheets/sheet{n}.xml") for n in range(1, len(sheets) + 1)]
    parts: dict[str, str | bytes] = {
        "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>',
        "_rels/.rels": relationships(("rId1", "officeDocument", "xl/workbook.xml"), rel=rel),
        "xl/workbook.xml": f'<workbook xmlns="{ns}" xmlns:r="{rel}">{properties}<sheets>{listed}</sheets></workbook>',
    }
    for number, sheet in enumerate(sheets, 1):
        parts[f"xl/worksheets/sheet{number}.xml"] = sheet
    if strings is not None:
        parts["xl/sharedStrings.xml"] = f'<sst xmlns="{ns}">{strings}</sst>'
        related.append(("rIdT", "sharedStrings", "sharedStrings.xml"))
    if styles is not None:
        parts["xl/styles.xml"] = f'<styleSheet xmlns="{ns}">{styles}</styleSheet>'
        related.append(("rIdF", "styles", "styles.xml"))
    parts["xl/_rels/workbook.xml.rels"] = relationships(*related, rel=rel)
    return parts


def xlsx(*sheets: str, **options: str | None) -> bytes:
    return archive(xlsx_parts(*sheets, **options))


def compound_file(streams: dict[str, bytes]) -> bytes:
    """An OLE compound file ([MS-CFB] version 3) with the given streams, each of 4,096 bytes or more."""
    size = 512
    names = list(streams)
    directory_sectors = (len(names) + 1 + 3) // 4
    position, starts, chains, body = 1 + directory_sectors, [], [], b""
    for content in streams.values():
        count = -(-len(content) // size)
        starts.append(position)
        chains.append((position, count))
        position += count
        body += content.ljust(count * size, b"\0")
    fat = [0xFFFFFFFD]
    fat += [n + 2 for n in range(directory_sectors - 1)] + [0xFFFFFFFE]
    for start, count in chains:
        fat += [start + n + 1 for n in range(count - 1)] + [0xFFFFFFFE]
    assert len(fat) <= 128, "one sector of the table is enough for a test"
    fat += [0xFFFFFFFF] * (128 - len(fat))
    entries = [_entry("Root Entry", 5, 0xFFFFFFFE, 0, 1)]
    for index, name in enumerate(names):
        entries.append(_entry(name, 2, starts[index], len(streams[name]), 0xFFFFFFFF))
    entries += [bytes(128)] * (directory_sectors * 4 - len(entries))
    header = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16) + struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6) + bytes(6)
    header += struct.pack("<IIIIIIIII", 0, 1, 1, 0, 4096, 0xFFFFFFFE, 0, 0xFFFFFFFE, 0)
    header += struct.pack("<109I", 0, *[0xFFFFFFFF] * 108)
    return header + struct.pack("<128I", *fat) + b"".join(entries) + body


def _entry(name: str, kind: int, start: int, size: int, child: int) -> bytes:
    raw = name.encode("utf-16-le")
    body = raw.ljust(64, b"\0") + struct.pack("<HBB", len(raw) + 2, kind, 1)
    return body + struct.pack("<III", 0xFFFFFFFF, 0xFFFFFFFF, child) + bytes(36) + struct.pack("<IQ", start, size)


def xlsb(records: list[tuple[int, bytes]], strings: list[str] = (), formats: list[str] = ()) -> bytes:
    """A binary workbook ([MS-XLSB]) with one sheet 'S1' of these records; cell style n has format n of `formats`."""
    book = [
        (131, b""), (153, struct.pack("<III", 0, 0, 0)), (143, b""),
        (156, struct.pack("<II", 0, 1) + _wide("rId1") + _wide("S1")), (144, b""), (132, b""),
    ]  # fmt: skip
    styles = [(278, b""), (615, struct.pack("<I", len(formats)))]
    styles += [(44, struct.pack("<H", 164 + n) + _wide(code)) for n, code in enumerate(formats)]
    styles += [(616, b""), (617, struct.pack("<I", len(formats)))]
    styles += [(47, struct.pack("<HH", 0, 164 + n) + bytes(12)) for n in range(len(formats))] + [(618, b""), (279, b"")]
    shared = [(159, struct.pack("<II", len(strings), len(strings)))]
    shared += [(19, b"\0" + _wide(text)) for text in strings] + [(160, b"")]
    return archive(
        {
            "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>',
            "_rels/.rels": relationships(("rId1", "officeDocument", "xl/workbook.bin")),
            "xl/workbook.bin": binary_records(book),
            "xl/_rels/workbook.bin.rels": relationships(
                ("rId1", "worksheet", "worksheets/sheet1.bin"),
                ("rId2", "styles", "styles.bin"),
                ("rId3", "sharedStrings", "sharedStrings.bin"),
            ),
            "xl/worksheets/sheet1.bin": binary_records(records),
            "xl/styles.bin": binary_records(styles),
            "xl/sharedStrings.bin": binary_records(shared),
        }
    )


def binary_records(records: list[tuple[int, bytes]]) -> bytes:
    out = b""
    for kind, body in records:
        out += bytes([kind]) if kind < 128 else bytes([(kind & 0x7F) | 0x80, kind >> 7])
        size = len(body)
        while True:
            out += bytes([size & 0x7F | (0x80 if size > 127 else 0)])
            size >>= 7
            if not size:
                break
        out += body
    return out


def _wide(text: str) -> bytes:
    return struct.pack("<I", len(text)) + text.encode("utf-16-le")
