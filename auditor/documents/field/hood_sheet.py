"""One hood's sheet: its facts, the cells to fill in, and the live checks beside them."""

from __future__ import annotations

from typing import Any

from auditor.documents.field import checks
from auditor.documents.field.checks import Grid
from auditor.documents.field.cover import cover_reference, date_rule, short_list
from auditor.documents.field.formats import Formats
from auditor.documents.field.geometry import grid_of, length_text, open_height_in, velocity_text
from auditor.documents.field.model import Book, HoodToSurvey
from auditor.documents.field.texts import check, label, one_line, quoted, texts

FIRST = 1  # 0-based column of the first grid cell
FEWEST = 8  # columns that a sheet has at least, so that its fields have room
VALUE_SPAN = 3  # columns of a field's value
LABEL_WIDTH, CELL_WIDTH, CHECK_WIDTH = 23, 8, 29
BLANK = (
    " "  # the stored result of a formula that says nothing yet: what reads the file without working it out sees a blank
)


class HoodSheet:
    """Writes one sheet from top to bottom; `row` is the next one, 0-based."""

    def __init__(self, sheet: Any, book: Book, hood: HoodToSurvey, looks: Formats):
        self.sheet, self.book, self.hood, self.looks = sheet, book, hood, looks
        self.rows, self.columns = grid_of(hood)
        self.check_column = FIRST + max(self.columns, FEWEST)
        self.row = 0
        self.at: dict[str, str] = {}  # field -> absolute address of its value
        self.marks: list[str] = []  # addresses of the checks
        self.grid = Grid([[]])
        self.status_cell = ""

    def write(self) -> None:
        self._columns()
        self._head()
        top = self.row
        self.row += 1 + 9 + (1 if self._sash_asked() else 0)  # the details need the grid's address: written after it
        end = self.row
        self._face()
        self._drafts()
        self._rest()
        below, self.row = self.row, top
        self._details()
        assert self.row == end, "the details take the rows set aside for them"
        self.row = below
        self._status()
        self._foot()
        self._print()

    # --- parts -------------------------------------------------------------------------------------------------------
    def _columns(self) -> None:
        self.sheet.set_column(0, 0, LABEL_WIDTH)
        self.sheet.set_column(FIRST, self.check_column - 1, CELL_WIDTH)
        self.sheet.set_column(self.check_column, self.check_column, CHECK_WIDTH)

    def _head(self) -> None:
        """Title, the hood's identity and what the register says of it."""
        hood, unit = self.hood, self.book.unit
        self.sheet.write_string(0, 0, texts()["title"], self.looks.title)
        self.sheet.set_row(0, 24)
        self.row = 1
        self._band(texts()["parts"]["hood"])
        self._label("hood")
        self._merged(self.row, FIRST, FIRST + VALUE_SPAN - 1, self.looks.ready, one_line(hood.hood_id, 80))
        self._facts(("building", hood.building), ("floor", hood.floor), ("room", hood.room), start=FIRST + VALUE_SPAN)
        self.row += 1
        self._facts(
            ("hood_type", hood.hood_type),
            ("opening_width", length_text(hood.opening_width_in, unit)),
            ("opening_height", length_text(hood.opening_height_in, unit)),
            ("working_sash", length_text(hood.working_sash_in, unit) if hood.has_sash else ""),
        )
        self.row += 1
        self._previous()
        self.row += 1

    def _facts(self, *facts: tuple[str, str], start: int = 0) -> None:
        """'Label: value' in one cell each, side by side: a number in it is no number on the sheet."""
        said = [f"{label(name)}: {one_line(value, 60)}" for name, value in facts if one_line(value)]
        if not said:
            return
        for text, (left, right) in zip(said, self._shares(start, len(said)), strict=True):
            self._merged(self.row, left, right, self.looks.fact, text)
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
        return list(zip(edges, [*(e - 1 for e in edges[1:]), self.check_column], strict=True))

    def _previous(self) -> None:
        """The last survey's figures, each in a cell of its own under a label that says they are not this survey's."""
        last, unit = self.hood.previous, self.book.unit
        if last is None:
            self._facts(("last_survey", texts()["parts"]["no_survey"]))
            return
        figures = (("last_mean", last.mean_fpm), ("last_lowest", last.lowest_fpm), ("last_draft", last.draft_fpm))
        told = [(name, f"{velocity_text(value, unit)} {unit}") for name, value in figures if value is not None]
        verdict = f" ({one_line(last.verdict, 30)})" if last.verdict else ""
        self._facts(("last_survey", f"{last.surveyed_on.isoformat()}{verdict}"), *told)

    def _details(self) -> None:
        """Everything about the survey that stands before the grid."""
        hood, lists, grid = self.hood, texts()["lists"], self.grid
        self._band(texts()["parts"]["details"])
        self._ask("surveyed_on", self.looks.fill_date, date_rule(past=True) | _hint("date"))
        self._check(f"{_body(checks.begun(grid, self.at['surveyed_on'], check('date'), self._future()))}")
        self._ask("occasion", self.looks.fill, _choice(lists["occasion"]), one_line(hood.occasion))
        self.row += 1
        self._follow("contractor")
        self._follow("surveyor")
        self._begun("surveyor")
        self._follow("instrument_id", _instruments(self.book))
        self._begun("instrument_id", "instrument")
        self._follow("instrument_kind", _choice(lists["instrument_kind"]))
        kind = self.at["instrument_kind"]
        unsuited, vane = quoted(check("unsuited_face")), quoted(check("unsuited_draft"))
        self._check(f'=IF(LEFT({kind},5)="pitot",{unsuited},IF(LEFT({kind},4)="vane",{vane},""))')
        self._follow("calibrated_on", date_rule(past=True), date=True)
        self._begun("calibrated_on", "calibration")
        self._follow("calibration_due", date_rule(past=False), date=True)
        due, day = self.at["calibration_due"], self.at["surveyed_on"]
        expired = f'IF(AND(ISNUMBER({due}),{due}<IF(ISNUMBER({day}),{day},TODAY())),{quoted(check("expired"))},"")'
        self._check(checks.begun(grid, due, check("calibration"), expired))
        self._follow("unit", locked=True)
        self.row += 1
        if self._sash_asked():
            self._sash()

    def _sash_asked(self) -> bool:
        return self.hood.has_sash

    def _future(self) -> str:
        day = self.at["surveyed_on"]
        return f'IF(NOT(ISNUMBER({day})),{quoted(check("date"))},IF({day}>TODAY(),{quoted(check("date_future"))},""))'

    def _sash(self) -> None:
        """The height at the test, checked against the working height, the opening and the grid's fineness."""
        unit, factor = ("in", 1.0) if self.book.unit == "ft/min" else ("mm", 25.4)
        text = f"{label('sash_height')} ({unit})"
        rule = {
            "validate": "decimal", "criteria": "between", "minimum": 0, "maximum": round(60 * factor),
            "input_message": texts()["hints"]["sash"].format(unit=unit),
            "error_message": texts()["hints"]["wrong_length"].format(unit=unit),
        }  # fmt: skip
        self._ask("sash_height", self.looks.fill_number, rule, text=text)
        cell, said = self.at["sash_height"], '""'
        width, hood = self.hood.opening_width_in or 0.0, self.hood
        tallest = hood.limits.max_cell_ft2 * 144 * self.rows * self.columns / width if width else 0.0
        if tallest:
            said = f"IF({cell}>{tallest * factor:.6g},{quoted(check('sash_coarse'))},{said})"
        if hood.working_sash_in:
            said = f"IF(ABS({cell}-{hood.working_sash_in * factor:g})>{factor:g},{quoted(check('sash_off'))},{said})"
        if hood.opening_height_in:
            said = f"IF({cell}>{hood.opening_height_in * factor:g},{quoted(check('sash_tall'))},{said})"
        self._check(
            checks.begun(self.grid, cell, check("sash"), f"IF(ISNUMBER({cell}),{said},{quoted(check('sash'))})")
        )

    def _face(self) -> None:
        self._band(texts()["parts"]["face"])
        self._note(texts()["parts"]["grid_note"])
        self._axis([f"Col {_edge(n, self.columns, 'left', 'right')}" for n in range(1, self.columns + 1)])
        self.sheet.set_row(self.row - 1, 24)
        start = self.row
        self.grid = Grid([[_address(start + i, FIRST + j) for j in range(self.columns)] for i in range(self.rows)])
        limits = self.hood.limits
        for i in range(self.rows):
            self.sheet.write_string(self.row, 0, f"Row {_edge(i + 1, self.rows, 'top', 'bottom')}", self.looks.label)
            for j in range(self.columns):
                self.sheet.write_blank(self.row, FIRST + j, None, self.looks.cell)
            self.sheet.set_row(self.row, 48)
            self._check(checks.row_check(self.grid.rows[i], self.grid, limits), wide=False)
        self._validate_readings(start, self.rows, self.columns)
        first = self.grid.rows[0][0].replace("$", "")
        colour = {
            "type": "formula",
            "criteria": checks.doubtful(first, self.grid, limits),
            "format": self.looks.doubtful,
        }
        self.sheet.conditional_format(start, FIRST, start + self.rows - 1, FIRST + self.columns - 1, colour)
        self.row += 1
        self.sheet.set_row(self.row - 1, 6)
        self._merged(self.row, 0, self.check_column - 1, self.looks.so_far, "", checks.so_far(self.grid))
        self._check(checks.mean_check(self.grid, limits), wide=False)
        self.sheet.set_row(self.row, 6)
        self.row += 1

    def _drafts(self) -> None:
        drafts = texts()["drafts"]
        self._band(texts()["parts"]["cross"])
        self._note(texts()["parts"]["draft_note"])
        self._axis(drafts["places"])
        start, width = self.row, len(drafts["places"])
        for direction in drafts["directions"]:
            self.sheet.write_string(self.row, 0, direction, self.looks.label)
            cells = [_address(self.row, FIRST + j) for j in range(width)]
            for j in range(width):
                self.sheet.write_blank(self.row, FIRST + j, None, self.looks.cell)
            self.sheet.set_row(self.row, 38)
            self._check(checks.draft_check(cells, self.grid, self.hood.limits), start=FIRST + width + 1)
        self._validate_readings(start, len(drafts["directions"]), width)
        self.at["draft"] = _address(start, FIRST)
        self.sheet.set_row(self.row, 6)
        self.row += 1

    def _rest(self) -> None:
        """Smoke, monitor, mode and what was seen."""
        lists = texts()["lists"]
        self._band(texts()["parts"]["smoke"])
        for name in ("smoke_local", "smoke_gross"):
            self._ask(name, self.looks.fill, _choice(lists["smoke"]))
            cell = self.at[name]
            escape = f'IF(OR(LEFT({cell},6)="escape",LEFT({cell},7)="reverse"),{quoted(check("smoke_escape"))},"")'
            blank = check("smoke") if name == "smoke_local" else ""
            self._check(checks.begun(self.grid, cell, blank, escape))
        self._ask("monitor", self.looks.fill_number, _reading_rule())
        cell, mean = self.at["monitor"], f"AVERAGE({self.grid.whole})"
        off = f"ABS({cell}-{mean})>{checks.MONITOR_SHARE:g}*{mean}"
        far = f'IF(AND(ISNUMBER({cell}),COUNT({self.grid.whole})={self.grid.count}),IF({off},{quoted(check("monitor_off"))},""),"")'
        self._check("=" + far)
        self._ask("operating_mode", self.looks.fill, _choice(lists["operating_mode"]))
        self.row += 1
        self._label("observations")
        self._merged(self.row, FIRST, self.check_column, self.looks.fill_text, "")
        self.at["observations"] = _address(self.row, FIRST)
        self.sheet.set_row(self.row, 120)
        self.row += 1

    def _status(self) -> None:
        """At the top right: how far the sheet is; the cover shows it too."""
        needed = [
            "surveyed_on",
            "surveyor",
            "instrument_id",
            "calibrated_on",
            "calibration_due",
            "smoke_local",
            "draft",
        ]
        needed += ["sash_height"] if "sash_height" in self.at else []
        formula = checks.status(self.grid, [self.at[name] for name in needed], self.marks)
        self.sheet.write_formula(0, self.check_column, formula, self.looks.ready, BLANK)
        self.status_cell = _address(0, self.check_column)

    def _foot(self) -> None:
        # Not under 'Observations', whose value it would be taken for while that is blank.
        self._merged(self.row, FIRST, self.check_column, self.looks.small, texts()["caution"])
        self.sheet.set_row(self.row, 29)
        self.row += 1

    def _print(self) -> None:
        from auditor.documents.field.page import one_page

        self.sheet.print_area(0, 0, self.row - 1, self.check_column)
        one_page(self.sheet, self.book, one_line(self.hood.hood_id, 60))

    # --- pieces ------------------------------------------------------------------------------------------------------
    def _band(self, text: str) -> None:
        for column in range(self.check_column + 1):
            self.sheet.write_blank(self.row, column, None, self.looks.band)
        self.sheet.write_string(self.row, 0, text, self.looks.band)
        self.sheet.set_row(self.row, 22)
        self.row += 1

    def _note(self, text: str) -> None:
        self._merged(self.row, 0, self.check_column, self.looks.small, text)
        self.sheet.set_row(self.row, 16)
        self.row += 1

    def _axis(self, names: list[str]) -> None:
        for number, name in enumerate(names):
            self.sheet.write_string(self.row, FIRST + number, name, self.looks.axis)
        self.row += 1

    def _merged(self, row: int, left: int, right: int, look: Any, text: str, formula: str = "") -> None:
        if right > left:
            self.sheet.merge_range(row, left, row, right, "", look)
        if formula:
            self.sheet.write_formula(row, left, formula, look, BLANK)
        elif text:
            self.sheet.write_string(row, left, text, look)
        else:
            self.sheet.write_blank(row, left, None, look)

    def _label(self, name: str, text: str = "") -> None:
        self.sheet.write_string(self.row, 0, text or label(name), self.looks.label)
        self.sheet.set_row(self.row, 29)

    def _ask(self, name: str, look: Any, rule: dict | None, given: str = "", text: str = "") -> None:
        """A cell to fill in, perhaps with something in it already."""
        self._label(name, text)
        self._merged(self.row, FIRST, FIRST + VALUE_SPAN - 1, look, given)
        self.at[name] = _address(self.row, FIRST)
        if rule:
            self.sheet.data_validation(self.row, FIRST, self.row, FIRST, rule)

    def _follow(self, name: str, rule: dict | None = None, *, date: bool = False, locked: bool = False) -> None:
        """A cell that shows what the cover says; it may be written over, unless it is locked."""
        self._label(name)
        look = self.looks.follows_date if date else self.looks.fact if locked else self.looks.follows
        source = cover_reference(name)
        stored = {"unit": self.book.unit, "contractor": one_line(self.book.contractor)}.get(name) or BLANK
        if VALUE_SPAN > 1:
            self.sheet.merge_range(self.row, FIRST, self.row, FIRST + VALUE_SPAN - 1, "", look)
        self.sheet.write_formula(self.row, FIRST, f'=IF({source}="","",{source})', look, stored)
        self.at[name] = _address(self.row, FIRST)
        if rule:
            self.sheet.data_validation(self.row, FIRST, self.row, FIRST, rule)
        if name == "contractor":
            self.row += 1

    def _begun(self, name: str, word: str = "") -> None:
        self._check(checks.begun(self.grid, self.at[name], check(word or name)))

    def _check(self, formula: str, *, wide: bool = True, start: int | None = None) -> None:
        """The check beside what stands in this row; the row is done with it."""
        left = start or (FIRST + VALUE_SPAN + 1 if wide else self.check_column)
        self._merged(self.row, left, self.check_column, self.looks.check, "", "=" + _body(formula))
        self.marks.append(_address(self.row, left))
        self.row += 1

    def _validate_readings(self, top: int, rows: int, columns: int) -> None:
        self.sheet.data_validation(top, FIRST, top + rows - 1, FIRST + columns - 1, _reading_rule())


