"""The cells of a sheet part written in the plain form that spreadsheet programs write, cut out by a regular grammar.

Making an object of every XML element is most of the cost of reading. The usual writers use so small a part of XML
between <sheetData> and </sheetData> that a regular expression describes it whole. It is used only where it accounts for
every single character there, and the rest of the part is parsed as XML; any doubt (another prefix, comment, entity,
attribute order, control character ...) and the sheet is left to the XML parser, with the same result for all that is
well-formed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

# One cell as both readers hand it on: whole, reference, style, kind, formula, text, inline text. Absent is '', save
# that `text` is None where the XML parser saw no value.
Token = tuple[str, str, str, str, str, str | None, str]

_OPEN, _CLOSE = b"<sheetData>", b"</sheetData>"
_CONTROLS = bytes(code for code in range(32) if code not in (9, 10, 13))
_DECLARATION = re.compile(
    rb"(?:<\?xml version=[\"']1\.0[\"'](?: encoding=[\"'](?i:utf-8)[\"'])?(?: standalone=[\"'](?:yes|no)[\"'])? ?\?>)?"
    rb"\s*<worksheet\b"
)
_NAME = "[A-Za-z][A-Za-z0-9]*(?::[A-Za-z][A-Za-z0-9]*)?"
_ROW = re.compile(rf'<row r="([0-9]+)"((?: {_NAME}="[^"<&]*")*) ?(/?)>')
_TEXT = r"[^<&]*(?:&(?:amp|lt|gt|quot|apos);[^<&]*)*"
_CELL = re.compile(
    r'(<c r="([A-Z]+[0-9]+)"(?: s="([0-9]+)")?(?: t="([A-Za-z]+)")?(?:/>|>'
    rf'(<f(?: [a-z][a-z0-9]*="[^"<&]*")*(?:/>|>{_TEXT}</f>))?'
    rf'(?:<v(?: xml:space="preserve")?>({_TEXT})</v>|<v ?/>)?'
    rf'(?:<is><t(?: xml:space="preserve")?>({_TEXT})</t></is>)?'
    r"</c>))"
)
_ATTRIBUTE = re.compile(r' ([A-Za-z0-9:]+)="([^"]*)"')
_ENTITY = re.compile(r"&(amp|lt|gt|quot|apos);")
_CHARACTERS = {"amp": "&", "lt": "<", "gt": ">", "quot": '"', "apos": "'"}


class NotPlain(Exception):
    """The part is not in the plain form throughout."""


def split(data: bytes) -> tuple[bytes, str]:
    """The part without its rows, to be parsed as XML, and the rows. Raises NotPlain."""
    start, end = data.find(_OPEN), data.find(_CLOSE)
    if start < 0 or end < start or data.find(_OPEN, start + 1) >= 0 or data.find(_CLOSE, end + 1) >= 0:
        raise NotPlain
    rows = data[start + len(_OPEN) : end]
    if not _DECLARATION.match(data) or _is_doubtful(data, rows):
        raise NotPlain
    try:
        return data[: start + len(_OPEN)] + data[end:], rows.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotPlain from error


def _is_doubtful(data: bytes, rows: bytes) -> bool:
    """Whether there are comments, types, line ends to convert, or characters that XML forbids. (One byte is sought
    far faster than two, and mostly is not there.)"""
    if (b"!" in data and b"<!" in data) or (b"]" in rows and b"]]>" in rows) or b"\r" in rows:
        return True
    if not rows.isascii() and (b"\xef\xbf\xbe" in rows or b"\xef\xbf\xbf" in rows):
        return True
    return len(rows.translate(None, _CONTROLS)) != len(rows)


def rows(text: str, prefixes: frozenset[str]) -> Iterator[tuple[str, dict[str, str], list[Token]]]:
    """Each row's number, its attributes that can hide it, and its cells. `prefixes` are those declared around it.

    Raises NotPlain."""
    pieces = text.split("</row>")
    for number, piece in enumerate(pieces, 1):
        position = 0
        while opened := _ROW.match(piece, position):
            position = opened.end()
            attributes = _hiding(opened[2], prefixes)
            if not opened[3]:
                break
            yield opened[1], attributes, []
        else:
            if piece[position:].strip(" \n\t") or number != len(pieces):
                raise NotPlain
            return
        cells = _CELL.findall(piece, position)
        if sum([len(cell[0]) for cell in cells]) != len(piece) - position or number == len(pieces):
            raise NotPlain
        yield opened[1], attributes, cells


@lru_cache(maxsize=4096)
def _hiding(attributes: str, prefixes: frozenset[str]) -> dict[str, str]:
    found = _ATTRIBUTE.findall(attributes)
    names = {name for name, _ in found}
    if len(names) != len(found) or "r" in names or "xmlns" in names:
        raise NotPlain
    if not {name.partition(":")[0] for name in names if ":" in name} <= prefixes:
        raise NotPlain
    return {name: value for name, value in found if name in ("hidden", "ht")}


def resolve(text: str) -> str:
    """`text`, as the grammar let it pass, with the five entities of XML resolved."""
    if "&" not in text:
        return text
    return _ENTITY.sub(lambda match: _CHARACTERS[match[1]], text)
