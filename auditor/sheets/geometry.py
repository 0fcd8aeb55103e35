"""Where the lines of a grid lie on the opening, seen from the room, by their labels."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from auditor.sheets.positions import Position

VERTICAL, HORIZONTAL = "row", "column"


@dataclass(frozen=True, slots=True)
class Axis:
    """The order of one family of lines. `order` gives each line's 1-based place (from the top, from the left);
    `kind` says on which axis its labels are, None where the labels leave that open."""

    order: tuple[int, ...]
    kind: str | None


def place_lines(positions: list[Position | None], default: str, far: frozenset[str] = frozenset()) -> Axis | None:
    """Order lines by their labels.

    `positions` are the lines' labels in sheet order (all None: no labels). `default` is the axis the lines are on if
    their labels do not say; `far` holds the axes that the sheet numbers from the bottom or from the right.
    Returns None where the labels contradict each other or leave the order open."""
    count = len(positions)
    if all(p is None for p in positions):
        order = range(count, 0, -1) if default in far else range(1, count + 1)
        return Axis(tuple(order), None)
    known = [p for p in positions if p is not None]
    if len(known) != count:
        return None
    return _by_axis_number(known, far) or _by_sequence(known, default in far) or _by_words(known, default)


def place_grid(
    rows: list[Position | None], columns: list[Position | None], far: frozenset[str] = frozenset()
) -> tuple[Axis, Axis, bool] | None:
    """The order of a grid's lines and whether it stands on its side (its sheet rows are columns of the opening).

    Returns (axis of the sheet's rows, axis of its columns, transposed), or None where the labels leave it open."""
    down, across = place_lines(rows, VERTICAL, far), place_lines(columns, HORIZONTAL, far)
    if down is None or across is None:
        return None
    if down.kind == HORIZONTAL or across.kind == VERTICAL:
        if down.kind == VERTICAL or across.kind == HORIZONTAL:
            return None
        down, across = place_lines(rows, HORIZONTAL, far), place_lines(columns, VERTICAL, far)
        return (down, across, True) if down and across else None
    return down, across, False


def place_points(positions: list[Position]) -> tuple[list[tuple[int, int]], int, int] | None:
    """Places of points that are each named on both axes ('Top left', 'R1C2', 'B3').

    Returns ([(row, column), ...], rows, columns), or None where a name leaves its place open or two share one."""
    axes = []
    if _lettered(positions):
        positions = [Position(row_number=p.letter, column_number=p.number) for p in positions]
    for ranks in ([_row_key(p) for p in positions], [_column_key(p) for p in positions]):
        if any(k is None for k in ranks) or len({k[0] for k in ranks if k}) != 1:
            return None
        keys = [k for k in ranks if k is not None]
        if keys[0][0] == "number":
            axes.append(([int(k[1]) for k in keys], int(max(k[1] for k in keys))))
        else:
            distinct = sorted({k[1] for k in keys})
            axes.append(([distinct.index(k[1]) + 1 for k in keys], len(distinct)))
    places = list(zip(axes[0][0], axes[1][0], strict=True))
    return (places, axes[0][1], axes[1][1]) if len(set(places)) == len(places) else None


def _lettered(positions: list[Position]) -> bool:
    """True for A1, A2 ... B1 ...: a letter for the row and a number for the column, each from the first one on."""
    letters, numbers = {p.letter for p in positions}, {p.number for p in positions}
    if None in letters or None in numbers or len(positions) < 2:
        return False
    return (
        letters == set(range(1, len(letters) + 1)) and numbers == set(range(1, len(numbers) + 1)) and len(letters) > 1
    )


def _row_key(p: Position) -> tuple[str, float] | None:
    if p.row_number:
        return ("number", p.row_number)
    return ("rank", p.row_rank) if p.row_rank is not None else None


def _column_key(p: Position) -> tuple[str, float] | None:
    if p.column_number:
        return ("number", p.column_number)
    return ("rank", p.column_rank) if p.column_rank is not None else None


def _ranked(values: list[float], reverse: bool = False) -> tuple[int, ...] | None:
    if len(set(values)) != len(values):
        return None
    ordered = sorted(values, reverse=reverse)
    return tuple(ordered.index(v) + 1 for v in values)


def _complete(numbers: list[int]) -> bool:
    return sorted(numbers) == list(range(1, len(numbers) + 1))


def _number_axis(numbers: list[int], ends: list[tuple[int, float]], from_far: bool, kind: str | None) -> Axis | None:
    """Lines numbered 1..n; `ends` are (number, rank) of those whose label has a position word too."""
    if not _complete(numbers):
        return None
    reverse = from_far
    if ends:
        direction = _direction(ends, len(numbers))
        if direction is None:
            return None
        reverse = direction
    count = len(numbers)
    return Axis(tuple(count + 1 - n if reverse else n for n in numbers), kind)


def _direction(ends: list[tuple[int, float]], count: int) -> bool | None:
    """True where numbers run against the ranks of the position words beside them; None where they do neither."""
    middle = (count + 1) / 2
    votes = set()
    pairs = sorted(ends)
    for (_, r1), (_, r2) in pairwise(pairs):
        votes.add(r2 < r1 if r1 != r2 else None)
    if len(ends) == 1:
        number, rank = ends[0]
        near = rank < _MIDDLE
        if number == middle or rank == _MIDDLE:
            return None
        votes.add((number < middle) != near)
    return votes.pop() if len(votes) == 1 and None not in votes else None


_MIDDLE = 35.0  # ranks of position words below this lie near the top, the left


def _by_axis_number(known: list[Position], far: frozenset[str]) -> Axis | None:
    if all(p.row_number and not p.column_number for p in known):
        ends = [(p.row_number or 0, p.row_rank) for p in known if p.row_rank is not None]
        return _number_axis([p.row_number or 0 for p in known], ends, VERTICAL in far, VERTICAL)
    if all(p.column_number and not p.row_number for p in known):
        ends = [(p.column_number or 0, p.column_rank) for p in known if p.column_rank is not None]
        return _number_axis([p.column_number or 0 for p in known], ends, HORIZONTAL in far, HORIZONTAL)
    return None


def _by_sequence(known: list[Position], from_far: bool) -> Axis | None:
    """Bare numbers or letters 1..n, A..Z, some perhaps with a position word ('1 (right)')."""
    for get in (lambda p: p.number, lambda p: p.letter):
        values = [get(p) for p in known]
        if all(values) and _complete([v or 0 for v in values]):
            ends, kind = _words_beside(known, [v or 0 for v in values])
            axis = _number_axis([v or 0 for v in values], ends, from_far, kind)
            if axis:
                return axis
    return None


def _words_beside(known: list[Position], numbers: list[int]) -> tuple[list[tuple[int, float]], str | None]:
    for kind, attribute in ((VERTICAL, "row_rank"), (HORIZONTAL, "column_rank")):
        other = "column_rank" if attribute == "row_rank" else "row_rank"
        ends = [
            (n, getattr(p, attribute))
            for p, n in zip(known, numbers, strict=True)
            if p.number and getattr(p, attribute) is not None
        ]
        alone = [p for p in known if p.number and getattr(p, attribute) is not None and getattr(p, other) is None]
        if ends and alone:
            return ends, kind
    return [], None


def _by_words(known: list[Position], default: str) -> Axis | None:
    lines = [p.line_row is not None or p.line_column is not None for p in known]
    rows = [p.line_row if one else p.row_rank for p, one in zip(known, lines, strict=True)]
    columns = [p.line_column if one else p.column_rank for p, one in zip(known, lines, strict=True)]
    as_rows = _ranked([r for r in rows if r is not None]) if all(r is not None for r in rows) else None
    as_columns = _ranked([c for c in columns if c is not None]) if all(c is not None for c in columns) else None
    if as_rows and as_columns:
        return Axis(as_rows if default == VERTICAL else as_columns, default if len(known) > 1 else None)
    if as_rows:
        return Axis(as_rows, VERTICAL)
    return Axis(as_columns, HORIZONTAL) if as_columns else None
