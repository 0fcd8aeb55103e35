"""Fills cells of a workbook's own parts in, as a spreadsheet program would, and leaves the rest alone."""

from __future__ import annotations

import datetime as dt
import io
import os
import re
import shutil
import subprocess
import tempfile
import zipfile
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATED = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


def parts_of(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def packed(parts: dict[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return stream.getvalue()


def sheet_part(parts: dict[str, bytes], sheet: str) -> str:
    book = etree.fromstring(parts["xl/workbook.xml"])
    listed = next(s for s in book.iter(f"{MAIN}sheet") if s.get("name") == sheet)
    rels = etree.fromstring(parts["xl/_rels/workbook.xml.rels"])
    target = next(r.get("Target") for r in rels if r.get("Id") == listed.get(RELATED))
    return target.lstrip("/") if target.startswith("/") else f"xl/{target}"


def filled(data: bytes, **sheets: dict[str, Any]) -> bytes:
    """filled(data, **{'Sheet 1': {'B4': 97, 'B5': 'text'}}): a copy with these cells set; formulas there give way."""
    parts = parts_of(data)
    for sheet, values in sheets.items():
        name = sheet_part(parts, sheet)
        root = etree.fromstring(parts[name])
        for address, value in values.items():
            _set(root, address.replace("$", ""), value)
        parts[name] = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    return packed(parts)


def _set(root: etree._Element, address: str, value: Any) -> None:
    cell = next((c for c in root.iter(f"{MAIN}c") if c.get("r") == address), None)
    if cell is None:
        number = re.sub(r"\D", "", address)
        row = next(r for r in root.iter(f"{MAIN}row") if r.get("r") == number)
        later = [c for c in row if _order(c.get("r")) > _order(address)]
        cell = etree.Element(f"{MAIN}c", r=address)
        row.insert(row.index(later[0]) if later else len(row), cell)
    for child in list(cell):
        cell.remove(child)
    cell.attrib.pop("t", None)
    if value is None:
        return
    if isinstance(value, str):
        cell.set("t", "inlineStr")
        etree.SubElement(etree.SubElement(cell, f"{MAIN}is"), f"{MAIN}t").text = value
        return
    number = (value - dt.date(1899, 12, 30)).days if isinstance(value, dt.date) else value
    etree.SubElement(cell, f"{MAIN}v").text = repr(number)


def _order(address: str | None) -> tuple[int, str]:
    letters = re.sub(r"\d", "", address or "")
    return len(letters), letters


def unworked(data: bytes) -> bytes:
    """A copy whose formulas have no stored results: what opens it works them all out, as after a person's edit."""
    parts = parts_of(data)
    for name in [n for n in parts if n.startswith("xl/worksheets/sheet")]:
        root = etree.fromstring(parts[name])
        for cell in [c for c in root.iter(f"{MAIN}c") if c.find(f"{MAIN}f") is not None]:
            for value in cell.findall(f"{MAIN}v"):
                cell.remove(value)
            cell.attrib.pop("t", None)
        parts[name] = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    return packed(parts)


needs_office = pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")


def office(data: bytes, folder: Path, target: str, source: str = "xlsx") -> bytes:
    """The file as LibreOffice makes it of `data`: its formulas worked out (xlsx), or printed (pdf)."""
    (folder / "in").mkdir(exist_ok=True)
    path = folder / "in" / f"book.{source}"
    path.write_bytes(data)
    profile = Path(tempfile.gettempdir()) / f"hoodaudit-tests-office-{os.getpid()}"  # made once: it takes seconds
    subprocess.run(
        ["soffice", f"-env:UserInstallation=file://{profile}", "--headless", "--convert-to", target, "--outdir",
         str(folder), str(path)], check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    return (folder / f"book.{target.partition(':')[0]}").read_bytes()
