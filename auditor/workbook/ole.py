"""Streams of an OLE compound file, the container of .xls and of encrypted workbooks ([MS-CFB])."""

from __future__ import annotations

import struct

from auditor.workbook.limits import damaged

SIGNATURE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_LAST_SECTOR = 0xFFFFFFFA  # numbers from here on are marks, not sectors
_STREAM, _ROOT = 2, 5


class CompoundFile:
    """Streams by name in lower case (those of sub-storages too). Raises Unreadable where the chains are broken.

    Nothing is allocated by what the header claims: every chain is bounded by the bytes that are there."""

    def __init__(self, data: bytes):
        if len(data) < 512 or not data.startswith(SIGNATURE):
            raise damaged("its header is cut short")
        self._data = data
        shift, mini_shift = struct.unpack_from("<HH", data, 30)
        if shift not in (9, 12) or mini_shift != 6:
            raise damaged("its header does not make sense")
        self._size, self._mini_size = 1 << shift, 1 << mini_shift
        self._count = len(data) // self._size + 1
        first_directory, _, self._cutoff, first_mini, _, first_difat, _ = struct.unpack_from("<7I", data, 48)
        self._fat = self._read_fat(first_difat)
        self._entries: dict[str, tuple[int, int]] = {}
        root = (0, 0)
        directory = self._chain(first_directory)
        for offset in range(0, len(directory) - 127, 128):
            name, kind, start, size = self._entry(directory, offset)
            if kind == _ROOT:
                root = (start, size)
            elif kind == _STREAM:
                self._entries.setdefault(name, (start, size))
        mini_fat = self._chain(first_mini) if first_mini < _LAST_SECTOR else b""
        self._mini_fat = struct.unpack(f"<{len(mini_fat) // 4}I", mini_fat[: len(mini_fat) // 4 * 4])
        self._mini = self._chain(root[0])[: root[1]] if root[1] else b""

    def __contains__(self, name: str) -> bool:
        return name in self._entries

    def read(self, name: str) -> bytes:
        start, size = self._entries[name]
        if not size:
            return b""
        stream = self._mini_chain(start) if size < self._cutoff else self._chain(start)
        if len(stream) < size:
            raise damaged(f"its stream '{name}' is cut short")
        return stream[:size]

    def _entry(self, directory: bytes, offset: int) -> tuple[str, int, int, int]:
        length = struct.unpack_from("<H", directory, offset + 64)[0]
        name = directory[offset : offset + max(0, min(length, 64) - 2)].decode("utf-16-le", "replace").lower()
        start, size = struct.unpack_from("<II", directory, offset + 116)
        return name, directory[offset + 66], start, size

    def _sector(self, number: int) -> bytes:
        start = (number + 1) * self._size
        return self._data[start : start + self._size]

    def _read_fat(self, next_difat: int) -> tuple[int, ...]:
        numbers = list(struct.unpack_from("<109I", self._data, 76))
        for _ in range(self._count):
            sector = self._sector(next_difat) if next_difat < _LAST_SECTOR else b""
            if len(sector) < self._size:
                break
            *more, next_difat = struct.unpack(f"<{self._size // 4}I", sector)
            numbers.extend(more)
        sectors = dict.fromkeys(number for number in numbers if number < self._count)
        table = b"".join(self._sector(number) for number in sectors)
        return struct.unpack(f"<{len(table) // 4}I", table[: len(table) // 4 * 4])

    def _chain(self, number: int) -> bytes:
        return _follow(number, self._fat, self._sector, self._count)

    def _mini_chain(self, number: int) -> bytes:
        size, mini = self._mini_size, self._mini
        return _follow(number, self._mini_fat, lambda n: mini[n * size : (n + 1) * size], len(mini) // size + 1)


def _follow(number: int, table: tuple[int, ...], sector, most: int) -> bytes:
    parts: list[bytes] = []
    while number < _LAST_SECTOR:
        if number >= len(table) or len(parts) >= most:
            raise damaged("a chain of its sectors is broken")
        parts.append(sector(number))
        number = table[number]
    return b"".join(parts)
