"""The pieces that a field sheet is put together from: bands, labels, cells to fill in, checks beside them."""

from __future__ import annotations

from typing import Any

from auditor.documents.field.cover import cover_reference, short_list
from auditor.documents.field.formats import Formats
from auditor.documents.field.model import Book
from auditor.documents.field.texts import label, one_line, texts

FIRST = 1  # 0-based column of the first grid cell
VALUE_SPAN = 3  # columns of a field's value
LABEL_WIDTH, CELL_WIDTH, CHECK_WIDTH = 23, 8, 29
# The stored result of a formula that says nothing yet: what reads the file without working it out sees a blank.
BLANK = " "


class Form:
    """Writes a sheet of the form's columns from top to bottom; `row` is the next one, 0-based. `at`: field -> absolute
    address of its value; `marks`: addresses of the checks."""

    def __init__(self, sheet: Any, book: Book, looks: Formats, check_column: int):
        self.sheet, self.book, self.looks, self.check_column = sheet, book, looks, check_column
        self.row = 0
        self.at: dict[str, str] = {}
        self.marks: list[str] = []
        sheet.set_column(0, 0, LABEL_WIDTH)
        sheet.set_column(FIRST, check_column - 1, CELL_WIDTH)
        sheet.set_column(check_column, check_column, CHECK_WIDTH)

    def band(self, text: str) -> None:
        for column in range(self.check_column + 1):
            self.sheet.write_blank(self.row, column, None, self.looks.band)
        self.sheet.write_string(self.row, 0, text, self.looks.band)
        self.sheet.set_row(self.row, 22)
        self.row += 1

    def note(self, text: str) -> None:
        self.merged(self.row, 0, self.check_column, self.looks.small, text)
        self.sheet.set_row(self.row, 16)
        self.row += 1

    def axis(self, names: list[str]) -> None:
        for number, name in enumerate(names):
            self.sheet.write_string(self.row, FIRST + number, name, self.looks.axis)
        self.row += 1

    def gap(self) -> None:
        self.sheet.set_row(self.row, 6)
        self.row += 1

    def facts(self, *facts: tuple[str, str], start: int = 0) -> None:
        """'Label: value' in one cell each, side by side: a number in it is no number on the sheet."""
        said = [f"{label(name)}: {one_line(value, 60)}" for name, value in facts if one_line(value)]
        if not said:
            return
        for text, (left, right) in zip(said, self._shares(start, len(said)), strict=True):
            self.merged(self.row, left, right, self.looks.fact, text)
        self.sheet.set_row(self.row, 25)

    def _shares(self, start: int, parts: int) -> list[tuple[int, int]]:
        """The columns from `start` on cut into parts of about the same width."""
        widths = [LABEL_WIDTH] + [CELL_WIDTH] * (self.check_column - FIRST) + [CHECK_WIDTH]
        share, edges, used = sum(widths[start:]) / parts, [start], 0.0
        for column in range(start, self.check_column):
            used += widths[column]
            left = parts - len(edges)
            if left and (used >= share * len(edges) - CELL_WIDTH / 2 or self.check_column - column == left):
                edges.append(column + 1)
        return list(zip(edges, [*(edge - 1 for edge in edges[1:]), self.check_column], strict=True))

    def merged(self, row: int, left: int, right: int, look: Any, text: str, formula: str = "") -> None:
        if right > left:
            self.sheet.merge_range(row, left, row, right, "", look)
        if formula:
            self.sheet.write_formula(row, left, formula, look, BLANK)
        elif text:
            self.sheet.write_string(row, left, text, look)
        else:
            self.sheet.write_blank(row, left, None, look)

    def label(self, name: str, text: str = "") -> None:
        self.sheet.write_string(self.row, 0, text or label(name), self.looks.label)
        self.sheet.set_row(self.row, 29)

    def ask(self, name: str, look: Any, rule: dict | None, given: str = "", text: str = "") -> str:
        """A cell to fill in, perhaps with something in it already. Its address."""
        self.label(name, text)
        self.merged(self.row, FIRST, FIRST + VALUE_SPAN - 1, look, given)
        return self._placed(name, rule)

    def follow(self, name: str, rule: dict | None = None, *, date: bool = False, locked: bool = False) -> str:
        """A cell that shows what the cover says; it may be written over, unless it is locked. Its address."""
        self.label(name)
        look = self.looks.follows_date if date else self.looks.fact if locked else self.looks.follows
        source = cover_reference(name)
        stored = {"unit": self.book.unit, "contractor": one_line(self.book.contractor)}.get(name) or BLANK
        self.sheet.merge_range(self.row, FIRST, self.row, FIRST + VALUE_SPAN - 1, "", look)
        self.sheet.write_formula(self.row, FIRST, f'=IF({source}="","",{source})', look, stored)
        return self._placed(name, rule)

    def _placed(self, name: str, rule: dict | None) -> str:
        self.at[name] = address(self.row, FIRST)
        if rule:
            self.sheet.data_validation(self.row, FIRST, self.row, FIRST, rule)
        return self.at[name]

    def check(self, formula: str, *, start: int = FIRST + VALUE_SPAN + 1) -> None:
        """The check beside what stands in this row; the row is done with it."""
        self.merged(self.row, start, self.check_column, self.looks.check, "", formula)
        self.marks.append(address(self.row, start))
        self.row += 1


def address(row: int, column: int) -> str:
    from xlsxwriter.utility import xl_rowcol_to_cell

    return xl_rowcol_to_cell(row, column, row_abs=True, col_abs=True)


def choice(choices: list[str]) -> dict[str, Any]:
    hints = texts()["hints"]
    return {
        "validate": "list", "source": choices, "input_message": hints["choose"], "error_message": hints["wrong_choice"]
    }  # fmt: skip


def instrument_rule(book: Book) -> dict[str, Any] | None:
    """A list to choose from, and anything else may be written."""
    source = short_list(book.instruments)
    return {"validate": "list", "source": source, "show_error": False} if source else None
