"""A zip archive judged by its directory before anything is unpacked, and counted again while it is."""

from __future__ import annotations

import io
import zipfile
import zlib

from auditor.workbook.limits import Limits, damaged, encrypted, too_large

_CHUNK = 1 << 20
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # all that OPC (ECMA-376 part 2) and ODF packages may use


class Archive:
    """The parts of a package by name. Names are compared without regard to case, as OPC has it.

    Raises Unreadable when opened or read beyond `limits`, encrypted, or damaged."""

    def __init__(self, data: bytes, limits: Limits):
        self._limits = limits
        self._unpacked = 0
        # Each directory entry costs the parser time, whatever the directory says of their number. Stored archives
        # within this one carry the mark too, hence the margin.
        marks = data.count(b"PK\x01\x02")
        if marks > 10 * limits.parts:
            raise too_large("Parts in the archive", marks, limits.parts)
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
        except (zipfile.BadZipFile, ValueError, OverflowError, OSError, NotImplementedError) as error:
            raise damaged(f"its archive cannot be opened ({error})") from error
        self._parts: dict[str, zipfile.ZipInfo] = {}
        self._judge_directory()

    def _judge_directory(self) -> None:
        limits, entries = self._limits, self._zip.infolist()
        if len(entries) > limits.parts:
            raise too_large("Parts in the archive", len(entries), limits.parts)
        total = 0
        for entry in entries:
            if entry.flag_bits & 0x1:
                raise encrypted("A part of the file")
            if entry.compress_type not in _METHODS:
                raise damaged(f"part '{entry.filename[:80]}' is packed in a way that workbooks do not use")
            if entry.file_size > limits.part_bytes:
                raise too_large(f"Unpacked size of part '{entry.filename[:80]}'", entry.file_size, limits.part_bytes)
            self._judge_ratio(entry.filename, entry.file_size, entry.compress_size)
            total += entry.file_size
            key = _key(entry.filename)
            if key in self._parts:  # two programs may then see two different workbooks
                raise damaged(f"part '{entry.filename[:80]}' is in the archive twice")
            self._parts[key] = entry
        if total > limits.unpacked_bytes:
            raise too_large("Unpacked size", total, limits.unpacked_bytes, "bytes")

    def _judge_ratio(self, name: str, unpacked: int, packed: int) -> None:
        if unpacked > self._limits.ratio_floor_bytes and unpacked > self._limits.compression_ratio * max(packed, 1):
            ratio = unpacked / max(packed, 1)
            raise too_large(f"Compression ratio of part '{name[:80]}'", ratio, self._limits.compression_ratio)

    def __contains__(self, name: str) -> bool:
        return _key(name) in self._parts

    def names(self) -> list[str]:
        """All part names in lower case, with forward slashes and without a leading one."""
        return list(self._parts)

    def read(self, name: str) -> bytes:
        """The bytes of one part. Raises KeyError if there is none of that name."""
        entry = self._parts[_key(name)]
        chunks: list[bytes] = []
        size = 0
        try:
            with self._zip.open(entry) as stream:
                while chunk := stream.read(_CHUNK):
                    size += len(chunk)
                    self._count(entry, size, len(chunk))
                    chunks.append(chunk)
        except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, ValueError) as error:
            raise damaged(f"part '{entry.filename[:80]}' cannot be unpacked ({error})") from error
        if size != entry.file_size:
            raise damaged(f"part '{entry.filename[:80]}' is cut short")
        return b"".join(chunks)

    def _count(self, entry: zipfile.ZipInfo, size: int, more: int) -> None:
        self._unpacked += more
        if size > self._limits.part_bytes:
            raise too_large(f"Unpacked size of part '{entry.filename[:80]}'", size, self._limits.part_bytes, "bytes")
        if self._unpacked > self._limits.unpacked_bytes:
            raise too_large("Unpacked size", self._unpacked, self._limits.unpacked_bytes, "bytes")


def _key(name: str) -> str:
    return name.replace("\\", "/").lstrip("/").lower()