def _body(formula: str) -> str:
    return formula.removeprefix("=")


def _address(row: int, column: int) -> str:
    from xlsxwriter.utility import xl_rowcol_to_cell

    return xl_rowcol_to_cell(row, column, row_abs=True, col_abs=True)


def _edge(number: int, count: int, first: str, last: str) -> str:
    """'1 (left)', '2', '3 (right)'."""
    if count == 1:
        return str(number)
    return f"{number} ({first})" if number == 1 else f"{number} ({last})" if number == count else str(number)


def _hint(name: str) -> dict[str, str]:
    return {"input_message": texts()["hints"][name]}


def _choice(choices: list[str]) -> dict[str, Any]:
    hints = texts()["hints"]
    return {
        "validate": "list", "source": choices, "input_message": hints["choose"], "error_message": hints["wrong_choice"]
    }  # fmt: skip


def _instruments(book: Book) -> dict[str, Any] | None:
    source = short_list(book.instruments)
    return {"validate": "list", "source": source, "show_error": False} if source else None


def _reading_rule() -> dict[str, Any]:
    """A warning, not a stop: '<20' is a reading too."""
    hints = texts()["hints"]
    return {
        "validate": "decimal", "criteria": "between", "minimum": 0,
        "maximum": f"={checks.CEILING_FPM:g}*{checks.FACTOR}", "error_type": "warning",
        "input_message": hints["reading"], "error_message": hints["wrong_number"],
    }  # fmt: skip
