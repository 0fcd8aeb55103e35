"""One hood's sheet: its facts, the cells to fill in, and the live checks beside them."""

from __future__ import annotations

from typing import Any

from auditor.documents.field import checks
from auditor.documents.field.checks import Grid
from auditor.documents.field.cover import date_rule
from auditor.documents.field.form import FIRST, VALUE_SPAN, Form, address, choice, instrument_rule
from auditor.documents.field.formats import Formats
from auditor.documents.field.geometry import grid_of, length_text, velocity_text
from auditor.documents.field.model import Book, HoodToSurvey
from auditor.documents.field.page import one_page
from auditor.documents.field.texts import check, label, one_line, quoted, texts

FEWEST = 8  # columns that a sheet has at least, so that its fields have room
_MM = 25.4


class HoodSheet:
    """Writes one sheet. `status_cell`: where it says how far it is."""

    def __init__(self, sheet: Any, book: Book, hood: HoodToSurvey, looks: Formats):
        self.sheet, self.book, self.hood, self.looks = sheet, book, hood, looks
        self.rows, self.columns = grid_of(hood)
        self.form = Form(sheet, book, looks, FIRST + max(self.columns, FEWEST))
        self.grid = Grid([[]])
        self.status_cell = address(0, self.form.check_column)

    def write(self) -> None:
        form = self.form
        self._head()
        details = form.row
        form.row += 11 if self.hood.has_sash else 10  # they ask about the grid, and are written once it has its place
        face = form.row
        self._face()
        self._drafts()
        self._rest()
        foot, form.row = form.row, details
        self._details()
        if form.row != face:
            raise AssertionError("the details do not take the rows that were kept for them")
        form.row = foot
        # Not under 'Observations', whose value it would be taken for while that is blank.
        form.merged(form.row, FIRST, form.check_column, self.looks.small, texts()["caution"])
        self.sheet.set_row(form.row, 24)
        self._status()
        self.sheet.print_area(0, 0, form.row, form.check_column)
        one_page(self.sheet, self.book, one_line(self.hood.hood_id, 60))

    # --- parts -------------------------------------------------------------------------------------------------------
    def _head(self) -> None:
        """Title, the hood's identity and what the register and the last survey say of it."""
        hood, unit, form = self.hood, self.book.unit, self.form
        self.sheet.write_string(0, 0, texts()["title"], self.looks.title)
        self.sheet.set_row(0, 24)
        form.row = 1
        form.band(texts()["parts"]["hood"])
        form.label("hood")
        form.merged(form.row, FIRST, FIRST + VALUE_SPAN - 1, self.looks.ready, one_line(hood.hood_id, 80))
        form.facts(("building", hood.building), ("floor", hood.floor), ("room", hood.room), start=FIRST + VALUE_SPAN)
        form.row += 1
        form.facts(
            ("hood_type", hood.hood_type),
            ("opening_width", length_text(hood.opening_width_in, unit)),
            ("opening_height", length_text(hood.opening_height_in, unit)),
            ("working_sash", length_text(hood.working_sash_in, unit) if hood.has_sash else ""),
        )
        form.row += 1
        self._previous()
        form.row += 1

    def _previous(self) -> None:
        """The last survey's figures, each in a cell of its own under a label that says they are not this survey's."""
        last, unit = self.hood.previous, self.book.unit
        if last is None:
            self.form.facts(("last_survey", texts()["parts"]["no_survey"]))
            return
        figures = (("last_mean", last.mean_fpm), ("last_lowest", last.lowest_fpm), ("last_draft", last.draft_fpm))
        told = [(name, f"{velocity_text(value, unit)} {unit}") for name, value in figures if value is not None]
        verdict = f" ({one_line(last.verdict, 30)})" if last.verdict else ""
        self.form.facts(("last_survey", f"{last.surveyed_on.isoformat()}{verdict}"), *told)

    def _details(self) -> None:
        """Everything about the survey that stands before the grid: 10 rows, and one more with a sash."""
        form, lists, grid = self.form, texts()["lists"], self.grid
        form.band(texts()["parts"]["details"])
        hint = {"input_message": texts()["hints"]["date"]}
        day = form.ask("surveyed_on", self.looks.fill_date, date_rule(past=True) | hint)
        late = f'IF({day}>TODAY(),{quoted(check("date_future"))},"")'
        form.check(checks.begun(grid, day, check("date"), f"IF(ISNUMBER({day}),{late},{quoted(check('date'))})"))
        form.ask("occasion", self.looks.fill, choice(lists["occasion"]), one_line(self.hood.occasion))
        form.row += 1
        form.follow("contractor")
        form.row += 1
        form.check(checks.begun(grid, form.follow("surveyor"), check("surveyor")))
        form.check(checks.begun(grid, form.follow("instrument_id", instrument_rule(self.book)), check("instrument")))
        kind = form.follow("instrument_kind", choice(lists["instrument_kind"]))
        unsuited, vane = quoted(check("unsuited_face")), quoted(check("unsuited_draft"))
        form.check(f'=IF(LEFT({kind},5)="pitot",{unsuited},IF(LEFT({kind},4)="vane",{vane},""))')
        done = form.follow("calibrated_on", date_rule(past=True), date=True)
        form.check(checks.begun(grid, done, check("calibration")))
        due = form.follow("calibration_due", date_rule(past=False), date=True)
        over = f'IF(AND(ISNUMBER({due}),{due}<IF(ISNUMBER({day}),{day},TODAY())),{quoted(check("expired"))},"")'
        form.check(checks.begun(grid, due, check("calibration"), over))
        form.follow("unit", locked=True)
        form.row += 1
        if self.hood.has_sash:
            self._sash()

    def _sash(self) -> None:
        """The height at the test, checked against the working height, the opening and the grid's fineness."""
        hood, hints = self.hood, texts()["hints"]
        unit, factor = ("in", 1.0) if self.book.unit == "ft/min" else ("mm", _MM)
        rule = {
            "validate": "decimal", "criteria": "between", "minimum": 0, "maximum": round(60 * factor),
            "input_message": hints["sash"].format(unit=unit), "error_message": hints["wrong_length"].format(unit=unit),
        }  # fmt: skip
        cell = self.form.ask("sash_height", self.looks.fill_number, rule, text=f"{label('sash_height')} ({unit})")
        said = '""'
        if hood.opening_width_in:
            finest = hood.limits.max_cell_ft2 * 144 * self.rows * self.columns / hood.opening_width_in
            said = f"IF({cell}>{finest * factor:.6g},{quoted(check('sash_coarse'))},{said})"
        if hood.working_sash_in:
            said = f"IF(ABS({cell}-{hood.working_sash_in * factor:g})>{factor:g},{quoted(check('sash_off'))},{said})"
        if hood.opening_height_in:
            said = f"IF({cell}>{hood.opening_height_in * factor:g},{quoted(check('sash_tall'))},{said})"
        read = f"IF(ISNUMBER({cell}),{said},{quoted(check('sash'))})"
        self.form.check(checks.begun(self.grid, cell, check("sash"), read))

    def _face(self) -> None:
        form, limits = self.form, self.hood.limits
        form.band(texts()["parts"]["face"])
        form.note(texts()["parts"]["grid_note"])
        self.sheet.set_row(form.row, 24)
        form.axis([f"Col {_edge(n, self.columns, 'left', 'right')}" for n in range(1, self.columns + 1)])
        start = form.row
        self.grid = Grid([[address(start + i, FIRST + j) for j in range(self.columns)] for i in range(self.rows)])
        for i in range(self.rows):
            self._cells(f"Row {_edge(i + 1, self.rows, 'top', 'bottom')}", self.columns, 48)
            form.check(checks.row_check(self.grid.rows[i], self.grid, limits), start=form.check_column)
        self._readings(start, self.rows, self.columns)
        first = self.grid.rows[0][0].replace("$", "")
        red = {"type": "formula", "criteria": checks.doubtful(first, self.grid, limits), "format": self.looks.doubtful}
        self.sheet.conditional_format(start, FIRST, start + self.rows - 1, FIRST + self.columns - 1, red)
        form.gap()
        form.merged(form.row, 0, form.check_column - 1, self.looks.so_far, "", checks.so_far(self.grid))
        self.sheet.set_row(form.row, 20)
        form.check(checks.mean_check(self.grid, limits), start=form.check_column)
        form.gap()

    def _drafts(self) -> None:
        form, drafts = self.form, texts()["drafts"]
        form.band(texts()["parts"]["cross"])
        form.note(texts()["parts"]["draft_note"])
        form.axis(drafts["places"])
        start, width = form.row, len(drafts["places"])
        for direction in drafts["directions"]:
            cells = [address(form.row, FIRST + j) for j in range(width)]
            self._cells(direction, width, 38)
            form.check(checks.draft_check(cells, self.grid, self.hood.limits), start=FIRST + width + 1)
        self._readings(start, len(drafts["directions"]), width)
        form.at["draft"] = address(start, FIRST)
        form.gap()

    def _cells(self, text: str, count: int, height: float) -> None:
        """A labelled row of cells for readings."""
        self.sheet.write_string(self.form.row, 0, text, self.looks.label)
        for j in range(count):
            self.sheet.write_blank(self.form.row, FIRST + j, None, self.looks.cell)
        self.sheet.set_row(self.form.row, height)

    def _readings(self, top: int, rows: int, columns: int) -> None:
        self.sheet.data_validation(top, FIRST, top + rows - 1, FIRST + columns - 1, reading_rule())

    def _rest(self) -> None:
        """Smoke, monitor, mode and what was seen."""
        form, lists, grid = self.form, texts()["lists"], self.grid
        form.band(texts()["parts"]["smoke"])
        for name in ("smoke_local", "smoke_gross"):
            cell = form.ask(name, self.looks.fill, choice(lists["smoke"]))
            escape = f'IF(OR(LEFT({cell},6)="escape",LEFT({cell},7)="reverse"),{quoted(check("smoke_escape"))},"")'
            form.check(checks.begun(grid, cell, check("smoke") if name == "smoke_local" else "", escape))
        cell, mean = form.ask("monitor", self.looks.fill_number, reading_rule()), f"AVERAGE({grid.whole})"
        off = f"ABS({cell}-{mean})>{checks.MONITOR_SHARE:g}*{mean}"
        whole = f"COUNT({grid.whole})={grid.count}"
        form.check(f'=IF(AND(ISNUMBER({cell}),{whole}),IF({off},{quoted(check("monitor_off"))},""),"")')
        form.ask("operating_mode", self.looks.fill, choice(lists["operating_mode"]))
        form.row += 1
        form.label("observations")
        form.merged(form.row, FIRST, form.check_column, self.looks.fill_text, "")
        form.at["observations"] = address(form.row, FIRST)
        self.sheet.set_row(form.row, 120)
        form.row += 1

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
        needed += ["sash_height"] if "sash_height" in self.form.at else []
        formula = checks.status(self.grid, [self.form.at[name] for name in needed], self.form.marks)
        self.form.merged(0, self.form.check_column, self.form.check_column, self.looks.ready, "", formula)


def _edge(number: int, count: int, first: str, last: str) -> str:
    """'1 (left)', '2', '3 (right)'."""
    if count == 1:
        return str(number)
    return f"{number} ({first})" if number == 1 else f"{number} ({last})" if number == count else str(number)


def reading_rule() -> dict[str, Any]:
    """A warning, not a stop: '<20' is a reading too."""
    hints = texts()["hints"]
    return {
        "validate": "decimal", "criteria": "between", "minimum": 0,
        "maximum": f"={checks.CEILING_FPM:g}*{checks.FACTOR}", "error_type": "warning",
        "input_message": hints["reading"], "error_message": hints["wrong_number"],
    }  # fmt: skip
