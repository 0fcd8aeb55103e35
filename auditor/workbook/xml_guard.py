"""XML from a stranger: no document type, no entities, no network, and one way to say that it is broken."""

from __future__ import annotations

import io
from collections.abc import Iterator

from lxml import etree

from auditor.workbook.cells import Unreadable
from auditor.workbook.limits import damaged, too_crowded, too_large

# A tree takes many times the memory of its text, the more the shorter its elements are.
_TREE_BYTES = 32_000_000
_TREE_MARKS = 3_000_000
_UNIT_MARKS = 1_000_000
_DOCTYPES = tuple("<!DOCTYPE".encode(code) for code in ("utf-8", "utf-16-le", "utf-16-be"))


def parse(data: bytes, part: str) -> etree._Element:
    """The root element of `data`. Raises Unreadable if it is not well-formed, brings a document type, or is too big."""
    _refuse_doctype(data, part)
    if len(data) > _TREE_BYTES:
        raise too_large(f"Size of part '{part}'", len(data), _TREE_BYTES, "bytes")
    if (marks := data.count(b"<")) > _TREE_MARKS:
        raise too_crowded(part, marks, _TREE_MARKS)
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, huge_tree=False, load_dtd=False, remove_comments=True,
        remove_pis=True, collect_ids=False,
    )  # fmt: skip
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError, LookupError) as error:
        raise damaged(f"part '{part}' is not well-formed ({_first_line(error)})") from error
    _refuse_parsed_doctype(root, part)
    return root


def stream(data: bytes, part: str, unit: bytes, tags: tuple[str, ...], events: tuple[str, ...] = ("end",)) -> Iterator:
    """Pairs (event, element) for the elements named in `tags`, as they are met; for parts too big for a tree.

    `unit` ends the closing tag of what the caller clears after use (b'row>'). Raises as `parse` does."""
    _refuse_doctype(data, part)
    if (marks := max(piece.count(b"<") for piece in data.split(unit))) > _UNIT_MARKS:
        raise too_crowded(part, marks, _UNIT_MARKS)
    parser = etree.iterparse(
        io.BytesIO(data), events=events, tag=tags, resolve_entities=False, no_network=True, huge_tree=False,
        load_dtd=False, remove_comments=True, remove_pis=True, collect_ids=False,
    )  # fmt: skip
    try:
        yield from parser
    except (etree.XMLSyntaxError, ValueError, LookupError) as error:
        raise damaged(f"part '{part}' is not well-formed ({_first_line(error)})") from error
    if parser.root is not None:
        _refuse_parsed_doctype(parser.root, part)


def _refuse_doctype(data: bytes, part: str) -> None:
    if any(mark in data for mark in _DOCTYPES):
        raise _doctype(part)


def _refuse_parsed_doctype(root: etree._Element, part: str) -> None:
    if root.getroottree().docinfo.internalDTD is not None:  # written in an encoding that the byte search cannot see
        raise _doctype(part)


def _doctype(part: str) -> Unreadable:
    return Unreadable(
        "file-unreadable",
        f"Part '{part}' of the file declares a document type or entities, which no spreadsheet program writes; "
        "it is not read. Save the workbook again and resend it",
    )


def _first_line(error: Exception) -> str:
    return str(error).splitlines()[0][:160] if str(error) else type(error).__name__
