"""The header of a table: its rows, and what each column under it holds."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from auditor.sheets.labels import Meaning, analyse
from auditor.sheets.positions import Position
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.text import fold, words_of
from auditor.sheets.units import Unit
from auditor.sheets.vocabulary import vocabulary
from auditor.workbook.cells import Kind

AXES = ("row", "column", "point", "pass", "kind", "direction")


@dataclass(slots=True)
class Column:
    """One column of a table. `role` is 'field', 'face', 'cross', 'derived', 'value', 'skip', or one of AXES; `name` the
    field's or the derived kind's name; `meanings` its header cells from the top down."""

    index: int
    role: str
    name: str = ""
    spot: Spot | None = None
    meanings: tuple[Meaning, ...] = ()
    unit: Unit | None = None
    position: Position | None = None
    direction: str | None = None
    pass_number: int | None = None
    sash: str | None = None
    group: Spot | None = None

    @property
    def text(self) -> str:
        return " ".join(m.folded for m in self.meanings if not m.is_unit or m.position)


@dataclass(slots=True)
class Header:
    """A table's header: first and last of its rows, and its columns by sheet index."""

    top: int
    bottom: int
    columns: list[Column] = field(default_factory=list)
    axes: dict[str, Column | None] = field(default_factory=dict)  # of a header whose columns are settled
    cross_title: Spot | None = None  # a title over the table that makes it one of cross-drafts
    turned: Spot | None = None  # a title that says that its figures are no readings of this survey

    def axis(self, role: str) -> Column | None:
        """The one column of an axis, once the columns are settled."""
        if role not in self.axes:
            self.axes[role] = self.one(role)
        return self.axes[role]

    def of(self, role: str, name: str = "") -> list[Column]:
        return [c for c in self.columns if c.role == role and (not name or c.name == name)]

    def one(self, role: str, name: str = "") -> Column | None:
        found = self.of(role, name)
        return found[0] if len(found) == 1 else None


def find_headers(scene: Scene) -> list[Header]:
    """All rows that head a table of hoods, with the rows above and below that belong to them."""
    headers: list[Header] = []
    for row in sorted(scene.filled):
        if headers and row <= headers[-1].bottom:
            continue
        hoods = [
            c
            for c in scene.filled[row]
            if scene.meaning((row, c)).field == "hood" and scene.meaning((row, c)).inline is None
        ]
        if len(hoods) != 1 or not _looks_like_header(scene, row) or not _values_below(scene, row, hoods[0]):
            continue
        headers.append(_header_at(scene, row, hoods[0], headers[-1].bottom if headers else 0))
    return headers


def _looks_like_header(scene: Scene, row: int) -> bool:
    cells = [(row, c) for c in scene.filled[row]]
    texts = [s for s in cells if s in scene.meanings]
    known = [s for s in cells if (scene.meanings.get(s) or analyse(scene.text(s))).known or _axis(scene.meaning(s))]
    broken = any(scene.cells[s].kind in (Kind.DATE, Kind.ERROR) for s in cells)
    return len(texts) >= 2 and len(known) >= 3 and not broken and len(known) * 2 >= len(cells)


_AROUND = frozenset(
    {"reading", "grid", "measurement", "measuring", "probe", "test", "sample", "traverse", "sampling", "face", "of"}
)


def _heads(scene: Scene, spot: Spot) -> bool:
    meaning = scene.meanings.get(spot) or analyse(scene.text(spot))
    return meaning.known or _axis(meaning) is not None


def _values_below(scene: Scene, row: int, column: int) -> bool:
    """True where hoods stand under the label, not the next label of a form."""
    beside = next(iter(scene.right_of((row, column), 10**6)), None)
    if beside and not _heads(scene, beside) and any(ch.isdigit() for ch in scene.text(beside)):
        return False  # 'Hood: B-214' of a form
    bottom = scene.span((row, column))[0]
    for below in range(bottom + 1, bottom + 5):
        if column in scene.filled.get(below, ()):
            meaning = scene.meaning((below, column))
            if meaning.is_unit:
                continue
            return not (meaning.field or meaning.section or meaning.pairs or meaning.folded.endswith(":"))
    return False


