"""The labels of a block of numbers: of its rows, of its columns, and how far they reach."""

from __future__ import annotations

from auditor.sheets.blocks import Block, Line
from auditor.sheets.labels import Meaning, analyse
from auditor.sheets.scene import Region, Scene, Spot


def row_label(
    scene: Scene, spot: Spot, region: Region, taken: set[Spot] | frozenset[Spot] = frozenset(), reach: int = 2
) -> Spot | None:
    """The nearest text left of a cell in its row, with nothing but blanks between, at most `reach` columns off."""
    for other in scene.left_of(spot, region.left):
        if other in taken or spot[1] - scene.span(other)[1] > reach:
            return None
        if other in scene.meanings and other not in scene.numbers:
            return None if scene.meaning(other).inline is not None else other
        return other if scene.meanings.get(other) and scene.meaning(other).position else None
    return None


def label_block(scene: Scene, region: Region, spots: set[Spot], taken: set[Spot]) -> Block | None:
    """The block of a group of cells, its header row and label column told from its readings."""
    rows = sorted({s[0] for s in spots})
    columns = sorted({s[1] for s in spots})
    rows, header_row = _number_header(scene, taken, rows, columns)
    columns, label_column = _number_labels(scene, spots, rows, columns)
    if label_column is not None:
        rows = [r for r in rows if is_row_of(scene, spots, taken, r, label_column)]
    if not rows or not columns:
        return None
    block = Block([Line(r) for r in rows], [Line(c) for c in columns])
    _label_rows(scene, region, block, label_column, taken)
    _label_columns(scene, region, block, header_row, taken)
    return block


def is_row_of(scene: Scene, spots: set[Spot], taken: set[Spot], row: int, label_column: int) -> bool:
    """False for a row with a number in the column of row numbers alone that something else names ('Average | 106')."""
    if any(r == row and c > label_column for r, c in spots):
        return True
    name = row_label(scene, (row, label_column), Region(row, 1, row, label_column), taken)
    meaning = scene.meaning(name) if name else None
    return not (meaning and (meaning.derived or meaning.field))


def _sequence(values: list[float | None]) -> bool:
    """True for 1, 2, 3 ... or the same downwards (a header, not readings)."""
    count = len(values)
    upward = [float(i) for i in range(1, count + 1)]
    return count > 1 and values in (upward, upward[::-1])


def _is_label_line(scene: Scene, cells: list[Spot]) -> bool:
    """True for a line of labels, numbers among them perhaps: '1 (left)', 2, 3, '4 (right)', 'Average'."""
    meanings = [scene.meanings.get(s) or analyse(scene.text(s)) for s in cells]
    if not cells or any(
        s in scene.numbers and scene.numbers[s].outcome != "number" and s not in scene.meanings for s in cells
    ):
        return False
    numbers = [
        scene.numbers[s].value for s, m in zip(cells, meanings, strict=True) if s in scene.numbers and not m.derived
    ]
    texts = [m for s, m in zip(cells, meanings, strict=True) if s not in scene.numbers]
    if not all(m.known or m.position for m in texts) or any(m.field and not m.derived for m in texts):
        return False
    if any(v is None or v != int(v) or not 0 < v <= 60 for v in numbers):
        return False
    placed = [
        m for m in texts if m.position and (m.position.number or m.position.row_number or m.position.column_number)
    ]
    if placed and numbers:
        known = [
            float(m.position.number or m.position.row_number or m.position.column_number or 0)
            for m in placed
            if m.position
        ]
        return sorted([*known, *[v for v in numbers if v]]) == [
            float(i) for i in range(1, len(known) + len(numbers) + 1)
        ]
    return _sequence(numbers)


