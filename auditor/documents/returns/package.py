"""An Office Open XML package as parts that are read, replaced and added; what is not touched stays as it was packed."""

from __future__ import annotations

import io
import posixpath
import zipfile
from urllib.parse import quote, unquote

from lxml import etree

from auditor.workbook import xml_guard
from auditor.workbook.limits import DEFAULT
from auditor.workbook.zip_guard import Archive

TYPES = "[Content_Types].xml"
_TYPES_NS = "{http://schemas.openxmlformats.org/package/2006/content-types}"
_RELS_NS = "{http://schemas.openxmlformats.org/package/2006/relationships}"


OTHER_KIND = "only workbooks in the .xlsx and .xlsm formats can be marked"


class CannotMark(Exception):
    """A workbook whose parts cannot be marked; the message says why."""


class Package:
    """The parts by name. Names are compared without regard to case, as the standard has it (ECMA-376 part 2, 6.2.2)."""

    def __init__(self, data: bytes):
        if not data.startswith(b"PK"):
            raise CannotMark(OTHER_KIND)
        self._guard = Archive(data, DEFAULT)  # refuses what is too big, encrypted or damaged, before it is unpacked
        self._zip = zipfile.ZipFile(io.BytesIO(data))
        self._names = {info.filename.lower().lstrip("/"): info for info in self._zip.infolist()}
        self._new: dict[str, bytes] = {}  # lower-case name -> content
        self._added: dict[str, str] = {}  # lower-case name -> name, of parts that were not there

    def __contains__(self, name: str) -> bool:
        return name.lower() in self._names or name.lower() in self._new

    def read(self, name: str) -> bytes:
        key = name.lower()
        return self._new[key] if key in self._new else self._guard.read(name)

    def tree(self, name: str) -> etree._Element:
        """The root of a part, comments and blanks kept."""
        data = self.read(name)
        xml_guard.parse(data, name)  # the guard's refusals: document types, entities, sizes
        parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)
        return etree.fromstring(data, parser)

    def write(self, name: str, content: bytes | etree._Element) -> None:
        """Replaces a part or adds it."""
        if not isinstance(content, bytes):
            content = etree.tostring(content, xml_declaration=True, encoding="UTF-8", standalone=True)
        key = name.lower()
        if key not in self._names:
            self._added.setdefault(key, name)
        self._new[key] = content

    def names(self) -> list[str]:
        """Every part, in lower case."""
        return [*self._names, *(key for key in self._new if key not in self._names)]

    def free_name(self, pattern: str) -> str:
        """The first name of the pattern ('xl/comments{}.xml') that no part has."""
        number = 1
        while pattern.format(number) in self:
            number += 1
        return pattern.format(number)

    # --- relationships and types -------------------------------------------------------------------------------------
    def relations(self, part: str) -> dict[str, tuple[str, str]]:
        """id -> (type, name of the part) of what a part refers to inside the package."""
        name = _rels_name(part)
        if name not in self:
            return {}
        folder, found = posixpath.dirname(part), {}
        for element in self.tree(name):
            target = unquote((element.get("Target") or "").replace("\\", "/")) if isinstance(element.tag, str) else ""
            if target and element.get("TargetMode") != "External":
                absolute = target.startswith("/")
                joined = target.lstrip("/") if absolute else posixpath.normpath(posixpath.join(folder, target))
                found[element.get("Id", "")] = (element.get("Type", ""), joined)
        return found

    def relate(self, part: str, kind: str, target: str) -> str:
        """Adds a relationship of `part` to the part `target`; gives its id."""
        name = _rels_name(part)
        root = (
            self.tree(name) if name in self else etree.Element(f"{_RELS_NS}Relationships", nsmap={None: _RELS_NS[1:-1]})
        )
        taken = {element.get("Id") for element in root}
        number = len(taken) + 1
        while f"rId{number}" in taken:
            number += 1
        shown = quote(posixpath.relpath(target, posixpath.dirname(part) or "."))
        etree.SubElement(root, f"{_RELS_NS}Relationship", Id=f"rId{number}", Type=kind, Target=shown)
        self.write(name, root)
        return f"rId{number}"

    def declare(self, part: str, kind: str) -> None:
        """Says of what content type a part is."""
        root = self.tree(TYPES)
        etree.SubElement(root, f"{_TYPES_NS}Override", PartName=f"/{part}", ContentType=kind)
        self.write(TYPES, root)

    # --- out ---------------------------------------------------------------------------------------------------------
    def packed(self) -> bytes:
        """The package: parts in their old order under their old names and times, those that are new at the end."""
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            for key, info in self._names.items():
                entry = zipfile.ZipInfo(info.filename, info.date_time)
                entry.compress_type, entry.external_attr = info.compress_type, info.external_attr
                content = self._new[key] if key in self._new else self._guard.read(info.filename)
                archive.writestr(entry, content)
            for key, name in self._added.items():
                entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
                entry.compress_type = zipfile.ZIP_DEFLATED
                archive.writestr(entry, self._new[key])
        return out.getvalue()


def _rels_name(part: str) -> str:
    folder, base = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{base}.rels")
