"""Which value belongs to which label: in the same cell, to its right, or below it."""

from __future__ import annotations

from dataclasses import dataclass

from auditor.sheets.dates import parse_date_text
from auditor.sheets.labels import Meaning, analyse
from auditor.sheets.lengths import parse_length
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.text import fold, words_of
from auditor.sheets.units import Unit
from auditor.sheets.values import DATES, LENGTHS, VELOCITIES
from auditor.sheets.vocabulary import vocabulary
from auditor.workbook.cells import Cell, Kind

REACH = 8  # a value stands at most this many columns from its label
DROP = 3  # or this many rows below it
GRID_FIELDS = ("reported_mean", "reported_min", "reported_max")  # may as well label a row or column of a grid


@dataclass(slots=True)
class Pair:
    """A label and its value. `text` is the value where it stands in the label's own cell."""

    name: str
    label: Spot
    meaning: Meaning
    value: Spot | None = None
    text: str | None = None
    unit: Unit | None = None
    below: bool = False
    unit_at: Spot | None = None  # the cell beside the value that holds its unit

    @property
    def spots(self) -> list[Spot]:
        """All cells that the pair takes up."""
        return [s for s in (self.label, self.value, self.unit_at) if s]

    @property
    def at(self) -> Spot:
        return self.value or self.label


def pair_fields(scene: Scene, region: Region) -> list[Pair]:
    """All labels of a region with their values; labels without a value are left out.

    Labels that may belong to a grid ('Average') are not paired here: `auditor.sheets.reported` looks after them."""
    key = ("pairs", region)
    if key not in scene.memo:
        scene.memo[key] = _pair_fields(scene, region)
    return scene.memo[key]


def _pair_fields(scene: Scene, region: Region) -> list[Pair]:
    labels = [s for s in scene.in_region(region) if s in scene.meanings and _labels_a_field(scene, s)]
    strips = _strip_rows(scene, region, labels)
    pairs: list[Pair] = []
    used: set[Spot] = set()
    for spot in labels:
        meaning = scene.meaning(spot)
        for label, value in meaning.pairs:
            inner = analyse(label)
            if inner.field and value:
                pairs.append(Pair(inner.field, spot, inner, text=value, unit=inner.unit))
        if meaning.field is None or spot in used:
            continue
        if meaning.inline == "":
            continue
        if meaning.inline is not None:
            pairs.append(Pair(meaning.field, spot, meaning, text=meaning.inline, unit=_unit_of(meaning)))
            continue
        if meaning.field in GRID_FIELDS:
            continue
        found = find_value(scene, region, spot, meaning, strips, used)
        if found and found.value:
            used.add(found.value)
            pairs.append(found)
    pairs = [p for p in pairs if not _dateless(scene, p)]
    return [*pairs, *_unknown_pairs(scene, region, pairs), *_unknown_in_strips(scene, region, pairs)]


def _dateless(scene: Scene, pair: Pair) -> bool:
    """'Tested' beside something that is no date tells no date."""
    if pair.name != "surveyed_on" or not only_with_date(pair.meaning.folded.split(":")[0]):
        return False
    if pair.text is not None:
        parsed = parse_date_text(pair.text)
        return not (parsed.value or parsed.ambiguous)
    return _kind_fit("surveyed_on", scene.cells[pair.at], scene.meaning(pair.at)) < 2


def only_with_date(label: str) -> bool:
    """True for a label that names the date only where its value is one ('Tested')."""
    return label.strip(" :.") in vocabulary().notes["date_if_dated"]


def _unknown_in_strips(scene: Scene, region: Region, pairs: list[Pair]) -> list[Pair]:
    """Labels that are not known, in a row of labels that have their values below."""
    used = {s for p in pairs for s in p.spots}
    rows = {(p.label[0], p.value[0]) for p in pairs if p.below and p.value}
    found = []
    for top, below in rows:
        for column in scene.filled.get(top, ()):
            label, value = (top, column), (below, column)
            if label in used or value in used or not region.holds(*label) or column not in scene.filled.get(below, ()):
                continue
            if scene.meaning(value).known:
                continue
            meaning = scene.meanings.get(label)
            if (
                meaning
                and label not in scene.numbers
                and not (meaning.section or meaning.position or meaning.derived or meaning.is_unit)
            ):
                found.append(Pair("other", label, meaning, value, below=True))
    return found


