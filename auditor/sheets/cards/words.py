"""The words of one firm: its labels are given their meaning, and then the sheet is read as any other."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from auditor.sheets.cards.claims import (
    check_dates,
    label_key,
    place_contradicts,
    says_otherwise,
    with_order,
)
from auditor.sheets.cards.contradictions import against_plain, overlapping
from auditor.sheets.cards.schema import SECTIONS, Card, Word
from auditor.sheets.cards.written import spot_at, unit_written_for_readings
from auditor.sheets.context import Environment
from auditor.sheets.labels import Meaning, analyse
from auditor.sheets.model import Field, Problem, SheetAccount, SurveyAsWritten
from auditor.sheets.positions import Position
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.text import fold
from auditor.sheets.units import Unit, find_unit
from auditor.sheets.values import LENGTHS
from auditor.workbook.cells import a1

WEIGHT = 9  # of a label that a card names: above those of the vocabulary, since it was said of this firm


@dataclass(slots=True)
class Taught:
    """A sheet with the words of a card understood, what was met of them, and what the sheet says against them."""

    scene: Scene
    met: dict[Spot, Word] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def teach(scene: Scene, card: Card) -> Taught:
    """The sheet as it is to be read with a card's words. Labels that say something else keep their own meaning, and a
    problem tells of it."""
    taught = Taught(replace(scene, meanings=dict(scene.meanings), memo={}))
    words = {label_key(w.label): w for w in card.labels}
    units = {fold(text): unit for text, unit in card.unit_words}
    for spot, meaning in scene.meanings.items():
        new = _with_unit_word(meaning, units)
        word = words.get(label_key(_label_of(new)))
        if word:
            new = _with_word(taught, spot, new, word, card.name)
        if new is not meaning:
            taught.scene.meanings[spot] = new
    return taught


def _label_of(meaning: Meaning) -> str:
    if meaning.inline is None:
        return meaning.folded
    return meaning.folded.partition(":")[0] if ":" in meaning.folded else meaning.folded.partition("=")[0]


def _with_unit_word(meaning: Meaning, units: dict[str, str]) -> Meaning:
    name = units.get(meaning.folded)
    if name and not meaning.is_unit:
        return replace(meaning, unit=Unit(name, "velocity"), is_unit=True, strange_unit=None)
    name = units.get(fold(meaning.strange_unit)) if meaning.strange_unit else None
    return replace(meaning, unit=Unit(name, "velocity"), strange_unit=None) if name else meaning


def _with_word(taught: Taught, spot: Spot, meaning: Meaning, word: Word, card: str) -> Meaning:
    text = taught.scene.text(spot)
    plain = analyse(_label_of(meaning)) if meaning.inline is not None else meaning
    other = says_otherwise(plain, word.means)
    if not other and word.number and place_contradicts(plain, word.number, word.means):
        other = "another place on the opening"
    if other:
        detail = f"{text!r} says {other}, and {card} takes it for {word.means.replace('_', ' ')}"
        taught.problems.append(Problem("layout-ambiguous", a1(*spot), word.means, text, detail))
        return meaning
    own = meaning.unit
    if own and word.unit and own.name != word.unit:
        detail = f"{text!r} is in {own.name}, and {card} says {word.unit}"
        taught.problems.append(Problem("unit-mismatch", a1(*spot), _about(word), text, detail))
        return meaning
    taught.met[spot] = word
    return _meaning_of(meaning, word)


def _about(word: Word) -> str:
    return "unit" if word.means in ("face", "cross-draft", "unit") else word.means


def _meaning_of(meaning: Meaning, word: Word) -> Meaning:
    own = meaning.unit
    if word.means in SECTIONS:
        return replace(meaning, section=SECTIONS[word.means], field=None, derived=None, position=None, direction=None)
    if word.means == "not readings":
        return replace(meaning, flip="previous", section=None, position=None)
    if word.means in ("row", "column"):
        place = Position(row_number=word.number) if word.means == "row" else Position(column_number=word.number)
        return replace(meaning, position=place, direction=None, field=None, section=None)
    unit = own or (find_unit(word.unit) if word.unit else None)
    inline = word.unit if word.means == "unit" and word.unit and meaning.inline is None else meaning.inline
    return replace(
        meaning, field=word.means, weight=WEIGHT, unit=unit if word.means != "unit" else None, inline=inline,
        position=None, direction=None, section=None, is_unit=False,
    )  # fmt: skip


def taught_environment(env: Environment, card: Card, order: str = "") -> Environment:
    return replace(env, order=with_order(env.order, order or card.date_order))


def read_words(scene: Scene, env: Environment, card: Card, plain: SheetAccount, read) -> SheetAccount:
    """A sheet read with a card's words; the `plain` reading where they change nothing."""
    taught = teach(scene, card)
    account: SheetAccount = read(taught.scene, taught_environment(env, card))
    units: dict[str, Spot] = {w.unit: s for s, w in taught.met.items() if w.means == "face" and w.unit}
    for survey in account.surveys:
        survey.problems.extend(taught.problems)
        if len(units) > 1:
            survey.problems.append(_two_units(units, card))
            continue
        spell_unit(survey, card)
        if unit := next(iter(units), card.unit):
            supply_unit(survey, unit, card.name, scene, units.get(unit))
        _check_lengths(survey, card)
        check_dates(survey, card.date_order, card.name)
        _against_own_words(survey, plain, taught, card)
    if account == plain:
        return plain
    account.reason = account.reason or f"with the words of {card.name}"
    account.card = card.name
    return account