def _axis(meaning: Meaning) -> str | None:
    """The axis that a header names ('Row', 'Reading location', 'Pass'), if it is no more than that."""
    axes = vocabulary().axes
    words = words_of(meaning.folded.split("(")[0])
    whole = axes.get(" ".join(words))
    if whole or len(words) < 2:
        return whole
    return axes.get(" ".join(w for w in words if w not in _AROUND))


def _header_at(scene: Scene, row: int, hood: int, floor: int) -> Header:
    bottom = max(row, scene.span((row, hood))[0])
    while _is_sub_header(scene, bottom + 1, hood, row):
        bottom += 1
    top = row
    while top - 1 > floor and _is_group_row(scene, top - 1, hood):
        top -= 1
    header = Header(top, bottom)
    header.columns = [c for c in (_column(scene, header, row, i) for i in _indices(scene, header)) if c]
    _settle(header)
    return header


def _indices(scene: Scene, header: Header) -> list[int]:
    return sorted({c for r in range(header.top, header.bottom + 1) for c in scene.filled.get(r, ())})


def _is_sub_header(scene: Scene, row: int, hood: int, main: int) -> bool:
    columns = scene.filled.get(row, [])
    if not columns or hood in columns:
        return hood in columns and _all_units(scene, row)
    cells = [(row, c) for c in columns]
    meanings = [scene.meanings.get(s) or analyse(scene.text(s)) for s in cells]
    if any(scene.cells[s].kind in (Kind.DATE, Kind.ERROR, Kind.FORMULA) for s in cells):
        return False
    heads = [
        m
        for m in meanings
        if m.position or m.is_unit or m.derived or m.field or m.direction or m.pass_number or m.section
    ]
    stated = [scene.numbers[s].value for s in cells if s in scene.numbers and scene.cells[s].kind == Kind.NUMBER]
    numbers = [v for v in stated if v is not None]
    small = len(numbers) == len(stated) and all(v == int(v) and 0 < v <= len(columns) + 30 for v in numbers)
    rising = all(b - a == 1 or b == 1 for a, b in pairwise(numbers)) if small and numbers else True
    return len(heads) == len(cells) and small and rising


def _all_units(scene: Scene, row: int) -> bool:
    spots = [(row, c) for c in scene.filled.get(row, ())]
    if any(s not in scene.meanings or s in scene.numbers for s in spots):
        return False
    meanings = [scene.meaning(s) for s in spots]
    blanks = {"-", "--", "text", "n/a", "", "id", "date", "dd/mm/yyyy", "mm/dd/yyyy", "yyyy-mm-dd"}
    return any(m.is_unit for m in meanings) and all(m.is_unit or m.folded in blanks for m in meanings)


def _is_group_row(scene: Scene, row: int, hood: int) -> bool:
    columns = scene.filled.get(row, [])
    cells = [(row, c) for c in columns if c > hood]
    if not cells:
        return False
    if len(cells) != len([c for c in columns if c != hood]):
        cells = [(row, c) for c in columns]
        if not all(s[1] > hood or scene.meaning(s).section for s in cells):
            return False
    meanings = [scene.meanings.get(s) or analyse(scene.text(s)) for s in cells]
    heads = [
        m
        for m in meanings
        if m.section
        or m.flip
        or m.pass_number
        or m.sash
        or m.position
        or m.direction
        or m.derived
        or (m.year and len(m.folded) < 30)
    ]
    return bool(cells) and len(heads) == len(cells) and not any(m.field and m.inline and not m.sash for m in meanings)


