"""A form: one hood, one occasion, its fields around its grid."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.sheets.context import Environment
from auditor.sheets.dates import join_date
from auditor.sheets.fields import Pair, pair_fields
from auditor.sheets.form_grid import ambiguous_geometry, cross_readings, cross_unread, face_readings
from auditor.sheets.form_parts import Parts, choose_blocks, form_without_hood, second_values
from auditor.sheets.form_units import face_unit
from auditor.sheets.lengths import parse_length
from auditor.sheets.model import Field, Problem, SurveyAsWritten
from auditor.sheets.regions import Split, split_at
from auditor.sheets.reported import reported_values
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.text import fold, words_of
from auditor.sheets.titles import blocks_of
from auditor.sheets.values import DATES, read_size, read_value
from auditor.sheets.vocabulary import suggest, vocabulary
from auditor.workbook.cells import Cell, Kind, a1

OF_ONE_SETTING = ("unit", "sash_height", "reported_mean", "reported_min", "reported_max", "reported_verdict")
NEEDED = ("hood", "surveyed_on", "sash_height", "unit")


@dataclass(slots=True)
class Outside:
    """What stands outside a form but holds for it: fields of shared areas, and the regions to look for notes in."""

    pairs: list[Pair] = field(default_factory=list)
    regions: list[Region] = field(default_factory=list)


def read_forms(scene: Scene, env: Environment) -> list[SurveyAsWritten]:
    """All surveys of a sheet of forms: one or several forms, each with one or several sash settings."""
    whole = scene.extent
    split = _split_forms(scene, whole)
    if split is None:
        return _read_settings(scene, whole, Outside(), env)
    parts: list[Region] = list(split.parts)
    shared: list[Region] = []
    for area in split.shared:  # a form without its hood's label stands there like a common head
        (parts if _holds_grid(scene, area) else shared).append(area)
    outside = Outside([p for area in shared for p in pair_fields(scene, area)], shared)
    own = {p.name for part in parts for p in pair_fields(scene, part)}
    outside.pairs = [p for p in outside.pairs if p.name not in own and p.name != "hood"]
    parts.sort(key=lambda r: (r.top, r.left))
    surveys = [(part, _read_settings(scene, part, outside, env)) for part in parts]
    _mark_unread(scene, surveys)
    return [s for _, some in surveys for s in some]


def _split_forms(scene: Scene, whole: Region) -> Split | None:
    """Split a sheet at its hoods; at its dates where there are more of those, each with a grid of its own (a form may
    lack its hood)."""
    pairs = pair_fields(scene, whole)
    hoods = _anchors(scene, pairs, "hood")
    dates = sorted({p.label for p in pairs if p.name == "surveyed_on"})
    if len(dates) > max(len(hoods), 1):
        split = split_at(scene, whole, dates)
        if all(
            _holds_grid(scene, part) and _starts_clear(scene, part) and _hood_first(scene, part) for part in split.parts
        ):
            return split
    return split_at(scene, whole, hoods) if len(hoods) > 1 else None


def _starts_clear(scene: Scene, part: Region) -> bool:
    """True where a blank row, or nothing, stands over a part: then no label of it was left to the part above."""
    above = scene.filled.get(part.top - 1, ())
    return not any(part.left <= c <= part.right for c in above)


def _hood_first(scene: Scene, part: Region) -> bool:
    """True where no hood is named under a part's grid: it could be that of the next form."""
    first = min((b.region.top for b in blocks_of(scene, part) if b.section == "face"), default=part.bottom)
    return all(p.label[0] < first for p in pair_fields(scene, part) if p.name == "hood")


def _mark_unread(scene: Scene, surveys: list[tuple[Region, list[SurveyAsWritten]]]) -> None:
    """A form that names its hood and holds no readings is held; and so is the one right under it, if no blank row
    parts them: the readings there may be of either hood."""
    for i, (part, some) in enumerate(surveys):
        for survey in some:
            if survey.readings or survey.problems or "hood" not in survey.fields:
                continue
            hood = survey.fields["hood"]
            detail = "the hood is named, but no readings of it can be told from the sheet"
            survey.problems.append(Problem("layout-not-recognised", survey.place, "readings", hood.written, detail))
            below = next((s for p, s in surveys[i + 1 :] if p.left == part.left), [])
            touching = all(
                any(part.left <= c <= part.right for c in scene.filled.get(r, ()))
                for r in range(part.top, part.bottom + 1)
            )
            for other in below if touching else []:
                detail = f"two hoods are named over one set of readings: {hood.written!r} as well"
                other.problems.append(Problem("layout-ambiguous", hood.cell, "hood", hood.written, detail))


