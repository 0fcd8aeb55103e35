"""Styles of the workbook, only ever added to: what was there keeps its number and its look."""

from __future__ import annotations

from copy import deepcopy

from lxml import etree

# Shades that nobody else uses, so that marks of an earlier return can be told from a contractor's own colours.
FILLS = {"hold": "FFFFC8CF", "caution": "FFFFEB9D", "settled": "FFDDEFD6"}


class Styles:
    """The styles part as a tree. `ns` is its namespace in braces."""

    def __init__(self, root: etree._Element):
        self.root = root
        self.ns = root.tag[: root.tag.index("}") + 1]
        self._made: dict[tuple, int] = {}

    def marked(self, base: int, severity: str) -> int:
        """The number of a cell format that is format `base` but for its fill."""
        key = ("mark", base, severity)
        if key not in self._made:
            formats = self._group("cellXfs")
            entries = list(formats)
            xf = deepcopy(entries[base]) if 0 <= base < len(entries) else etree.Element(f"{self.ns}xf")
            xf.set("fillId", str(self._fill(FILLS[severity])))
            xf.set("applyFill", "1")
            self._made[key] = self._append(formats, xf)
        return self._made[key]

    def marks(self) -> frozenset[str]:
        """The numbers of cell formats that carry a mark of ours, as cells name them."""
        fills = self.root.find(f"{self.ns}fills")
        ours = {
            str(number)
            for number, fill in enumerate(fills if fills is not None else ())
            for colour in fill.iter(f"{self.ns}fgColor")
            if colour.get("rgb") in FILLS.values()
        }
        formats = self.root.find(f"{self.ns}cellXfs")
        return frozenset(
            str(number) for number, xf in enumerate(formats if formats is not None else ()) if xf.get("fillId") in ours
        )

    def plain(
        self, *, bold: bool = False, size: int = 10, colour: str = "FF1F2933", fill: str = "", link: bool = False,
        wrap: bool = True, quoted: bool = False, ruled: bool = False,
    ) -> int:  # fmt: skip
        """The number of a cell format of our own, for the list."""
        key = ("plain", bold, size, colour, fill, link, wrap, quoted, ruled)
        if key not in self._made:
            xf = etree.Element(
                f"{self.ns}xf", numFmtId="49", fontId=str(self._font(bold, size, colour, link)),
                fillId=str(self._fill(fill) if fill else 0), borderId=str(self._line() if ruled else 0), xfId="0",
                applyNumberFormat="1", applyFont="1", applyFill="1", applyBorder="1", applyAlignment="1",
            )  # fmt: skip
            if quoted:
                xf.set("quotePrefix", "1")
            etree.SubElement(xf, f"{self.ns}alignment", vertical="top", wrapText="1" if wrap else "0")
            self._made[key] = self._append(self._group("cellXfs"), xf)
        return self._made[key]

    def _font(self, bold: bool, size: int, colour: str, link: bool) -> int:
        font = etree.Element(f"{self.ns}font")
        if bold:
            etree.SubElement(font, f"{self.ns}b")
        if link:
            etree.SubElement(font, f"{self.ns}u")
        etree.SubElement(font, f"{self.ns}sz", val=str(size))
        etree.SubElement(font, f"{self.ns}color", rgb=colour)
        etree.SubElement(font, f"{self.ns}name", val="Arial")
        return self._append(self._group("fonts"), font)

    def _fill(self, colour: str) -> int:
        key = ("fill", colour)
        if key not in self._made:
            fill = etree.Element(f"{self.ns}fill")
            pattern = etree.SubElement(fill, f"{self.ns}patternFill", patternType="solid")
            etree.SubElement(pattern, f"{self.ns}fgColor", rgb=colour)
            etree.SubElement(pattern, f"{self.ns}bgColor", indexed="64")
            self._made[key] = self._append(self._group("fills"), fill)
        return self._made[key]

    def _line(self) -> int:
        """A thin line below a row."""
        if ("line",) not in self._made:
            border = etree.Element(f"{self.ns}border")
            for side in ("left", "right", "top", "bottom", "diagonal"):
                edge = etree.SubElement(border, f"{self.ns}{side}")
                if side == "bottom":
                    edge.set("style", "hair")
                    etree.SubElement(edge, f"{self.ns}color", rgb="FF7B8794")
            self._made[("line",)] = self._append(self._group("borders"), border)
        return self._made[("line",)]

    def _group(self, name: str) -> etree._Element:
        """A list of the part; where it is missing, it is made in its place with the entries that must be there."""
        found = self.root.find(f"{self.ns}{name}")
        if found is not None:
            return found
        order = ("numFmts", "fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs")
        found = etree.Element(f"{self.ns}{name}")
        before = [self.root.find(f"{self.ns}{other}") for other in order[: order.index(name)]]
        last = next((e for e in reversed(before) if e is not None), None)
        self.root.insert(0 if last is None else self.root.index(last) + 1, found)
        for entry in _DEFAULTS[name]:
            self._append(found, etree.fromstring(entry.format(ns=self.ns[1:-1])))
        return found

    @staticmethod
    def _append(group: etree._Element, element: etree._Element) -> int:
        group.append(element)
        number = len(group.findall(element.tag)) - 1
        group.set("count", str(number + 1))
        return number


_DEFAULTS = {
    "fonts": ['<font xmlns="{ns}"><sz val="11"/><name val="Calibri"/></font>'],
    "fills": [
        '<fill xmlns="{ns}"><patternFill patternType="none"/></fill>',
        '<fill xmlns="{ns}"><patternFill patternType="gray125"/></fill>',
    ],
    "borders": ['<border xmlns="{ns}"><left/><right/><top/><bottom/><diagonal/></border>'],
    "cellStyleXfs": ['<xf xmlns="{ns}" numFmtId="0" fontId="0" fillId="0" borderId="0"/>'],
    "cellXfs": ['<xf xmlns="{ns}" numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'],
    "cellStyles": ['<cellStyle xmlns="{ns}" name="Normal" xfId="0" builtinId="0"/>'],
}


def empty_styles(ns: str) -> etree._Element:
    """A styles part for a workbook that has none."""
    root = etree.Element(f"{ns}styleSheet", nsmap={None: ns[1:-1]})
    styles = Styles(root)
    for name in _DEFAULTS:
        styles._group(name)
    return root