def _column(scene: Scene, header: Header, main: int, index: int) -> Column | None:
    stack: list[tuple[Spot, Meaning]] = []
    for row in range(header.top, header.bottom + 1):
        found = _header_cell(scene, header, row, main, index)
        if found:
            stack.append(found)
    if not stack:
        return None
    column = Column(index, "skip", spot=stack[-1][0], meanings=tuple(m for _, m in stack))
    column.unit = next((m.unit for _, m in reversed(stack) if m.unit), None)
    column.direction = next((m.direction for _, m in reversed(stack) if m.direction), None)
    column.pass_number = next((m.pass_number for _, m in reversed(stack) if m.pass_number), None)
    column.sash = next(
        (m.sash for _, m in reversed(stack) if (m.sash and m.field != "sash_height") or (m.inline and m.sash)), None
    )
    column.position = _stacked_position([m for _, m in stack])
    column.group = stack[0][0] if len(stack) > 1 else None
    column.role, column.name = _role([m for _, m in stack], column)
    return column


def _header_cell(scene: Scene, header: Header, row: int, main: int, index: int) -> tuple[Spot, Meaning] | None:
    """The header cell over a column: its own, the merged area it lies in, or the group's to its left."""
    if index in scene.filled.get(row, ()):
        spot = (row, index)
        return spot, scene.meanings.get(spot) or analyse(scene.text(spot))
    for anchor, (bottom, right) in scene.spans.items():
        if (
            anchor[0] <= row <= bottom
            and anchor[1] <= index <= right
            and anchor in scene.meanings
            and anchor[1] != index
        ):
            return (anchor, scene.meaning(anchor)) if anchor[0] == row else None
    if row < header.bottom and _heads_below(scene, header, row, index):
        left = next(iter(scene.left_of((row, index), 1)), None)
        if left and left not in scene.spans and left in scene.meanings:
            meaning = scene.meaning(left)
            if (
                meaning.section
                or meaning.flip
                or meaning.pass_number
                or meaning.sash
                or meaning.position
                or meaning.direction
            ) and (not meaning.field or meaning.sash):
                return left, meaning
    return None


def _heads_below(scene: Scene, header: Header, row: int, index: int) -> bool:
    """True where the column has a header cell further down that can belong to a group (a point, a mean ...)."""
    for below in range(row + 1, header.bottom + 1):
        if index in scene.filled.get(below, ()):
            meaning = scene.meanings.get((below, index)) or analyse(scene.text((below, index)))
            return bool(meaning.position or meaning.direction or meaning.derived or meaning.pass_number)
    return False


def _stacked_position(meanings: list[Meaning]) -> Position | None:
    own = [m.position for m in meanings if m.position and not m.derived]
    if len(own) < 2:
        return own[0] if own else None
    group, head = own[0], own[-1]
    head_row = head.line_row if head.line_row is not None else head.row_rank
    head_column = head.line_column if head.line_column is not None else head.column_rank
    if (
        (group.row_rank is not None or group.row_number)
        and not group.column_number
        and (head_column is not None or _index(head))
    ):
        number = head.column_number or (head.number if head_column is None else None)
        rank = group.line_row if group.line_row is not None else group.row_rank
        return Position(
            row_rank=rank,
            row_number=group.row_number,
            column_rank=None if number else head_column,
            column_number=number,
        )
    if (group.column_rank is not None or group.column_number) and (head_row is not None or _index(head)):
        number = head.row_number or (head.number if head_row is None else None)
        rank = group.line_column if group.line_column is not None else group.column_rank
        return Position(
            column_rank=rank,
            column_number=group.column_number,
            row_rank=None if number else head_row,
            row_number=number,
        )
    return head


def _index(position: Position) -> int | None:
    return position.number or position.row_number or position.column_number


