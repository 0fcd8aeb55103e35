"""An Office Open XML package (ECMA-376, transitional or strict) to a Workbook."""

from __future__ import annotations

import posixpath
from urllib.parse import unquote

from lxml import etree

from auditor.workbook import xml_guard
from auditor.workbook.cells import Sheet, Workbook
from auditor.workbook.limits import Limits, damaged, not_a_workbook, too_large
from auditor.workbook.strings import read_shared_strings
from auditor.workbook.styles import GENERAL, Shows, Style, read_styles
from auditor.workbook.xlsx_sheet import Context, read_sheet
from auditor.workbook.zip_guard import Archive

Relations = dict[str, tuple[str, str]]  # id -> (last part of the type, part name)

_OFFICE = (
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships",
    "http://purl.oclc.org/ooxml/officeDocument/relationships",  # the strict variant
)
_MAIN = (
    "http://schemas.openxmlformats.org/spreadsheetml/2006/main",
    "http://purl.oclc.org/ooxml/spreadsheetml/main",
)
_NO_GRID = {"chartsheet": "is a chart", "dialogsheet": "is a dialog", "xlMacrosheet": "holds macros"}


def workbook_part(archive: Archive) -> str | None:
    """The name of the package's main part, '' if it names none, None if the archive is no such package."""
    if "[content_types].xml" not in archive and "_rels/.rels" not in archive:
        return None
    for kind, part in relations(archive, "").values():
        if kind == "officeDocument":
            return part
    return "xl/workbook.xml" if "xl/workbook.xml" in archive else ""


def relations(archive: Archive, part: str) -> Relations:
    """The relationships of a part ('' for the package), targets resolved to part names (ECMA-376 part 2, 9)."""
    folder, base = posixpath.split(part)
    name = posixpath.join(folder, "_rels", f"{base}.rels")
    found: Relations = {}
    if name not in archive:
        return found
    for element in xml_guard.parse(archive.read(name), name):
        target = unquote((element.get("Target") or "").replace("\\", "/"))
        if element.get("TargetMode") == "External" or not target:
            continue
        resolved = target.lstrip("/") if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
        found[element.get("Id", "")] = (element.get("Type", "").rsplit("/", 1)[-1], resolved)
    return found


def read_xlsx(archive: Archive, part: str, name: str, limits: Limits) -> Workbook:
    """The workbook whose main part is `part`. Raises Unreadable.

    A sheet that is listed but whose part is missing or broken makes the whole file unreadable: what is left of a
    damaged file is no proof of what was in it."""
    if part not in archive:
        raise damaged(f"its main part '{part}' is missing")
    root = xml_guard.parse(archive.read(part), part)
    ns = root.tag[: root.tag.index("}") + 1] if "}" in root.tag else ""
    if ns[1:-1] not in _MAIN or etree.QName(root).localname != "workbook":
        raise not_a_workbook("an office document of another kind")
    related = relations(archive, part)
    notes: list[str] = []
    context = _context(archive, root, ns, related, limits, notes)
    macros = any(n.rsplit("/", 1)[-1] == "vbaproject.bin" for n in archive.names())
    if macros:
        notes.append("The workbook contains macros; they were not run")
    if any(kind == "externalLink" for kind, _ in related.values()):
        notes.append("The workbook refers to other files; they were not opened")
    sheets = _sheets(archive, root, ns, related, context)
    return Workbook(name, "xlsm" if macros else "xlsx", sheets, notes)


def _context(
    archive: Archive, root: etree._Element, ns: str, related: Relations, limits: Limits, notes: list[str]
) -> Context:
    styles: dict[str, Style] = {"": Style(GENERAL, Shows.NUMBER)}
    strings: dict[str, str] = {}
    for kind, target in related.values():
        if kind not in ("styles", "sharedStrings"):
            continue
        if target not in archive:
            raise damaged(f"part '{target}' is missing")
        if kind == "styles":
            styles = read_styles(xml_guard.parse(archive.read(target), target))
        else:
            strings = read_shared_strings(archive.read(target), target, limits)
    properties = root.find(f"{ns}workbookPr")
    date1904 = properties is not None and properties.get("date1904") in ("1", "true")
    return Context(strings, styles, date1904, limits, notes)


def _sheets(archive: Archive, root: etree._Element, ns: str, related: Relations, context: Context) -> list[Sheet]:
    listed = root.findall(f"{ns}sheets/{ns}sheet")
    if not listed:
        raise damaged("it lists no sheets")
    if len(listed) > context.limits.sheets:
        raise too_large("Sheets", len(listed), context.limits.sheets)
    sheets: list[Sheet] = []
    for index, element in enumerate(listed):
        title = element.get("name", "")
        hidden = element.get("state") in ("hidden", "veryHidden")
        relation = next((element.get(f"{{{uri}}}id") for uri in _OFFICE if element.get(f"{{{uri}}}id")), "")
        kind, target = related.get(relation or "", ("", ""))
        if not target or target not in archive:
            raise damaged(f"sheet '{title}' is listed but its part {f'({target}) ' if target else ''}is missing")
        if kind in _NO_GRID:
            context.notes.append(f"Sheet '{title}' {_NO_GRID[kind]} and has no cells to read")
            sheets.append(Sheet(title, index, hidden=hidden, grid=False))
        elif kind == "worksheet":
            sheets.append(read_sheet(archive.read(target), target, title, index, hidden, context))
        else:
            raise damaged(f"sheet '{title}' is of the unknown kind '{kind[:40]}'")
    return sheets
