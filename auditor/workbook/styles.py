"""Number formats: which code a cell's style means, and whether it shows a date."""

from __future__ import annotations

import re
from enum import IntEnum
from functools import lru_cache
from typing import NamedTuple

from lxml import etree

GENERAL = "General"

# ECMA-376 part 1, 18.8.30: the codes that a file does not spell out.
BUILTIN = {
    0: GENERAL, 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 5: '"$"#,##0_);("$"#,##0)',
    6: '"$"#,##0_);[Red]("$"#,##0)', 7: '"$"#,##0.00_);("$"#,##0.00)',
    8: '"$"#,##0.00_);[Red]("$"#,##0.00)', 9: "0%", 10: "0.00%", 11: "0.00E+00", 12: "# ?/?", 13: "# ??/??",
    14: "mm-dd-yy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM", 19: "h:mm:ss AM/PM", 20: "h:mm",
    21: "h:mm:ss", 22: "m/d/yy h:mm", 37: "#,##0_);(#,##0)", 38: "#,##0_);[Red](#,##0)", 39: "#,##0.00_);(#,##0.00)",
    40: "#,##0.00_);[Red](#,##0.00)", 41: '_(* #,##0_);_(* \\(#,##0\\);_(* "-"_);_(@_)',
    42: '_("$"* #,##0_);_("$"* \\(#,##0\\);_("$"* "-"_);_(@_)',
    43: '_(* #,##0.00_);_(* \\(#,##0.00\\);_(* "-"??_);_(@_)',
    44: '_("$"* #,##0.00_)_("$"* \\(#,##0.00\\)_("$"* "-"??_)_(@_)', 45: "mm:ss", 46: "[h]:mm:ss", 47: "mmss.0",
    48: "##0.0E+0", 49: "@",
}  # fmt: skip
# Dates in the East Asian lists of the same clause; the code depends on the machine's language.
BUILTIN |= dict.fromkeys([*range(27, 37), *range(50, 59)], "yyyy/m/d")


class Shows(IntEnum):
    """What a number format makes of a number."""

    NUMBER = 0
    DATE = 1  # a date, a time of day, or both
    ELAPSED = 2  # hours, minutes or seconds that run on


class Style(NamedTuple):
    number_format: str
    shows: Shows


_NOT_SYMBOLS = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?!(?:h+|m+|s+)\])[^\]]*\]', re.IGNORECASE | re.DOTALL)
_ELAPSED = re.compile(r"\[(?:h+|m+|s+)\]", re.IGNORECASE)
_SUBSECONDS = re.compile(r"(?<=[sS\]])[.,]0+")


@lru_cache(maxsize=4096)
def shows(number_format: str) -> Shows:
    """What `number_format` shows, by its first section.

    A code that mixes digits with date letters ('0.00 m/s' with the quotes forgotten) is no valid date format; it is
    taken for a number's."""
    code = _NOT_SYMBOLS.sub("", number_format).split(";")[0]
    if code.strip().lower() == "general":
        return Shows.NUMBER
    bare = _SUBSECONDS.sub("", code)
    if re.search(r"[0#?]", bare):
        return Shows.NUMBER
    if _ELAPSED.search(bare):
        return Shows.ELAPSED
    return Shows.DATE if re.search(r"[dmyhs]", bare, re.IGNORECASE) else Shows.NUMBER


def style_of(number_format: str) -> Style:
    return Style(number_format, shows(number_format))


def read_styles(root: etree._Element) -> dict[str, Style]:
    """Styles of a workbook by the index that a cell's `s` attribute gives; '' is that of a cell without one."""
    ns = root.tag[: root.tag.index("}") + 1] if "}" in root.tag else ""
    codes = dict(BUILTIN)
    for element in root.iterfind(f"{ns}numFmts/{ns}numFmt"):
        number = element.get("numFmtId", "")
        if number.isdecimal():
            codes[int(number)] = element.get("formatCode") or GENERAL
    styles: dict[str, Style] = {}
    for index, element in enumerate(root.iterfind(f"{ns}cellXfs/{ns}xf")):
        number = element.get("numFmtId", "0")
        styles[str(index)] = style_of(codes.get(int(number), GENERAL) if number.isdecimal() else GENERAL)
    styles[""] = styles.get("0", Style(GENERAL, Shows.NUMBER))
    return styles
