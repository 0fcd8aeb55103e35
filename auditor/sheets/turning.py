"""Tables on their side (a column per hood): turned for reading, and their addresses turned back."""

from __future__ import annotations

import re

from auditor.sheets.model import Problem, SurveyAsWritten
from auditor.sheets.scene import Scene
from auditor.workbook.cells import Sheet, a1

_ADDRESS = re.compile(r"\b([A-Z]{1,3})(\d{1,7})\b")


def hoods_across(scene: Scene) -> bool:
    """True where the one hood label of a sheet is followed by several values in its row."""
    labels = [s for s, m in scene.meanings.items() if m.field == "hood" and m.inline is None]
    if len(labels) != 1:
        return False
    values = list(scene.right_of(labels[0], 10**6))
    if len(values) < 2 or any(scene.meaning(v).field or scene.meaning(v).is_unit for v in values):
        return False
    across = [c for _, c in values]
    label = labels[0][1]
    rows = [
        r for r, columns in scene.filled.items() if r > labels[0][0] and [c for c in columns if c > label] == across
    ]
    return len([r for r in rows if all((r, c) in scene.numbers for c in across)]) >= 2


def turn(sheet: Sheet) -> Sheet:
    """The sheet with rows and columns exchanged."""
    cells = sorted(
        (cell._replace(row=cell.column, column=cell.row) for cell in sheet.cells.values()),
        key=lambda c: (c.row, c.column),
    )
    return Sheet(
        sheet.name,
        sheet.index,
        {(c.row, c.column): c for c in cells},
        [(left, top, right, bottom) for top, left, bottom, right in sheet.merged],
        sheet.hidden,
        sheet.hidden_columns,
        sheet.hidden_rows,
        sheet.grid,
    )


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def _back(text: str) -> str:
    return _ADDRESS.sub(lambda m: a1(_column_number(m[1]), int(m[2])), text)


def turn_back(surveys: list[SurveyAsWritten], problems: list[Problem]) -> None:
    """Turn all addresses of what was read from a turned sheet back to those of the sheet itself."""
    for survey in surveys:
        survey.place = _back(survey.place)
        for field in survey.fields.values():
            field.cell = _back(field.cell)
        for reading in survey.readings:
            reading.cell = _back(reading.cell)
    for problem in [*problems, *(p for s in surveys for p in s.problems)]:
        problem.cell = _back(problem.cell)
