"""Number formats of an OpenDocument spreadsheet, written as the codes that the other formats use.

Only what a reader needs is kept: decimals, grouping, percent, literal text, the order of a date's parts.
Source of the elements: ODF 1.3 part 3, 16.29 (data styles)."""

from __future__ import annotations

from lxml import etree

from auditor.workbook.styles import GENERAL

_URN = "urn:oasis:names:tc:opendocument:xmlns:"
OFFICE = f"{{{_URN}office:1.0}}"
TABLE = f"{{{_URN}table:1.0}}"
TEXT = f"{{{_URN}text:1.0}}"
STYLE = f"{{{_URN}style:1.0}}"
NUMBER = f"{{{_URN}datastyle:1.0}}"
CALC = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"

_DATE_PARTS = {  # element: (short, long)
    "year": ("yy", "yyyy"), "day": ("d", "dd"), "day-of-week": ("ddd", "dddd"), "hours": ("h", "hh"),
    "minutes": ("m", "mm"), "seconds": ("s", "ss"), "am-pm": ("AM/PM", "AM/PM"), "era": ("g", "gg"),
}  # fmt: skip
_PLAIN = set(" -/:.,%()+")


class OdsStyles:
    """Styles of a document by name, collected from styles.xml and content.xml."""

    def __init__(self) -> None:
        self._codes: dict[str, str] = {}  # data style -> code
        self._cells: dict[str, tuple[str | None, str | None]] = {}  # cell style -> (data style, parent)
        self._hidden_tables: set[str] = set()

    def take(self, container: etree._Element) -> None:
        """Adds the styles that stand directly in `container` (office:styles or office:automatic-styles)."""
        for element in container:
            name = element.get(f"{STYLE}name")
            if name is None:
                continue
            if element.tag.startswith(NUMBER):
                self._codes[name] = _code(element)
            elif element.tag == f"{STYLE}style" and element.get(f"{STYLE}family") == "table-cell":
                self._cells[name] = element.get(f"{STYLE}data-style-name"), element.get(f"{STYLE}parent-style-name")
            elif element.tag == f"{STYLE}style" and element.get(f"{STYLE}family") == "table":
                properties = element.find(f"{STYLE}table-properties")
                if properties is not None and properties.get(f"{TABLE}display") == "false":
                    self._hidden_tables.add(name)

    def number_format(self, cell_style: str | None) -> str:
        for _ in range(20):  # parents; a ring of them ends here
            if cell_style is None or cell_style not in self._cells:
                break
            data_style, parent = self._cells[cell_style]
            if data_style is not None:
                return self._codes.get(data_style, GENERAL)
            cell_style = parent
        return GENERAL

    def hides(self, table_style: str | None) -> bool:
        return table_style in self._hidden_tables


def _code(element: etree._Element) -> str:
    kind = etree.QName(element).localname
    if kind == "text-style":
        return "@"
    code = "".join(_part(child) for child in element)
    if kind == "time-style" and element.get(f"{NUMBER}truncate-on-overflow") == "false":
        first = next((sign for sign in code if sign in "hms"), "")
        run = len(code) - len(code.lstrip(first)) if first else 0
        code = f"[{code[:run]}]{code[run:]}" if run else code
    return code or GENERAL


def _part(child: etree._Element) -> str:
    kind = etree.QName(child).localname
    if kind in ("number", "scientific-number"):
        return _digits(child) + ("E+00" if kind == "scientific-number" else "")
    if kind in _DATE_PARTS:
        code = _DATE_PARTS[kind][child.get(f"{NUMBER}style") == "long"]
        decimals = _whole(child, "decimal-places")
        return code + ("." + "0" * decimals if decimals else "")
    if kind == "month":
        length = 2 if child.get(f"{NUMBER}style") == "long" else 1
        return "m" * (length + 2 if child.get(f"{NUMBER}textual") == "true" else length)
    if kind in ("text", "currency-symbol"):
        text = child.text or ""
        return text if set(text) <= _PLAIN else '"' + text.replace('"', "") + '"'
    return "@" if kind == "text-content" else ""


def _digits(child: etree._Element) -> str:
    if child.get(f"{NUMBER}decimal-places") is None and child.tag == f"{NUMBER}number":
        return GENERAL
    whole = "0" * max(_whole(child, "min-integer-digits"), 0) or "#"
    if child.get(f"{NUMBER}grouping") == "true":
        whole = "#,##" + whole[-1]
    decimals, least = _whole(child, "decimal-places"), child.get(f"{NUMBER}min-decimal-places")
    fixed = decimals if least is None else min(_whole(child, "min-decimal-places"), decimals)
    return whole + ("." + "0" * fixed + "#" * (decimals - fixed) if decimals else "")


def _whole(child: etree._Element, name: str) -> int:
    text = child.get(f"{NUMBER}{name}", "0")
    return min(int(text), 30) if text.isascii() and text.isdigit() and len(text) < 9 else 0
