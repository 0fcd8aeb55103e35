"""What the labels of a form say by the words of the trade, and the units over its readings that nobody knows."""

from __future__ import annotations

from auditor.sheets.cards.form_reading import keep_question
from auditor.sheets.cards.schema import Card
from auditor.sheets.cards.words import govern
from auditor.sheets.cards.written import spot_at
from auditor.sheets.context import Environment
from auditor.sheets.fields import pair_fields
from auditor.sheets.forms import field_of
from auditor.sheets.labels import analyse
from auditor.sheets.model import Field, Problem, SurveyAsWritten
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.text import fold
from auditor.sheets.vocabulary import vocabulary
from auditor.workbook.cells import a1

ABOVE = 4  # rows over the readings in which their title may stand


def labelled_fields(scene: Scene, env: Environment, region: Region) -> SurveyAsWritten:
    """The fields that known labels of a region give, as a survey without readings."""
    own = SurveyAsWritten(scene.sheet.name, region.name)
    for pair in pair_fields(scene, region):
        name = "smoke_local" if pair.name == "smoke" else pair.name
        if name in ("other", "opening_size", "unit") or name in own.fields or name.startswith("reported_m"):
            continue
        own.fields[name], problems = field_of(scene, pair, env)
        own.problems += problems
        label = pair.meaning.folded
        keep_question(own, name, Field(a1(*pair.label), label, label))
    return own


def unknown_units(scene: Scene, survey: SurveyAsWritten, same: list[SurveyAsWritten], card: Card) -> None:
    """A unit over the readings that nobody knows holds the survey, whatever unit a card would give; unless the card
    says what the firm means by it."""
    words = {fold(text): unit for text, unit in card.unit_words}
    told = [p for other in same for p in other.problems if p.code == "unit-unknown"]
    for problem in told or _over_readings(scene, survey):
        word = fold(analyse(problem.written).strange_unit or problem.written)
        if word not in words:
            survey.problems.append(problem)
        elif not survey.fields.get("unit"):
            govern(survey, Field(problem.cell, problem.written, words[word], words[word]))


def _over_readings(scene: Scene, survey: SurveyAsWritten) -> list[Problem]:
    spots: list[Spot] = [spot_at(r.cell) for r in survey.readings if r.kind == "face"]
    top, left = min(r for r, _ in spots), min(c for _, c in spots)
    right = max(c for _, c in spots)
    found = []
    for spot, meaning in scene.meanings.items():
        word = meaning.strange_unit
        near = top - ABOVE <= spot[0] < top and max(1, left - 2) <= spot[1] <= right
        if not near or word is None or meaning.section not in (None, "face") or meaning.field:
            continue
        unit_like = "/" in word or (len(word) <= 5 and word.isalpha())
        if unit_like and not analyse(word).known and word not in vocabulary().known:
            detail = f"{word!r} is not a unit that is known"
            found.append(Problem("unit-unknown", a1(*spot), "unit", scene.text(spot), detail))
    return found
