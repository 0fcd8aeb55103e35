"""Small cards and sheets for tests: labels that say nothing ('F1', 'X'), and the cards that teach them."""

from __future__ import annotations

from collections.abc import Sequence

from auditor import codes
from auditor.sheets import Context, understand
from auditor.sheets.cards import load_card
from auditor.sheets.model import SheetAccount, SurveyAsWritten
from auditor.workbook.cells import Sheet, Workbook
from tests.sheets.build import sheet

# A form of which no word can be understood: hood, date, sash, grid, cross-drafts.
ROWS: list[list] = [
    ["Q form"],
    ["F1", "B-214"],
    ["F2", "06/07/2026"],
    ["X", 18],
    [],
    ["Q7"],
    [None, 98, 97, 99],
    [None, 101, 103, 96],
    [],
    ["Q9", 8, 9, 7],
]

LAYOUT = """
card = 1
contractor = "Cobalt"

[[layout]]
name = "Q form"
shape = "form"
unit = "ft/min"
date_order = "dmy"
mark.cells.A1 = "Q form"

[layout.fields]
hood = { cell = "B2", label = "F1" }
surveyed_on = { label = "F2", stands = "right" }
sash_height = { cell = "B4", label = "X", unit = "in" }

[[layout.grid]]
range = "B7:D8"

[[layout.cross]]
range = "B10:D10"
"""

WORDS = """
card = 1
contractor = "Cobalt"
mark.texts = ["Q form"]
date_order = "dmy"

[labels]
"F1" = "hood"
"F2" = "surveyed_on"
"X" = { means = "sash_height", unit = "in" }
"Q7" = { means = "face", unit = "ft/min" }
"Q9" = "cross-draft"
"""


def changed(address: str, value: object, rows: Sequence[Sequence] = ROWS) -> list[list]:
    """The rows with another value in one cell ('B4')."""
    column, row = ord(address[0]) - 65, int(address[1:]) - 1
    out = [list(r) for r in rows]
    while len(out) <= row:
        out.append([])
    out[row] += [None] * (column + 1 - len(out[row]))
    out[row][column] = value
    return out


def accounts(sheets: Sequence[Sheet], *cards: str, hoods: Sequence[str] = ()) -> list[SheetAccount]:
    context = Context(frozenset(hoods), tuple(load_card(text) for text in cards))
    return understand(Workbook("test.xlsx", "xlsx", list(sheets)), context)


def read(rows: Sequence[Sequence], *cards: str, **more) -> SurveyAsWritten:
    """The one survey of a sheet of rows, read with these cards."""
    [account] = accounts([sheet(rows, **more)], *cards)
    [only] = account.surveys
    return only


def holds(survey: SurveyAsWritten) -> list[str]:
    return sorted(p.code for p in survey.problems if codes.find(p.code).severity == "hold")


def needed(survey: SurveyAsWritten) -> dict[str, tuple]:
    """Value and unit of the facts that a verdict needs."""
    names = ("hood", "surveyed_on", "sash_height", "unit")
    return {n: (f.value, f.unit) for n in names if (f := survey.fields.get(n))}