def _against_own_words(survey: SurveyAsWritten, plain: SheetAccount, taught: Taught, card: Card) -> None:
    """A label of the card must not push aside one that the sheet has for the same thing."""
    told = any(word.means == "not readings" for word in taught.met.values())
    for other in overlapping(survey, plain.surveys):
        out = {r.cell for r in other.readings} - {r.cell for r in survey.readings} if told else set()
        against_plain(survey, other, card.name, frozenset(map(spot_at, out)))


def _two_units(units: dict, card: Card) -> Problem:
    (first, _), (second, spot) = list(units.items())[:2]
    detail = f"two labels stand on it of which {card.name} says {first} and {second}"
    return Problem("unit-mismatch", a1(*spot), "unit", "", detail)


def spell_unit(survey: SurveyAsWritten, card: Card) -> None:
    """A units field that the firm spells in its own way gets the unit that these words mean."""
    found = survey.fields.get("unit")
    name = {fold(t): u for t, u in card.unit_words}.get(fold(found.written)) if found else None
    if found is None or name is None or found.value is not None:
        return
    survey.problems = [p for p in survey.problems if p.code != "unit-unknown" or fold(p.written) != fold(found.written)]
    if not any(p.code in ("unit-mismatch", "unit-unknown") for p in survey.problems):
        govern(survey, Field(found.cell, found.written, name, name, found.hidden))


def supply_unit(survey: SurveyAsWritten, unit: str, card: str, scene: Scene, spot: Spot | None = None) -> None:
    """Gives the readings of a survey the unit that a card says, where its sheet says none; where the sheet says
    another, or one that nobody knows, the survey is held."""
    if any(p.code in ("unit-mismatch", "unit-unknown") for p in survey.problems):
        return
    for where, written, other in unit_written_for_readings(survey, scene):
        if other != unit:
            detail = f"the sheet says {other} ({written!r}), and {card} says {unit}"
            survey.problems.append(Problem("unit-mismatch", where, "unit", written, detail))
            return
    found = survey.fields.get("unit")
    if found and found.value:
        return
    text = scene.text(spot) if spot else ""
    said = f"{text} ({unit} by {card})" if text else f"{unit} by {card}"
    govern(survey, Field(a1(*spot) if spot else "", said, unit, unit))


def govern(survey: SurveyAsWritten, unit: Field) -> None:
    """Makes a unit that of all readings, and of stated means, that have none of their own."""
    name = str(unit.value)
    survey.fields["unit"] = unit
    for reading in survey.readings:
        reading.unit = reading.unit or name
    for key in ("reported_mean", "reported_min", "reported_max"):
        if (stated := survey.fields.get(key)) and stated.unit is None and stated.value is not None:
            stated.unit = name


def _check_lengths(survey: SurveyAsWritten, card: Card) -> None:
    for word in card.labels:
        found = survey.fields.get(word.means)
        if word.means in LENGTHS and word.unit and found and found.unit and found.unit != word.unit:
            detail = f"{found.written!r} is in {found.unit}, and {card.name} says {word.unit}"
            survey.problems.append(Problem("unit-mismatch", found.cell, word.means, found.written, detail))