def _unknown_pairs(scene: Scene, region: Region, pairs: list[Pair]) -> list[Pair]:
    """Labels that are not known, in a column of labels that are: their values stand where the others' do."""
    columns: dict[tuple[int, int], list[int]] = {}
    for pair in pairs:
        if pair.value and not pair.below and pair.value[0] == pair.label[0]:
            columns.setdefault((pair.label[1], pair.value[1]), []).append(pair.label[0])
    used = {s for p in pairs for s in p.spots}
    found = []
    for (left, right), rows in columns.items():
        if len(rows) < 2:
            continue
        for row in range(max(region.top, min(rows) - 4), min(region.bottom, max(rows) + 4) + 1):
            label, value = (row, left), (row, right)
            if label not in used and value not in used and _is_unknown_pair(scene, label, value):
                found.append(Pair("other", label, scene.meaning(label), value))
    return found


def _is_unknown_pair(scene: Scene, label: Spot, value: Spot) -> bool:
    meaning = scene.meanings.get(label)
    if meaning is None or label in scene.numbers or value[1] not in scene.filled.get(value[0], ()):
        return False
    if meaning.section or meaning.position or meaning.derived or (meaning.known and not meaning.flip):
        return False
    nearest = next(iter(scene.right_of(label, value[1])), None)
    run = (value[0], scene.span(value)[1] + 1)
    return (
        nearest == value and not scene.meaning(value).known and run not in scene.numbers and run not in scene.meanings
    )


def _labels_a_field(scene: Scene, spot: Spot) -> bool:
    meaning = scene.meaning(spot)
    return meaning.field is not None or bool(meaning.pairs)


def _unit_of(meaning: Meaning) -> Unit | None:
    return meaning.unit


def _strip_rows(scene: Scene, region: Region, labels: list[Spot]) -> set[int]:
    """Rows of labels that have their values below them."""
    by_row: dict[int, list[Spot]] = {}
    for spot in labels:
        if scene.meaning(spot).inline is None and scene.meaning(spot).field:
            by_row.setdefault(spot[0], []).append(spot)
    strips = set()
    for row, spots in by_row.items():
        if len(spots) < 2:
            continue
        below = [_below(scene, region, s)[0] for s in spots]
        beside = [_beside(scene, region, s)[0] for s in spots]
        fits_below = sum(_fit(scene, s, b) for s, b in zip(spots, below, strict=True))
        fits_beside = sum(_fit(scene, s, b) for s, b in zip(spots, beside, strict=True))
        if fits_below > fits_beside:
            strips.add(row)
    return strips


def find_value(
    scene: Scene, region: Region, spot: Spot, meaning: Meaning, strips: set[int], used: set[Spot]
) -> Pair | None:
    """The value of one label, beside it or below it, whichever fits its kind better; beside it where both do."""
    beside, unit_beside = _beside(scene, region, spot)
    below, unit_below = _below(scene, region, spot)
    fit_beside = 0 if beside in used else _fit(scene, spot, beside)
    fit_below = 0 if below in used else _fit(scene, spot, below)
    if fit_below and spot[0] not in strips and not _stands_alone(scene, region, spot, below, meaning):
        fit_below = 0
    if not fit_beside and not fit_below:
        return None
    go_below = fit_below > fit_beside or (fit_below == fit_beside and spot[0] in strips)
    if spot[0] in strips and fit_below:
        go_below = True
    if go_below:
        return Pair(meaning.field or "", spot, meaning, below, None, unit_below[0] or meaning.unit, True, unit_below[1])
    return Pair(meaning.field or "", spot, meaning, beside, None, unit_beside[0] or meaning.unit, False, unit_beside[1])


def _stands_alone(scene: Scene, region: Region, label: Spot, below: Spot | None, meaning: Meaning) -> bool:
    """True where a label and the cell under it can only belong together: nothing stands beside either of them."""
    if below is None or meaning.field == "other":
        return False
    if meaning.field == "unit" and scene.meaning(below).is_unit and below[0] == scene.span(label)[0] + 1:
        return True
    near = [s for spot in (label, below) for s in scene.right_of(spot, min(region.right, spot[1] + 2))]
    return below[0] == scene.span(label)[0] + 1 and all(scene.meaning(s).is_unit for s in near)


