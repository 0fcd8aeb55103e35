"""Texts of an Office Open XML workbook: shared strings, rich text, escapes."""

from __future__ import annotations

import re

from lxml import etree

from auditor.workbook import xml_guard
from auditor.workbook.limits import Limits, too_large

_ESCAPE = re.compile(r"(?:_x[0-9A-Fa-f]{4}_)+")


def unescape(text: str) -> str:
    """`text` with its _xHHHH_ escapes resolved (ECMA-376 part 1, 22.9.2.19). A half of a surrogate pair and the null
    character, which no text can hold, become U+FFFD."""
    return _ESCAPE.sub(_characters, text) if "_x" in text else text


def _characters(match: re.Match[str]) -> str:
    units = [int(code, 16) for code in re.findall(r"_x([0-9A-Fa-f]{4})_", match[0])]
    raw = b"".join(unit.to_bytes(2, "little") for unit in units)
    return raw.decode("utf-16-le", "replace").replace("\0", "�")


def rich_text(element: etree._Element, ns: str) -> str:
    """The text of an `si` or `is` element: its own `t`, or those of its runs; phonetic runs are left out."""
    parts = []
    for child in element:
        if child.tag == f"{ns}t":
            parts.append(child.text or "")
        elif child.tag == f"{ns}r":
            parts.extend(t.text or "" for t in child.iterfind(f"{ns}t"))
    return unescape("".join(parts))


def read_shared_strings(data: bytes, part: str, limits: Limits) -> dict[str, str]:
    """Shared strings by their index, written as cells write it ('0', '1', ...). Raises Unreadable."""
    strings: dict[str, str] = {}
    for index, (_, item) in enumerate(xml_guard.stream(data, part, b"si>", ("{*}si",))):
        text = rich_text(item, item.tag[:-2])
        item.clear()
        if len(text) > limits.text_length:
            raise too_large(f"Length of shared text {index}", len(text), limits.text_length, "characters")
        strings[str(index)] = text
    return strings
