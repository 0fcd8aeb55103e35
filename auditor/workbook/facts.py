"""What the binary formats' own records say of each cell, beside the texts that a library reads from them."""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from typing import NamedTuple

from auditor.workbook.cells import Kind
from auditor.workbook.limits import Limits, too_large

# [MS-XLS] 2.5.10 (Bes)
ERRORS = {
    0x00: "#NULL!", 0x07: "#DIV/0!", 0x0F: "#VALUE!", 0x17: "#REF!", 0x1D: "#NAME?", 0x24: "#NUM!", 0x2A: "#N/A",
    0x2B: "#GETTING_DATA",
}  # fmt: skip


class Fact(NamedTuple):
    """`value` is None for TEXT (the library has it) and FORMULA; `style` is an index into BookFacts.formats."""

    kind: Kind
    value: int | float | str | bool | None
    style: int
    formula: bool = False


@dataclass(slots=True)
class SheetFacts:
    name: str = ""
    hidden: bool = False
    grid: bool = True
    cells: dict[tuple[int, int], Fact] = field(default_factory=dict)  # 1-based
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)


@dataclass(slots=True)
class BookFacts:
    sheets: list[SheetFacts] = field(default_factory=list)
    formats: list[str] = field(default_factory=list)  # number format of each cell style
    date1904: bool = False
    cells: int = 0

    def count(self, limits: Limits) -> None:
        self.cells += 1
        if self.cells > limits.cells:
            raise too_large("Filled cells", self.cells, limits.cells)


def error_text(code: int) -> str:
    return ERRORS.get(code, f"#ERROR {code}")


def rk_number(rk: int) -> int | float:
    """The number in an RK field ([MS-XLS] 2.5.217): 30 bits of an integer or of a double, perhaps in hundredths."""
    value: float
    if rk & 2:
        whole = rk >> 2
        value = whole - (1 << 30) if whole & (1 << 29) else whole
    else:
        value = struct.unpack("<d", struct.pack("<Q", (rk & 0xFFFFFFFC) << 32))[0]
    return plain(value / 100 if rk & 1 else value)


def plain(value: float) -> int | float:
    """A whole number as an int, as the XML formats write it."""
    return int(value) if abs(value) < 1e15 and value == int(value) else value