UnitAt = tuple[Unit | None, Spot | None]


def _beside(scene: Scene, region: Region, spot: Spot) -> tuple[Spot | None, UnitAt]:
    unit: UnitAt = (None, None)
    edge = scene.span(spot)[1]
    found: Spot | None = None
    for other in scene.right_of(spot, min(region.right, edge + REACH)):
        meaning = scene.meaning(other)
        if meaning.is_unit and meaning.unit and scene.meaning(spot).field != "unit":
            if found is None and unit[0] is None:
                unit = (meaning.unit, other)
                continue
            if found is not None and scene.span(found)[1] + 1 >= other[1] - 1:
                unit = (meaning.unit, other)
            break
        if found is not None:
            break
        found = other
    return found, unit


def _below(scene: Scene, region: Region, spot: Spot) -> tuple[Spot | None, UnitAt]:
    unit: UnitAt = (None, None)
    start = scene.span(spot)[0] + 1
    for row in range(start, min(region.bottom, start + DROP - 1) + 1):
        other = (row, spot[1])
        if other not in scene.cells or spot[1] not in scene.filled.get(row, ()):
            continue
        meaning = scene.meaning(other)
        if meaning.is_unit and scene.meaning(spot).field != "unit" and unit[0] is None:
            unit = (meaning.unit, other)
            continue
        return other, unit
    return None, unit


def _fit(scene: Scene, label: Spot, value: Spot | None) -> int:
    """How well a cell fits as the value of a label: 0 not at all, 1 it may, 2 it is of the field's kind."""
    if value is None:
        return 0
    cell = scene.cells[value]
    name = scene.meaning(label).field or ""
    meaning = scene.meaning(value)
    if (meaning.field or meaning.pairs) and not _is_value_word(name, cell):
        return 0
    if cell.kind == Kind.NUMBER and _inside_grid(scene, value):
        return 0
    if (
        meaning.section
        and name not in ("observations", "smoke_local", "smoke_gross")
        and not _is_value_word(name, cell)
    ):
        return 0
    return _kind_fit(name, cell, meaning)


def _inside_grid(scene: Scene, spot: Spot) -> bool:
    row, column = spot
    across = (row, column + 1) in scene.numbers or (row, column - 1) in scene.numbers
    along = (row + 1, column) in scene.numbers or (row - 1, column) in scene.numbers
    return across and along


def _is_value_word(name: str, cell: Cell) -> bool:
    v = vocabulary()
    key = " ".join(words_of(fold(str(cell.value))))
    tables = {"occasion": v.occasions, "instrument_kind": v.instruments, "operating_mode": v.modes}
    if name in tables and key in tables[name]:
        return True
    return name == "reported_verdict" and fold(str(cell.value)) in v.verdicts


def _kind_fit(name: str, cell: Cell, meaning: Meaning) -> int:
    text = str(cell.value) if cell.kind == Kind.TEXT else ""
    broken = cell.kind in (Kind.ERROR, Kind.FORMULA)
    if name in DATES:
        if cell.kind == Kind.DATE:
            return 2
        if cell.kind == Kind.NUMBER or broken:
            return 1
        parsed = parse_date_text(text)
        return 2 if parsed.value or parsed.ambiguous else (1 if not meaning.known else 0)
    if name in LENGTHS or name in VELOCITIES or name in ("air_temperature", "air_pressure"):
        if cell.kind == Kind.NUMBER or (text and parse_length(text)):
            return 2
        return 1 if broken or (cell.kind == Kind.TEXT and not meaning.known) else 0
    if name == "unit":
        return 2 if meaning.is_unit else (1 if cell.kind == Kind.TEXT and not meaning.known else 0)
    if name == "hood":
        if cell.kind == Kind.NUMBER or any(ch.isdigit() for ch in text):
            return 2
        return 1 if (cell.kind == Kind.TEXT and not meaning.known) or broken else 0
    if cell.kind == Kind.DATE:
        return 0
    return 1
