"""The workbook's main part: its list of sheets, and what counts sheets by their place in it."""

from __future__ import annotations

from lxml import etree

from auditor.documents.returns.package import OTHER_KIND, CannotMark, Package
from auditor.workbook.own_sheet import NAME

OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT = "http://purl.oclc.org/ooxml/officeDocument/relationships"


class BookPart:
    """`sheets`: name -> part of every worksheet, in order; `names`: of every sheet of any kind."""

    def __init__(self, package: Package):
        self.package = package
        self.part = self._main()
        if self.part.lower().endswith(".bin"):
            raise CannotMark(OTHER_KIND)
        self.root = package.tree(self.part)
        self.ns = self.root.tag[: self.root.tag.index("}") + 1]
        self.relation_ns = STRICT if "purl.oclc.org" in self.ns else OFFICE
        self.related = package.relations(self.part)
        listed = self.root.find(f"{self.ns}sheets")
        if listed is None:
            raise CannotMark("the workbook lists no sheets")
        self.listed = listed
        self.names = [sheet.get("name", "") for sheet in listed.iterchildren(f"{self.ns}sheet")]
        self.sheets = {}
        for sheet in listed.iterchildren(f"{self.ns}sheet"):
            kind, target = self.related.get(sheet.get(f"{{{self.relation_ns}}}id", ""), ("", ""))
            if kind.endswith("/worksheet") and target in package:
                self.sheets[sheet.get("name", "")] = target

    def _main(self) -> str:
        for kind, target in self.package.relations("").values():
            if kind.endswith("/officeDocument") and target in self.package:
                return target
        if "xl/workbook.xml" in self.package:
            return "xl/workbook.xml"
        raise CannotMark(OTHER_KIND)

    def related_part(self, ending: str) -> str:
        return next((target for kind, target in self.related.values() if kind.endswith(ending)), "")

    def free_sheet_name(self) -> str:
        taken = {name.lower() for name in self.names}
        if NAME.lower() not in taken:
            return NAME
        number = 2
        while f"{NAME} {number}".lower() in taken:
            number += 1
        return f"{NAME} {number}"

    def put_first(self, name: str, part: str) -> None:
        """Lists a new sheet before all others; what refers to sheets by their place is moved on by one."""
        relation = self.package.relate(self.part, f"{self.relation_ns}/worksheet", part)
        numbers = [int(sheet.get("sheetId") or 0) for sheet in self.listed]
        element = etree.Element(f"{self.ns}sheet", name=name, sheetId=str(max(numbers, default=0) + 1))
        element.set(f"{{{self.relation_ns}}}id", relation)
        self.listed.insert(0, element)
        for defined in self.root.iterfind(f"{self.ns}definedNames/{self.ns}definedName"):
            if defined.get("localSheetId") is not None:
                defined.set("localSheetId", str(int(defined.get("localSheetId") or 0) + 1))
        self.open_at(0)

    def open_at(self, place: int) -> None:
        """Makes the sheet at a place the one that shows when the workbook is opened."""
        for view in self.root.iterfind(f"{self.ns}bookViews/{self.ns}workbookView"):
            view.attrib.pop("firstSheet", None)
            view.set("activeTab", str(place))

    def write(self) -> None:
        self.package.write(self.part, self.root)