def _number_header(scene: Scene, taken: set[Spot], rows: list[int], columns: list[int]) -> tuple[list[int], int | None]:
    if len(rows) < 2:
        return rows, None
    label = row_label(scene, (rows[0], columns[0]), Region(1, 1, rows[0], columns[0]), taken)
    if label and label not in scene.numbers and (scene.meaning(label).position or scene.meaning(label).direction):
        return rows, None  # a labelled row of readings that happen to be 1, 2, 3
    for skip in (0, 1):
        if skip and (rows[0], columns[0]) in scene.numbers and (rows[0], columns[0]) not in scene.meanings:
            break
        top = [(rows[0], c) for c in columns[skip:] if c in scene.filled.get(rows[0], ())]
        if len(top) > 1 and _is_label_line(scene, top):
            foot = [(rows[-1], c) for _, c in top]
            again = len(rows) > 2 and [scene.text(s) for s in foot] == [scene.text(s) for s in top]
            return rows[1:-1] if again else rows[1:], rows[0]
    return rows, None


def _number_labels(scene: Scene, spots: set[Spot], rows: list[int], columns: list[int]) -> tuple[list[int], int | None]:
    if len(columns) < 2:
        return columns, None
    left = [(r, columns[0]) for r in rows if columns[0] in scene.filled.get(r, ())]
    beside = {r for r, c in spots if c > columns[0]}
    left = [s for s in left if s[0] in beside]
    if len(left) > 1 and _is_label_line(scene, left):
        return columns[1:], columns[0]
    return columns, None


def _label_rows(scene: Scene, region: Region, block: Block, label_column: int | None, taken: set[Spot]) -> None:
    for line in block.rows:
        if label_column is not None:
            spot: Spot | None = (line.index, label_column)
            if spot not in scene.cells:
                spot = None
        else:
            reach = 4 if len(block.columns) == 1 else 2
            spot = row_label(scene, (line.index, block.columns[0].index), region, taken, reach)
        if spot is None:
            continue
        meaning = scene.meanings.get(spot) or analyse(scene.text(spot))
        line.label, line.meanings, line.unit = spot, (meaning,), meaning.unit


def _label_columns(scene: Scene, region: Region, block: Block, header_row: int | None, taken: set[Spot]) -> None:
    """Header cells over each column: the row above (numbers of a header row count), a unit row, one level more."""
    first = block.rows[0].index
    heads = [header_row] if header_row is not None else _header_rows(scene, region, block, first, taken)
    for row in heads:
        for line in block.columns:
            spot = (row, line.index)
            if spot not in scene.cells or spot[1] not in scene.filled.get(row, ()):
                continue
            meaning = scene.meanings.get(spot) or analyse(scene.text(spot))
            if meaning.is_unit and not meaning.position:
                line.unit = line.unit or meaning.unit
                continue
            line.label, line.meanings = line.label or spot, (*line.meanings, meaning)
            line.unit = line.unit or meaning.unit
    if heads and block.label_column is not None:
        corner = (heads[0], block.label_column)
        if corner in scene.meanings:
            block.corner = corner


def _header_rows(scene: Scene, region: Region, block: Block, first: int, taken: set[Spot]) -> list[int]:
    """The rows over a block that head its columns, nearest first: at most two, a unit row among them."""
    found: list[int] = []
    columns = [line.index for line in block.columns]
    for row in range(first - 1, max(region.top, first - 3) - 1, -1):
        cells = [(row, c) for c in columns if c in scene.filled.get(row, ()) and (row, c) not in taken]
        if any((row, c) in taken for c in columns):
            break
        if not cells:
            left = block.label_column or columns[0]
            if found or row < first - 2 or any(left <= c <= columns[-1] for c in scene.filled.get(row, ())):
                break
            continue
        if any(s in scene.numbers for s in cells) and not _is_label_line(scene, cells):
            break
        meanings = [scene.meanings.get(s) or analyse(scene.text(s)) for s in cells]
        titled = [m for m in meanings if m.section and not m.position]
        if titled and all(m.is_unit or m in titled for m in meanings):
            break  # a title with its unit beside it
        units = all(m.is_unit for m in meanings)
        heads = [
            m
            for m in meanings
            if m.position or m.derived or m.direction or m.pass_number or m.is_unit or (m.flip and len(cells) > 1)
        ]
        if not heads or (len(cells) == 1 and len(columns) > 1 and _is_title(meanings[0])):
            break
        found.append(row)
        if not units:
            break
    return found