def _holds_grid(scene: Scene, area: Region) -> bool:
    """True where an area has a title of face velocities or a block of numbers of its own."""
    blocks = blocks_of(scene, area)
    return any(b.section in ("face", "cross") or len(b.spots) >= 4 for b in blocks)


def _anchors(scene: Scene, pairs: list[Pair], name: str) -> list[Spot]:
    """Labels of a field that occur with different values: each belongs to another form (or setting)."""
    own = [p for p in pairs if p.name == name]
    top = max((p.meaning.weight for p in own), default=0)
    texts = {_value_text(scene, p) for p in own}
    if len(texts) < 2:
        return []
    same = {p.meaning.folded.split(":")[0] for p in own if p.text is None}
    if len(same) > 1 and len({p.meaning.weight for p in own}) > 1:
        own = [p for p in own if p.meaning.weight == top]
    spots = sorted({p.label for p in own})
    return spots if len(spots) > 1 else []


def _value_text(scene: Scene, pair: Pair) -> str:
    return (pair.text if pair.text is not None else scene.text(pair.value or pair.label)).strip()


def _read_settings(scene: Scene, region: Region, outside: Outside, env: Environment) -> list[SurveyAsWritten]:
    """The surveys of one form: one for each sash setting that it has."""
    pairs = pair_fields(scene, region)
    anchors = _anchors(scene, pairs, "sash_height")
    titles = [s for s in scene.in_region(region) if scene.meaning(s).sash and scene.meaning(s).section == "face"]
    if len({scene.meaning(s).sash for s in titles}) > 1:
        anchors = titles
    dates = {p.label for p in pairs if p.name == "surveyed_on"}
    if len(anchors) < 2 or len(dates) > 1:  # two dates are two occasions, not two settings of one
        survey = read_survey(scene, region, outside, env)
        return [survey] if survey else []
    split = split_at(scene, region, anchors)
    if any(_holds_grid(scene, a) for a in split.shared) or not all(_holds_grid(scene, p) for p in split.parts):
        survey = read_survey(scene, region, outside, env)
        return [survey] if survey else []
    shared = [p for area in split.shared for p in pair_fields(scene, area)]
    inner = Outside([*outside.pairs, *shared], [*outside.regions, *split.shared])
    surveys = [s for part in split.parts if (s := read_survey(scene, part, inner, env))]
    for survey in surveys:
        if not survey.problems and not any(r.kind == "face" for r in survey.readings):
            detail = "a sash setting is named, but no readings of it can be told from the sheet"
            survey.problems.append(Problem("layout-not-recognised", survey.place, "readings", "", detail))
    _share_trailing(surveys)
    return surveys


def _share_trailing(surveys: list[SurveyAsWritten]) -> None:
    """What only the last setting of a form has below its grid (cross-draft, smoke, remarks) was taken once for all."""
    if len(surveys) < 2:
        return
    *rest, last = surveys
    cross = [r for r in last.readings if r.kind == "cross-draft"]
    if cross and not any(r.kind == "cross-draft" for s in rest for r in s.readings):
        for survey in rest:
            survey.readings.extend(cross)
    for name, value in last.fields.items():
        if name not in OF_ONE_SETTING and not any(name in s.fields for s in rest):
            for survey in rest:
                survey.fields[name] = value


def read_survey(scene: Scene, region: Region, outside: Outside, env: Environment) -> SurveyAsWritten | None:
    """One survey from its region; None where the region holds nothing of one."""
    pairs = pair_fields(scene, region)
    taken = {s for p in pairs for s in p.spots}
    blocks = blocks_of(scene, region)
    survey = SurveyAsWritten(scene.sheet.name, region.name)
    _add_fields(scene, survey, [*pairs, *outside.pairs], env)
    date = survey.fields.get("surveyed_on")
    parts = choose_blocks(scene, region, blocks, getattr(date.value, "year", None) if date else None, taken)
    listed = _list_of_hoods(scene, pairs)
    if listed:
        survey.problems.append(listed)
    titled = any(b.section in ("face", "cross") for b in blocks)
    if not titled and not {"hood", "surveyed_on", "sash_height"} & set(survey.fields):
        return None
    survey.problems.extend(parts.problems)
    if parts.problems and (missing := form_without_hood(pairs, region)):
        survey.problems.append(missing)
    if parts.face:
        _add_face(scene, survey, parts, region, outside, pairs, env)
    _missing_passes(scene, survey, region, taken)
    _add_reported(scene, survey, region, parts, pairs)
    survey.readings.extend(cross_readings(scene, region, parts, _unit_value(survey), taken))
    if problem := cross_unread(scene, region, survey, taken):
        survey.problems.append(problem)
    _name_hood(scene, survey, region, env)
    _suggest_labels(scene, survey, region)
    return survey


