"""Where the values of a survey stand, as a card would say it."""

from __future__ import annotations

from itertools import groupby

from auditor.sheets.cards.claims import label_key, says_otherwise
from auditor.sheets.cards.form_reading import labels_near
from auditor.sheets.cards.schema import DraftPlace, FieldPlace, GridPlace
from auditor.sheets.cards.written import spot_at
from auditor.sheets.label_parts import sash_of
from auditor.sheets.labels import analyse
from auditor.sheets.lengths import parse_length
from auditor.sheets.model import Field, Reading, SurveyAsWritten
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.text import fold
from auditor.sheets.units import LENGTH_UNITS, find_unit
from auditor.sheets.values import LENGTHS, VELOCITIES


def field_places(scene: Scene, survey: SurveyAsWritten) -> tuple[dict[str, FieldPlace], list[str]]:
    """Place of each field that a card can point to, and the names of those that it cannot."""
    found: dict[str, FieldPlace] = {}
    lost: list[str] = []
    for name, value in survey.fields.items():
        instrument = survey.fields.get("instrument_id")
        if name == "instrument_kind" and instrument and instrument.cell == value.cell:
            continue  # taken from the instrument's own name
        if name.endswith("_question"):
            continue  # the label of another field
        if name == "unit" and not _is_units_field(scene, value):
            continue  # the layout's unit, or the sheet's own words
        place = _field_place(scene, name, value, survey)
        if place:
            found[name] = place
        else:
            lost.append(name)
    return found, lost


def _is_units_field(scene: Scene, value: Field) -> bool:
    """True where a cell holds nothing but the unit of the readings."""
    unit = find_unit(scene.text(spot_at(value.cell))) if value.cell else None
    return bool(unit and unit.dimension == "velocity" and value.value == unit.name)


def _field_place(scene: Scene, name: str, value: Field, survey: SurveyAsWritten) -> FieldPlace | None:
    if not value.cell:
        in_name = name == "hood" and value.written.strip() == scene.sheet.name.strip()
        return FieldPlace(name, in_sheet_name=True) if in_name else None
    spot = spot_at(value.cell)
    text = scene.text(spot)
    length = parse_length(text)
    unit = None if length and length.unit else _unit(name, value, survey)
    if name == "sash_height" and parse_length(text) is None and (setting := sash_of(fold(text))):
        return _in_title(name, spot, text, setting, unit)
    if text == value.written:
        return FieldPlace(name, spot, _label(scene, spot, name), unit=unit)
    at = text.find(value.written)
    if at < 0:
        return None
    label = _label_inside(text[:at])
    rest = text[at + len(value.written) :].strip(" \t\r\n;|,")
    return FieldPlace(name, spot, unit=unit, after=label, before=_label_inside_first(rest))


def _in_title(name: str, spot: Spot, text: str, setting: str, unit: str | None) -> FieldPlace | None:
    """A sash setting that a title names: 'Face velocity, sash at 18 in'."""
    at = text.casefold().find(setting.casefold())
    if at < 0:
        return None
    rest = text[at + len(setting) :].strip()
    return FieldPlace(name, spot, unit=unit, after=" ".join(text[:at].split()[-2:]), before=rest[:20])


def _unit(name: str, value: Field, survey: SurveyAsWritten) -> str | None:
    """The unit of a bare number; one that the cell itself writes needs no card."""
    if name not in LENGTHS + VELOCITIES or value.unit is None:
        return None
    if name in LENGTHS and value.unit not in LENGTH_UNITS:
        return None
    unit = survey.fields.get("unit")
    if name.startswith("reported_") and unit and unit.value == value.unit:
        return None
    return value.unit


def _label(scene: Scene, spot: Spot, name: str) -> str:
    near = labels_near(scene, spot)
    sure = [s for s in near if (m := scene.meaning(s)).field or m.derived]
    for label in [*sure, *near[:1]]:
        text = scene.text(label)
        if len(text) <= 80 and label_key(text) and not says_otherwise(scene.meaning(label), name):
            return text.strip()
    return ""


def _label_inside(prefix: str) -> str:
    """The label right before a value in one cell: what follows the last break before it."""
    for mark in ("\n", ";", "|", "   "):
        prefix = prefix[prefix.rfind(mark) + len(mark) :] if mark in prefix else prefix
    words = prefix.strip().split()
    for start in range(len(words)):
        if any(ch.isdigit() for ch in " ".join(words[start:])) and start + 1 < len(words):
            continue
        return " ".join(words[start:])
    return prefix.strip()


def _label_inside_first(rest: str) -> str:
    head, colon, _ = rest.partition(":")
    return head.strip() + ":" if colon and len(head) <= 40 and analyse(head).field else ""


def grid_places(survey: SurveyAsWritten) -> tuple[GridPlace, ...]:
    """One grid to each pass (several where readings without a place stand in several ranges)."""
    face = [r for r in survey.readings if r.kind == "face"]
    found: list[GridPlace] = []
    for number in sorted({r.pass_number for r in face}):
        mine = sorted((r for r in face if r.pass_number == number), key=lambda r: spot_at(r.cell))
        if all(r.row and r.column for r in mine):
            cells = tuple((spot_at(r.cell), (int(r.row or 0), int(r.column or 0))) for r in mine)
            found.append(GridPlace(cells, number))
        else:
            found += [
                GridPlace(tuple((s, None) for s in run), number) for run in ranges([spot_at(r.cell) for r in mine])
            ]
    return tuple(found)


def ranges(spots: list[Spot]) -> list[list[Spot]]:
    """Spots as whole rectangles: runs of cells in a row, and equal runs under each other."""
    runs: list[list[Spot]] = []
    for _, row in groupby(sorted(spots), key=lambda s: s[0]):
        for spot in row:
            if runs and runs[-1][-1] == (spot[0], spot[1] - 1):
                runs[-1].append(spot)
            else:
                runs.append([spot])
    out: list[list[Spot]] = []
    for run in runs:
        above = next((o for o in out if [(r + 1, c) for r, c in o[-len(run) :]] == run and _width(o) == len(run)), None)
        if above:
            above.extend(run)
        else:
            out.append(list(run))
    return out


def _width(spots: list[Spot]) -> int:
    return len({c for _, c in spots})


def draft_places(survey: SurveyAsWritten) -> tuple[DraftPlace, ...]:
    """The ranges of the cross-drafts; with their unit where it is not that of the face readings."""
    unit = survey.fields.get("unit")
    drafts = [r for r in survey.readings if r.kind == "cross-draft"]
    found = []
    for name in sorted({r.unit or "" for r in drafts}):
        spots = [spot_at(r.cell) for r in drafts if (r.unit or "") == name and not _own_unit(r)]
        spots += [spot_at(r.cell) for r in drafts if (r.unit or "") == name and _own_unit(r)]
        other = name if name and not (unit and unit.value == name) else None
        found += [DraftPlace(tuple(run), other) for run in ranges(spots)]
    return tuple(found)


def _own_unit(reading: Reading) -> bool:
    return any(ch.isalpha() for ch in reading.written)
