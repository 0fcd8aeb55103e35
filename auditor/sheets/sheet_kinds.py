"""Sheets that are no surveys: covers, notes, lookups, blank forms."""

from __future__ import annotations

from auditor.sheets.context import tag_key
from auditor.sheets.model import SheetAccount, SurveyAsWritten
from auditor.sheets.scene import Scene
from auditor.sheets.text import fold, words_of
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


def set_aside_reason(scene: Scene, kind: str | None) -> str:
    """Why a sheet is no survey, '' where it may be one."""
    if not scene.sheet.grid:
        return "a chart sheet"
    if not scene.filled:
        return "an empty sheet"
    if kind and not holds_readings(scene):
        return REASONS[kind]
    if not scene.numbers and not any(m.field for m in scene.meanings.values()):
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
