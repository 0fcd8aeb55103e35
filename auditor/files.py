"""The files handed in: what lies behind the paths that a person names."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

ENDINGS = frozenset({".xlsx", ".xlsm", ".xls", ".xlsb", ".ods", ".csv"})


@dataclass(frozen=True)
class Source:
    """One file to take in. `data` is given where it does not lie on the disk."""

    file: str
    at: str
    data: bytes | None = None

    @property
    def name(self) -> str:
        return _text(self.file)

    @property
    def path(self) -> str:
        return _text(self.at)

    def load(self) -> bytes:
        return Path(self.at).read_bytes() if self.data is None else self.data


def _text(name: str) -> str:
    """A file's name as text that can be kept: bytes that are no characters shown as U+FFFD."""
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def gather(paths: Sequence[str]) -> tuple[list[Source], list[str]]:
    """(files, passed over): each path is a file, a folder (read through, in order of names) or '-' for standard input.

    A file that is named is always taken. In a folder only files with a workbook's ending are; the others are named in
    the second list, so that nothing is passed over unsaid. Raises FileNotFoundError for a path that is not there.
    """
    sources: list[Source] = []
    passed_over: list[str] = []
    for path in paths:
        if path == "-":
            sources.append(Source("standard-input", "-", sys.stdin.buffer.read()))
            continue
        found = Path(path)
        if found.is_dir():
            for each in sorted(p for p in found.rglob("*") if p.is_file()):
                if each.suffix.lower() in ENDINGS and not each.name.startswith(("~$", ".")):
                    sources.append(Source(each.name, str(each)))
                else:
                    passed_over.append(str(each))
        elif found.exists():
            sources.append(Source(found.name, str(found)))
        else:
            raise FileNotFoundError(2, "there is no such file or folder", path)
    return sources, passed_over