def _list_of_hoods(scene: Scene, pairs: list[Pair]) -> Problem | None:
    """A hood's label with several hoods under it heads a table; reading it as a form would take the first for all."""
    for pair in pairs:
        if pair.name != "hood" or not pair.below or pair.value is None:
            continue
        below = (pair.value[0] + 1, pair.value[1])
        meaning = scene.meaning(below)
        if below[1] in scene.filled.get(below[0], ()) and not (
            meaning.field or meaning.section or meaning.position or meaning.derived
        ):
            detail = "several hoods stand under one label, in a table whose columns are not understood"
            return Problem("layout-not-recognised", a1(*pair.label), "readings", scene.text(pair.label), detail)
    return None


def _unit_value(survey: SurveyAsWritten) -> str | None:
    found = survey.fields.get("unit")
    return str(found.value) if found and found.value else None


def _add_face(
    scene: Scene,
    survey: SurveyAsWritten,
    parts: Parts,
    region: Region,
    outside: Outside,
    pairs: list[Pair],
    env: Environment,
) -> None:
    unit, problems = face_unit(scene, parts, region, outside.regions, [*pairs, *outside.pairs], env)
    survey.problems.extend(problems)
    written = survey.fields.get("unit")
    if unit:
        survey.fields["unit"] = unit
        survey.problems = [p for p in survey.problems if p.code != "unit-unknown" or unit.value is None]
    elif written and written.value is None and not any(p.code == "unit-unknown" for p in survey.problems):
        survey.fields.pop("unit")
    _sash_in_title(scene, survey, parts, region)
    face_readings(scene, survey, parts, _unit_value(survey))
    taken = {s for p in pairs for s in p.spots}
    if len(survey.readings) and parts.face and (problem := ambiguous_geometry(scene, survey, parts, taken)):
        survey.problems.append(problem)


def _missing_passes(scene: Scene, survey: SurveyAsWritten, region: Region, taken: set[Spot]) -> None:
    """A pass that a title names and whose readings were not found must not be left out of the mean in silence."""
    have = {r.pass_number for r in survey.readings if r.kind == "face"}
    if not have:
        return
    named = {
        n: s
        for s in scene.in_region(region)
        if s in scene.meanings and s not in taken and (n := scene.meaning(s).pass_number)
    }
    for number, spot in sorted(named.items()):
        if number not in have:
            detail = f"{scene.text(spot)!r} is named, but its readings cannot be told from the sheet"
            survey.problems.append(Problem("layout-ambiguous", a1(*spot), "readings", scene.text(spot), detail))
            return


def _sash_in_title(scene: Scene, survey: SurveyAsWritten, parts: Parts, region: Region) -> None:
    """'Face velocity, sash at 18 in': the grid's own title says its setting, nearer than any label."""
    spots = [t for b in parts.face for t in b.titles if scene.meaning(t).sash]
    texts = {scene.meaning(t).sash for t in spots}
    if len(texts) == 1 and (length := parse_length(texts.pop() or "")):
        survey.fields["sash_height"] = Field(
            a1(*spots[0]), scene.text(spots[0]), length.value, length.unit, scene.is_hidden(spots[0])
        )


def _add_fields(scene: Scene, survey: SurveyAsWritten, pairs: list[Pair], env: Environment) -> None:
    """Fields of the form, its own before those of shared areas; the label that says most wins."""
    best: dict[str, Pair] = {}
    for pair in pairs:
        name = pair.name
        if name in ("other", "opening_size") or name.startswith("reported_m"):
            continue
        known = best.get(name)
        if known is None or pair.meaning.weight > known.meaning.weight:
            best[name] = pair
        elif (
            pair.meaning.weight == known.meaning.weight
            and name in NEEDED
            and _value_text(scene, pair) != _value_text(scene, known)
        ):
            survey.problems.append(_two_values(scene, known, pair))
    survey.problems.extend(second_values(scene, list(best.values())))
    for name, pair in best.items():
        found, problems = field_of(scene, pair, env)
        key = "smoke_local" if name == "smoke" else name
        if key in survey.fields:
            continue
        survey.fields[key] = found
        survey.problems.extend(problems)
        keep_question(survey, key, a1(*pair.label), pair.meaning.folded)
    for pair in pairs:
        if pair.name == "opening_size":
            for name, found in read_size(cell_of(scene, pair), pair.meaning.folded, pair.unit).items():
                survey.fields.setdefault(name, found)
    name_kind_of_instrument(survey)


SHORT = 12  # characters of an answer that needs its question


