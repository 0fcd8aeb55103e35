"""What a block of numbers is: its rows, its columns, the labels of both."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.sheets.labels import Meaning
from auditor.sheets.scene import Region, Spot
from auditor.sheets.units import Unit

NOT_READINGS = frozenset({"previous", "limit", "design", "deviation", "percent", "statistics", "converted"})


@dataclass(slots=True)
class Line:
    """One row or column of a block: its index on the sheet and the label that it has (all its header cells)."""

    index: int
    label: Spot | None = None
    meanings: tuple[Meaning, ...] = ()
    unit: Unit | None = None

    @property
    def text(self) -> str:
        return " ".join(m.folded for m in self.meanings)

    @property
    def derived(self) -> str | None:
        """What the line is instead of readings: 'mean', 'min', 'deviation', 'previous', 'limit' ..."""
        for meaning in self.meanings:
            if meaning.derived:
                return meaning.derived
            if meaning.flip in NOT_READINGS and not meaning.position:
                return meaning.flip
            if meaning.unit and meaning.unit.name == "%":
                return "percent"
        return None

    @property
    def known(self) -> bool:
        return all(
            m.position or m.direction or m.pass_number or m.derived or m.is_unit or m.flip for m in self.meanings
        )


@dataclass(slots=True)
class Block:
    """A rectangle of numbers. `rows` and `columns` are its lines in sheet order, labels found; `titles` those that
    govern it, nearest first; `corner` the heading of its label column."""

    rows: list[Line]
    columns: list[Line]
    titles: list[Spot] = field(default_factory=list)
    corner: Spot | None = None
    section: str | None = None
    flip: str | None = None

    @property
    def region(self) -> Region:
        return Region(self.rows[0].index, self.columns[0].index, self.rows[-1].index, self.columns[-1].index)

    @property
    def label_column(self) -> int | None:
        return next((line.label[1] for line in self.rows if line.label), None)

    @property
    def spots(self) -> list[Spot]:
        return [(r.index, c.index) for r in self.rows for c in self.columns]

    def outline(self) -> Region:
        """The block with its labels."""
        box = self.region
        labels = [line.label for line in (*self.rows, *self.columns) if line.label]
        rows = [box.top, *(s[0] for s in labels)]
        columns = [box.left, *(s[1] for s in labels)]
        return Region(min(rows), min(columns), box.bottom, box.right)
