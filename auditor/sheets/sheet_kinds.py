"""Sheets that are no surveys: covers, notes, lookups, blank forms."""

from __future__ import annotations

import re

from auditor.sheets.context import tag_key
from auditor.sheets.labels import analyse
from auditor.sheets.model import Problem, SheetAccount, SurveyAsWritten
from auditor.sheets.scene import Scene
from auditor.sheets.text import fold, words_of
from auditor.sheets.units import velocity_unit
from auditor.sheets.vocabulary import vocabulary

REASONS = {
    "cover": "a cover sheet",
    "notes": "notes",
    "lookup": "a lookup list",
    "summary": "a summary of other sheets",
    "previous": "an earlier survey, for reference",
    "template": "a template or an example",
}


def kind_of_sheet(scene: Scene) -> str | None:
    """What the sheet's name says that it is, if anything."""
    key = " ".join(w for w in words_of(fold(scene.sheet.name)) if not w.isdigit())
    return vocabulary().sheet_kinds.get(key)


def holds_readings(scene: Scene) -> bool:
    """True where a sheet has words of a survey and numbers that could be readings."""
    numbers = len(scene.numbers)
    if numbers < 3:
        return False
    words = {m.section for m in scene.meanings.values()} | {m.field for m in scene.meanings.values()}
    return bool(words & {"face", "cross", "hood", "sash_height", "reported_mean"})


def _speaks_of_tests(scene: Scene) -> bool:
    """True for labels of a survey (a hood, and its date or sash), or velocities told in a sentence."""
    fields = {m.field for m in scene.meanings.values()}
    if "hood" in fields and {"surveyed_on", "sash_height"} & fields:
        return True
    return any(
        velocity_in_prose(m.folded or scene.text(s)) for s, m in scene.meanings.items() if s not in scene.numbers
    )


def unread_survey(scene: Scene, surveys: list[SurveyAsWritten]) -> str:
    """Why a sheet that gave no readings is held nevertheless, '' where it speaks of no survey."""
    if holds_readings(scene):
        return "the sheet holds words of a survey and numbers, but no form or table that can be read with certainty"
    told = [s for s in surveys if "hood" in s.fields and {"surveyed_on", "sash_height"} & set(s.fields)]
    if told:
        return "the sheet names a hood and its survey, but holds no readings that can be told from it"
    prose = [
        m.folded
        for s, m in scene.meanings.items()
        if s not in scene.numbers and velocity_in_prose(m.folded or scene.text(s))
    ]
    return f"velocities are told in a sentence: {prose[0][:80]!r}" if prose else ""


_VELOCITY = re.compile(r"(?<![\w.])\d+(?:[.,]\d+)?\s*(\S+(?: per \S+)?)")


def velocity_in_prose(text: str) -> bool:
    """True for a sentence that tells two or more velocities and speaks of a hood or its face."""
    folded = fold(text)
    if len(folded) < 30 or not re.search(r"\b(hood|face|sash|draft|draught|cupboard)\b", folded):
        return False
    if re.search(r"\b(limit|criteri|between|minimum|maximum|least|range|should|must|accept|target)", folded):
        return False
    return (
        sum(velocity_unit(m.group(1).strip(".,;:()")) is not None for m in _VELOCITY.finditer(folded)) >= 1
        and len(re.findall(r"\d+(?:[.,]\d+)?", folded)) >= 2
    )


def is_blank_form(scene: Scene) -> bool:
    """True where a sheet has the labels of a form and nothing filled in."""
    return len([m for m in scene.meanings.values() if m.field]) >= 3


def take_out_examples(
    scene: Scene, surveys: list[SurveyAsWritten], kind: str | None
) -> tuple[list[SurveyAsWritten], list[Problem]]:
    """Surveys without a template's examples, and a remark for each of those."""
    real: list[SurveyAsWritten] = []
    problems: list[Problem] = []
    whole = kind == "template" or analyse(scene.sheet.name).example
    for survey in surveys:
        if not (whole or _is_example(scene, survey)):
            real.append(survey)
        elif survey.readings:
            hood = survey.fields.get("hood")
            detail = "a template's example was left in; it is not counted"
            problems.append(Problem("example-left-in", survey.place, "", hood.written if hood else "", detail))
    return real, problems


def _is_example(scene: Scene, survey: SurveyAsWritten) -> bool:
    hood = survey.fields.get("hood")
    if hood and (analyse(hood.written).example or fold(hood.written) in vocabulary().example_alone):
        return True
    top, left, bottom, right = corners(survey.place)
    return any(m.example and top <= r <= bottom and left <= c <= right for (r, c), m in scene.meanings.items())


def corners(place: str) -> tuple[int, int, int, int]:
    """(top, left, bottom, right) of a range such as 'A1:C9'."""
    first, _, last = place.partition(":")
    out = []
    for address in (first, last or first):
        found = re.match(r"([A-Z]+)(\d+)", address)
        letters, row = (found.group(1), int(found.group(2))) if found else ("A", 1)
        column = 0
        for letter in letters:
            column = column * 26 + ord(letter) - 64
        out += [row, column]
    return out[0], out[1], out[2], out[3]


def set_aside_reason(scene: Scene, kind: str | None) -> str:
    """Why a sheet is no survey, '' where it may be one."""
    if not scene.sheet.grid:
        return "a chart sheet"
    if not scene.filled:
        return "an empty sheet"
    if kind and not holds_readings(scene) and not _speaks_of_tests(scene):
        return REASONS[kind]
    if not scene.numbers and not any(m.field for m in scene.meanings.values()) and not _speaks_of_tests(scene):
        return "text only"
    return ""


def _key(survey: SurveyAsWritten) -> str:
    hood = survey.fields.get("hood")
    return tag_key(str(hood.value)) if hood and hood.value else ""


def set_summaries_aside(accounts: list[SheetAccount]) -> None:
    """A list of averages whose hoods are surveyed on other sheets of the workbook is a summary of them, not a list of
    surveys without readings. A hood that it alone names stays held."""
    measured = {_key(s) for a in accounts for s in a.surveys if any(r.kind == "face" for r in s.readings)} - {""}
    for account in accounts:
        if not account.surveys or any(s.readings for s in account.surveys):
            continue
        left = [s for s in account.surveys if _key(s) not in measured]
        if len(left) < len(account.surveys):
            account.surveys = left
            if not left:
                account.outcome, account.reason = "set aside", REASONS["summary"]