def _is_title(meaning: Meaning) -> bool:
    return (
        bool(meaning.section or meaning.flip or meaning.sash or meaning.pass_number or meaning.year)
        and not meaning.position
    )


def extend_blocks(scene: Scene, region: Region, blocks: list[Block], taken: set[Spot]) -> list[Block]:
    """Extend blocks along their labels, so that a row or column without any number is still a part of its grid."""
    for block in blocks:
        _extend_rows(scene, region, block, blocks)
        _extend_columns(scene, region, block, blocks)
    return [b for b in blocks if b.rows and b.columns]


def _places(meaning: Meaning) -> bool:
    return bool(meaning.position or meaning.direction) and not meaning.derived and not meaning.field


def _leaps(block: Block, meaning: Meaning) -> bool:
    """True for a bare number far above a row number: a mean or a value, not the label of one more row."""
    number = meaning.position.number if meaning.position else None
    return number is not None and number > 2 * (len(block.rows) + 1)


def _extend_rows(scene: Scene, region: Region, block: Block, blocks: list[Block]) -> None:
    column = block.label_column
    placed = [line for line in block.rows if line.meanings and _places(line.meanings[-1])]
    if column is None or not placed:
        return
    have = {line.index for line in block.rows}
    others = {(r, c) for b in blocks if b is not block for r, c in b.spots}
    top, bottom = placed[0].index, placed[-1].index
    for step, start in ((1, bottom + 1), (-1, top - 1)):
        row = start
        while region.top <= row <= region.bottom and row not in have:
            spot = (row, column)
            if spot not in scene.cells or spot[1] not in scene.filled.get(row, ()):
                break
            meaning = scene.meanings.get(spot) or analyse(scene.text(spot))
            header = row in {line.label[0] for line in block.columns if line.label}
            if (
                not _places(meaning)
                or _leaps(block, meaning)
                or header
                or any((row, line.index) in others for line in block.columns)
            ):
                break
            block.rows.append(Line(row, spot, (meaning,), meaning.unit))
            row += step
    for row in range(top, bottom):
        if row not in have and (row, column) in scene.meanings and _places(scene.meaning((row, column))):
            block.rows.append(Line(row, (row, column), (scene.meaning((row, column)),)))
    block.rows.sort(key=lambda line: line.index)


def _extend_columns(scene: Scene, region: Region, block: Block, blocks: list[Block]) -> None:
    placed = [line for line in block.columns if line.meanings and _places(line.meanings[0])]
    if not placed or placed[0].label is None:
        return
    row = placed[0].label[0]
    have = {line.index for line in block.columns}
    others = {(r, c) for b in blocks if b is not block for r, c in b.spots}
    first, last = placed[0].index, placed[-1].index
    for column in range(first, last):
        if column not in have and column in scene.filled.get(row, ()):
            _add_column(scene, block, (row, column))
    for step, start in ((1, last + 1), (-1, first - 1)):
        column = start
        while region.left <= column <= region.right and column not in have and column in scene.filled.get(row, ()):
            meaning = scene.meanings.get((row, column)) or analyse(scene.text((row, column)))
            if not _places(meaning) or column == block.label_column:
                break
            if any((line.index, column) in others for line in block.rows):
                break
            _add_column(scene, block, (row, column))
            column += step
    block.columns.sort(key=lambda line: line.index)


def _add_column(scene: Scene, block: Block, spot: Spot) -> None:
    meaning = scene.meanings.get(spot) or analyse(scene.text(spot))
    block.columns.append(Line(spot[1], spot, (meaning,), meaning.unit))