def keep_question(survey: SurveyAsWritten, name: str, cell: str, label: str) -> None:
    """A tick, 'Y' or 'OK' about smoke says nothing without the words over it."""
    answer = survey.fields[name]
    if name in ("smoke_local", "smoke_gross") and len(answer.written) <= SHORT:
        survey.fields[f"{name}_question"] = Field(cell, label, label)


def name_kind_of_instrument(survey: SurveyAsWritten) -> None:
    """'Pitot tube PT-4' as the instrument says its kind as well."""
    instrument = survey.fields.get("instrument_id")
    if instrument is None or "instrument_kind" in survey.fields or not isinstance(instrument.value, str):
        return
    joined = f" {' '.join(words_of(fold(instrument.value)))} "
    kinds = {kind for words, kind in vocabulary().instruments.items() if f" {words} " in joined}
    if len(kinds) == 1:
        survey.fields["instrument_kind"] = Field(
            instrument.cell, instrument.written, kinds.pop(), hidden=instrument.hidden
        )


def _two_values(scene: Scene, first: Pair, second: Pair) -> Problem:
    detail = f"two different values for the same thing: {_value_text(scene, first)!r} in {a1(*first.at)} and {_value_text(scene, second)!r} in {a1(*second.at)}"  # noqa: E501
    code = "unit-mismatch" if first.name == "unit" else "layout-ambiguous"
    return Problem(code, a1(*second.at), first.name, _value_text(scene, second), detail)


def cell_of(scene: Scene, pair: Pair) -> Cell:
    """The cell of a pair's value; a text in its label's own cell as a cell of its own."""
    if pair.text is not None:
        return Cell(pair.label[0], pair.label[1], Kind.TEXT, pair.text)
    return scene.cells[pair.at]


def field_of(scene: Scene, pair: Pair, env: Environment) -> tuple[Field, list[Problem]]:
    """A pair as a typed field, with what is wrong with it."""
    cell = cell_of(scene, pair)
    if pair.name in DATES and pair.value and cell.kind != Kind.DATE:
        row, column = pair.value
        parts = [scene.cells[s] for s in ((row, column + k) for k in range(3)) if s in scene.cells]
        if joined := join_date(parts):
            cell = Cell(row, column, Kind.TEXT, joined)
    found, problems = read_value(pair.name, cell, pair.meaning.folded, pair.unit, env.order)
    found.hidden = scene.is_hidden(pair.at)
    return found, problems


def _add_reported(scene: Scene, survey: SurveyAsWritten, region: Region, parts: Parts, pairs: list[Pair]) -> None:
    fields, problems = reported_values(scene, region, parts, pairs, _unit_value(survey))
    for name, value in fields.items():
        survey.fields.setdefault(name, value)
    survey.problems.extend(problems)
    if not parts.face and not survey.readings and "reported_mean" in survey.fields and not parts.problems:
        mean = survey.fields["reported_mean"]
        detail = "the sheet gives an average without the readings behind it"
        survey.problems.append(Problem("readings-missing", mean.cell, "readings", mean.written, detail))


def _name_hood(scene: Scene, survey: SurveyAsWritten, region: Region, env: Environment) -> None:
    """Where no label names the hood: a known tag in a title of the form, or the sheet's name."""
    if "hood" in survey.fields:
        return
    found: dict[str, Field] = {}
    for spot in scene.in_region(region):
        if spot in scene.meanings and (tag := env.context.hood_in(scene.text(spot))):
            found.setdefault(tag, Field(a1(*spot), scene.text(spot), tag, hidden=scene.is_hidden(spot)))
    if len(found) == 1:
        survey.fields["hood"] = next(iter(found.values()))
    elif not found and region == scene.extent and (tag := env.context.hood_in(scene.sheet.name)):
        survey.fields["hood"] = Field("", scene.sheet.name, tag)


def _suggest_labels(scene: Scene, survey: SurveyAsWritten, region: Region) -> None:
    """A label of a missing field that is only mistyped is pointed out, never taken."""
    missing = [n for n in NEEDED if n not in survey.fields]
    if not missing:
        return
    for spot in scene.in_region(region):
        meaning = scene.meanings.get(spot)
        if meaning is None or meaning.known or len(meaning.folded) > 40:
            continue
        name = suggest(meaning.folded.split(":")[0])
        if name in missing:
            survey.fields[name] = Field(a1(*spot), scene.text(spot), None)
            code = {"hood": "hood-missing", "surveyed_on": "date-missing", "unit": "unit-missing"}.get(
                name, "sash-missing"
            )
            detail = f"{scene.text(spot)!r} looks like a mistyped label: did you mean '{name.replace('_', ' ')}'?"
            survey.problems.append(Problem(code, a1(*spot), name, scene.text(spot), detail))
            missing.remove(name)
