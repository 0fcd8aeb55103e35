"""The words of field workbooks, read once from `texts.toml`."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

_NOT_IN_XML = dict.fromkeys([*range(0, 9), 11, 12, *range(14, 32), 127, 0xFFFE, 0xFFFF], " ")


@cache
def texts() -> dict[str, Any]:
    return tomllib.loads((files("auditor.documents.field") / "texts.toml").read_text(encoding="utf-8"))


def label(name: str) -> str:
    return str(texts()["labels"][name])


def check(name: str) -> str:
    return str(texts()["checks"][name])


def one_line(text: str, length: int = 200) -> str:
    """Text from the register fit for a cell: one line, no control characters."""
    return " ".join(str(text or "").translate(_NOT_IN_XML).split())[:length]


def quoted(text: str) -> str:
    """Text as a string inside a formula."""
    return '"' + text.replace('"', '""') + '"'
