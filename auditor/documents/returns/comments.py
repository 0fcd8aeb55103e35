"""Comments on cells: the part with their texts, and the drawing in which a spreadsheet shows them."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Container
from functools import cache
from importlib.resources import files
from typing import Any

from lxml import etree

from auditor.documents.returns.model import clean
from auditor.workbook.cells import a1

_IDMAP = re.compile(rb"<o:idmap[^>]*\bdata=[\"']([\d, ]+)[\"']", re.IGNORECASE)
_SHAPE_ID = re.compile(rb"_s(\d+)\b")
_THREAD = "tc="  # a comment that stands for a thread of the newer kind: its text is not shown


@cache
def texts() -> dict[str, Any]:
    return tomllib.loads((files("auditor.documents.returns") / "texts.toml").read_text(encoding="utf-8"))


def empty_comments(ns: str) -> etree._Element:
    root = etree.Element(f"{ns}comments", nsmap={None: ns[1:-1]})
    etree.SubElement(root, f"{ns}authors")
    etree.SubElement(root, f"{ns}commentList")
    return root


class Comments:
    """The comments part as a tree."""

    def __init__(self, root: etree._Element):
        self.root = root
        self.ns = root.tag[: root.tag.index("}") + 1]
        self.authors = self._group("authors", 0)
        self.list = self._group("commentList", 1)
        self.by_cell = {c.get("ref"): c for c in self.list.iterchildren(f"{self.ns}comment")}

    def add(self, row: int, column: int, text: str) -> bool:
        """Puts a text on a cell; one that stands there is kept below it. True where the cell needs a shape for it."""
        known = self.by_cell.get(a1(row, column))
        if known is None:
            comment = etree.SubElement(self.list, f"{self.ns}comment", ref=a1(row, column), authorId=self._author())
            self._run(etree.SubElement(comment, f"{self.ns}text"), text)
            self.by_cell[a1(row, column)] = comment
            return True
        if not self._name(known).startswith(_THREAD):
            self._before(known, text)
        return False

    def settle(self, still: Container[str]) -> bool:
        """Our words of an earlier return, on cells (A1) not `still` open, give way to 'settled', or to the comment of
        another that stands below them. Says whether anything changed."""
        changed = False
        for cell, comment in self.by_cell.items():
            if cell in still:
                continue
            if self._name(comment) == texts()["author"]:
                self._take_out_ours(comment)
                self._run(self._body(comment), texts()["settled"])
                changed = True
            else:
                changed |= self._take_out_ours(comment)
        return changed

    def _before(self, comment: etree._Element, text: str) -> None:
        """Our words before those that stand there; where ours of an earlier return stand there, in their place."""
        self._take_out_ours(comment)
        body = self._body(comment)
        if self._name(comment) == texts()["author"]:
            self._run(body, text)
            return
        for child in list(body):  # plain text becomes a run, as it must beside another
            if child.tag == f"{self.ns}t":
                run = etree.Element(f"{self.ns}r")
                child.addprevious(run)
                run.append(child)
        run = etree.Element(f"{self.ns}r")
        self._said(run, f"{text}\n\n{texts()['earlier']}\n")
        body.insert(0, run)

    def _take_out_ours(self, comment: etree._Element) -> bool:
        """Takes what we said earlier out of a comment: all of it where it is ours, else up to the words that introduce
        theirs. Says whether there was anything."""
        body = self._body(comment)
        parts = list(body)
        if self._name(comment) == texts()["author"]:
            ours = parts
        else:
            said = ["".join(part.itertext()) for part in parts]
            last = next((n for n, text in enumerate(said) if text.rstrip().endswith(texts()["earlier"])), -1)
            ours = parts[: last + 1]
        for part in ours:
            body.remove(part)
        return bool(ours)

    def _body(self, comment: etree._Element) -> etree._Element:
        body = comment.find(f"{self.ns}text")
        return body if body is not None else etree.SubElement(comment, f"{self.ns}text")

    def _run(self, body: etree._Element, text: str) -> None:
        self._said(etree.SubElement(body, f"{self.ns}r"), text)

    def _said(self, run: etree._Element, text: str) -> None:
        said = etree.SubElement(run, f"{self.ns}t")
        said.text = clean(text, 8_000)
        said.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")

    def _author(self) -> str:
        names = [a.text or "" for a in self.authors.iterchildren(f"{self.ns}author")]
        if texts()["author"] in names:
            return str(names.index(texts()["author"]))
        etree.SubElement(self.authors, f"{self.ns}author").text = texts()["author"]
        return str(len(names))

    def _name(self, comment: etree._Element) -> str:
        names = [a.text or "" for a in self.authors.iterchildren(f"{self.ns}author")]
        number = comment.get("authorId") or ""
        return names[int(number)] if number.isdigit() and int(number) < len(names) else ""

    def _group(self, name: str, place: int) -> etree._Element:
        found = self.root.find(f"{self.ns}{name}")
        if found is None:
            found = etree.Element(f"{self.ns}{name}")
            self.root.insert(place, found)
        return found


# --- the drawing -----------------------------------------------------------------------------------------------------
_OPEN = (
    b'<xml xmlns:v="urn:schemas-microsoft-com:vml" xmlns:o="urn:schemas-microsoft-com:office:office" '
    b'xmlns:x="urn:schemas-microsoft-com:office:excel"><o:shapelayout v:ext="edit"><o:idmap v:ext="edit" data="%d"/>'
    b"</o:shapelayout></xml>"
)
_SPACES = (
    'xmlns:v="urn:schemas-microsoft-com:vml" xmlns:o="urn:schemas-microsoft-com:office:office" '
    'xmlns:x="urn:schemas-microsoft-com:office:excel"'
)
_TYPE = (
    f'<v:shapetype {_SPACES} id="_x0000_t202" coordsize="21600,21600" o:spt="202" path="m,l,21600r21600,l21600,xe">'
    '<v:stroke joinstyle="miter"/><v:path gradientshapeok="t" o:connecttype="rect"/></v:shapetype>'
)
_SHAPE = (
    '<v:shape {spaces} id="_x0000_s{id}" type="#_x0000_t202" style="position:absolute;visibility:hidden" '
    'fillcolor="#ffffe1" o:insetmode="auto"><v:fill color2="#ffffe1"/><v:shadow on="t" color="black" obscured="t"/>'
    '<v:path o:connecttype="none"/><v:textbox style="mso-direction-alt:auto"><div style="text-align:left"></div>'
    '</v:textbox><x:ClientData ObjectType="Note"><x:MoveWithCells/><x:SizeWithCells/>'
    "<x:Anchor>{left}, 15, {top}, 2, {right}, 15, {bottom}, 4</x:Anchor><x:AutoFill>False</x:AutoFill>"
    "<x:Row>{row}</x:Row><x:Column>{column}</x:Column></x:ClientData></v:shape>"
)


def blocks_of(drawing: bytes) -> set[int]:
    """The blocks of shape numbers that a drawing has for itself."""
    return {int(n) for match in _IDMAP.finditer(drawing) for n in re.findall(rb"\d+", match[1])}


def new_drawing(block: int) -> bytes:
    return _OPEN % block


def with_shapes(drawing: bytes, cells: list[tuple[int, int]]) -> bytes:
    """The drawing with a shape to each of the cells, put in before its end: nothing in it is parsed or written anew,
    since drawings are not always well-formed XML."""
    end = drawing.rfind(b"</xml>")
    if end < 0:
        raise ValueError("the drawing of the comments has no end")
    blocks = blocks_of(drawing) or {1}
    used = {int(n) for n in _SHAPE_ID.findall(drawing)}
    number = max([n for n in used if n // 1024 in blocks] or [min(blocks) * 1024])
    shapes = [] if re.search(rb'\bid="_x0000_t202"', drawing) else [_TYPE]
    for row, column in cells:
        number += 1
        shapes.append(
            _SHAPE.format(
                spaces=_SPACES, id=number, row=row - 1, column=column - 1, left=column, right=column + 4,
                top=max(row - 2, 0), bottom=max(row - 2, 0) + 9,
            )
        )  # fmt: skip
    return drawing[:end] + "".join(shapes).encode("ascii") + drawing[end:]
