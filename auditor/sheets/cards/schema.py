"""What a layout card says, once it was read and found sound."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.sheets.model import FIELDS
from auditor.sheets.scene import Region, Spot

VERSION = 1
OPEN = "?"  # what a draft writes where a person must say something

# What a label or a column may be said to mean, beside the names of FIELDS.
SECTIONS = {"face": "face", "cross-draft": "cross"}
TEACHABLE = tuple(name for name in FIELDS if not name.endswith("_question"))  # a question is the label of its answer
LABEL_MEANINGS = (*TEACHABLE, *SECTIONS, "row", "column", "not readings")
# What a column says of the one reading of its row -> the role that a table gives such a column.
AXES = {"row": "row", "column": "column", "position": "point", "pass": "pass", "kind": "kind", "direction": "direction"}
COLUMN_MEANINGS = (*TEACHABLE, "point", "reading", "cross-draft", *AXES, "skip")
ORDERS = ("dmy", "mdy")
PLACES = {"right": "to the right of", "below": "below", "same": "in the cell of"}


class CardError(ValueError):
    """A card that cannot be used. The message says where in it, what is amiss, and how to mend it."""


@dataclass(frozen=True, slots=True)
class Mark:
    """How a sheet is recognised; everything that is given must hold. `cells` are (place, text), where the text '' asks
    for an empty cell; `filled` are cells that must hold something; `texts` stand in some cell of the sheet. Empty:
    sheets whose contractor is the card's."""

    sheet: str = ""
    cells: tuple[tuple[Spot, str], ...] = ()
    texts: tuple[str, ...] = ()
    filled: tuple[Spot, ...] = ()

    @property
    def empty(self) -> bool:
        return not (self.sheet or self.cells or self.texts)


@dataclass(frozen=True, slots=True)
class Word:
    """A label of this firm and what it means; `unit` (canonical) is that of the values under it, `number` the row or
    the column of the opening that it names."""

    label: str
    means: str
    unit: str | None = None
    number: int | None = None


@dataclass(frozen=True, slots=True)
class FieldPlace:
    """Where a field's value stands: in `cell`, or `stands` ('right', 'below', 'same') from the one cell that reads
    `label`; between the texts `after` and `before` of that cell; or in the sheet's name. `unit` is what a bare number
    is in."""

    name: str
    cell: Spot | None = None
    label: str = ""
    stands: str = ""
    unit: str | None = None
    after: str = ""
    before: str = ""
    in_sheet_name: bool = False


@dataclass(frozen=True, slots=True)
class GridPlace:
    """The cells of one pass over the opening, each with its (row, column) there, seen from the room; None where the
    card does not say where a reading lies."""

    cells: tuple[tuple[Spot, tuple[int, int] | None], ...]
    pass_number: int = 1


@dataclass(frozen=True, slots=True)
class DraftPlace:
    """Cells of cross-drafts, and the unit that the card says they are in."""

    cells: tuple[Spot, ...]
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class ColumnPlace:
    """One column of a table: what it means (COLUMN_MEANINGS), the heading that it must have, a unit, the (row, column)
    of the opening of a point (one of them alone where the rows of the table say the other), its pass, its sash."""

    index: int
    means: str
    heading: str = ""
    unit: str | None = None
    point: tuple[int | None, int | None] = (None, None)
    pass_number: int | None = None
    sash: str | None = None


@dataclass(frozen=True, slots=True)
class Layout:
    """One layout: a form (fields, grids, drafts) or a table (header rows, columns, fields that stand outside)."""

    name: str
    shape: str  # 'form' or 'table'
    mark: Mark
    unit: str | None = None
    date_order: str = ""
    area: Region | None = None
    fields: tuple[FieldPlace, ...] = ()
    grids: tuple[GridPlace, ...] = ()
    drafts: tuple[DraftPlace, ...] = ()
    ignore: frozenset[Spot] = frozenset()
    header: tuple[int, int] = (0, 0)
    last_row: int | None = None
    columns: tuple[ColumnPlace, ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """All that one contractor's sheets were taught. `digest` are the first eight digits of the text's SHA-256."""

    contractor: str
    digest: str
    mark: Mark = field(default_factory=Mark)
    unit: str | None = None
    date_order: str = ""
    labels: tuple[Word, ...] = ()
    unit_words: tuple[tuple[str, str], ...] = ()
    layouts: tuple[Layout, ...] = ()

    @property
    def name(self) -> str:
        return f"the card of {self.contractor} ({self.digest})"

    @property
    def has_words(self) -> bool:
        return bool(self.unit or self.date_order or self.labels or self.unit_words)
