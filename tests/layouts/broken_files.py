"""Faults of a whole file: what is not a workbook, is damaged, locked, or would fill the machine."""

from __future__ import annotations

import io
import struct
import zipfile
from random import Random

from tests.layouts.writers import STAMP

MANIFEST = b"""<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.2">
<manifest:file-entry manifest:media-type="application/vnd.oasis.opendocument.spreadsheet" manifest:full-path="/"/>
<manifest:file-entry manifest:media-type="text/xml" manifest:full-path="content.xml" manifest:size="4000">
<manifest:encryption-data manifest:checksum-type="SHA1/1K" manifest:checksum="2jmj7l5rSw0yVb/vlWAYkK/YBwk=">
<manifest:algorithm manifest:algorithm-name="Blowfish CFB" manifest:initialisation-vector="AAAAAAAAAAA="/>
<manifest:key-derivation manifest:key-derivation-name="PBKDF2" manifest:iteration-count="1024"
 manifest:salt="AAAAAAAAAAAAAAAAAAAAAA=="/></manifest:encryption-data></manifest:file-entry></manifest:manifest>"""


def _zip(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, body in parts.items():
            archive.writestr(zipfile.ZipInfo(name, STAMP), body, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def encrypted_ods(rng: Random) -> bytes:
    """An open document whose manifest says that its content is encrypted (ODF 1.2 part 3, section 3.4)."""
    mime = b"application/vnd.oasis.opendocument.spreadsheet"
    return _zip({"mimetype": mime, "META-INF/manifest.xml": MANIFEST, "content.xml": rng.randbytes(4000)})


def swollen(data: bytes) -> bytes:
    """The workbook with one part whose directory entry declares 3 GiB, as a file made to fill a disk would."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/comments9.xml"] = b"<comments>" + b" " * 200_000 + b"</comments>"
    packed = bytearray(_zip(parts))
    at = packed.rindex(b"xl/comments9.xml") - 46  # the directory's entry: its name stands 46 bytes in
    assert packed[at : at + 4] == b"PK\x01\x02"
    struct.pack_into("<I", packed, at + 24, 3 << 30)
    return bytes(packed)


def spoil_file(fault: str, seed: int, data: bytes) -> tuple[bytes, str]:
    """(bytes, file ending) of a file with this fault."""
    rng = Random(f"{fault} {seed}")
    page = f"<html><body><table><tr><td>Hood ID</td><td>B-{seed}</td></tr></table></body></html>".encode()
    return {
        "not-a-workbook": (f"plain text {seed}, renamed".encode(), "xlsx"),
        "web-page": (page, "xls"),
        "picture": (b"\x89PNG\r\n\x1a\n" + rng.randbytes(900), "xlsx"),
        "damaged": (data[: len(data) // 2], "xlsx"),
        "empty-file": (b"\n" * (seed % 10_000), "xlsx"),
        "encrypted": (encrypted_ods(rng), "ods"),
        "swollen": (swollen(data), "xlsx"),
    }[fault]