def _role(stack: list[Meaning], column: Column) -> tuple[str, str]:
    head = next((m for m in reversed(stack) if not m.is_unit or m.position), stack[-1])
    groups = [m for m in stack if m is not head]
    section = next((m.section for m in reversed(groups) if m.section), None)
    flip = next((m.flip for m in groups if m.flip and m.section != "cross"), None)
    if flip and flip not in ("as_found",):
        return "skip", flip
    if head.section == "cross" or (
        section == "cross" and (head.position or head.direction or head.derived or head.section)
    ):
        return ("cross", head.derived or "") if not head.flip or head.flip == "other" else ("skip", head.flip)
    if head.field and not (head.position and section) and not (head.inline and head.sash):
        if head.field.startswith("reported_m"):
            return "derived", head.field
        axis = _axis(head)
        if axis and (head.field == "other" or (axis == "kind" and head.field == "occasion")):
            return (axis, "") if axis in AXES else ("value", "")
        return "field", head.field
    if head.derived:
        return "derived", {"mean": "reported_mean", "min": "reported_min", "max": "reported_max"}.get(
            head.derived, head.derived
        )
    if head.flip and not head.position:
        return "skip", head.flip
    if column.position and section in (None, "face"):
        return "face", ""
    if head.pass_number and section == "face":
        return "face", ""
    axis = _axis(head)
    if axis == "value":
        return "value", ""
    if head.section == "face":
        return "value", ""
    return (axis, "") if axis in AXES else ("skip", "")


def regroup(header: Header, empty: list[Column]) -> None:
    """A header cell without a column of its own ('Face velocity (m/s)' before P1, P2 ...) heads those after it."""
    for cell in empty:
        head = cell.meanings[-1]
        if not (head.section or head.flip):
            continue
        later = [c.index for c in empty if c.index > cell.index and (c.meanings[-1].section or c.meanings[-1].flip)]
        for column in header.columns:
            if cell.index < column.index < min(later, default=10**9) and (
                column.position or column.direction or column.meanings[-1].derived
            ):
                column.meanings = (head, *column.meanings)
                column.unit = column.unit or head.unit
                column.sash = column.sash or head.sash
                column.pass_number = column.pass_number or head.pass_number
                column.role, column.name = _role(list(column.meanings), column)


def refine_by_data(scene: Scene, header: Header, bottom: int) -> None:
    """Settle by what stands under them what headers such as 'Measurement', 'Result' leave open: kinds of reading, or
    the readings themselves."""
    kinds = vocabulary().kinds
    for column in header.columns:
        below = [
            scene.text((r, column.index))
            for r in range(header.bottom + 1, bottom + 1)
            if column.index in scene.filled.get(r, ())
        ]
        keys = {kinds.get(" ".join(words_of(fold(t)))) for t in below[:200]}
        if column.role in ("value", "skip", "point") and below and keys <= {"face", "cross", "mean", "smoke"}:
            column.role, column.name = "kind", ""
        if column.name == "surveyed_on" and column.meanings[-1].folded in vocabulary().notes["date_if_dated"]:
            spots = [(r, column.index) for r in range(header.bottom + 1, bottom + 1)]
            if not any(s in scene.cells and scene.cells[s].kind == Kind.DATE for s in spots):
                column.role, column.name = "skip", ""
    axes = any(header.of(role) for role in AXES)
    if axes and not header.of("value") and not header.of("face"):
        numeric = [
            c
            for c in header.columns
            if c.meanings[-1].field == "reported_verdict" and _mostly_numbers(scene, c.index, header, bottom)
        ]
        if len(numeric) == 1:
            numeric[0].role, numeric[0].name = "value", ""


def _mostly_numbers(scene: Scene, column: int, header: Header, bottom: int) -> bool:
    spots = [(r, column) for r in range(header.bottom + 1, bottom + 1) if column in scene.filled.get(r, ())]
    return bool(spots) and sum(s in scene.numbers for s in spots) >= 0.6 * len(spots)


def _settle(header: Header) -> None:
    """A column 'Reading' or 'Point' means one thing beside a value column, another without one."""
    values = header.of("value")
    if len(values) > 1:
        plain = [c for c in values if c.meanings[-1].section == "face" and c.meanings[-1].unit]
        keep = plain[0] if len(plain) == 1 else values[-1]
        for column in values:
            if column is not keep:
                axis = _axis(column.meanings[-1])
                column.role = axis if axis in AXES else "skip"
    if not values and header.of("point") and not header.of("face"):
        candidates = [
            c
            for c in header.of("point")
            if _axis(c.meanings[-1]) == "point" and c.meanings[-1].folded in ("velocity", "reading", "vel", "fv")
        ]
        for column in candidates[:1]:
            column.role = "value"
