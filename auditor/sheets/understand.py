"""From a workbook to surveys as written: every sheet accounted for, every value with its cell, nothing judged."""

from __future__ import annotations

from auditor.sheets.context import Context, Environment
from auditor.sheets.dates import prove_order
from auditor.sheets.forms import read_forms
from auditor.sheets.model import Problem, SheetAccount, SurveyAsWritten
from auditor.sheets.scene import Scene, look_at
from auditor.sheets.sheet_kinds import (
    holds_readings,
    is_blank_form,
    kind_of_sheet,
    set_aside_reason,
    set_summaries_aside,
    take_out_examples,
    unread_survey,
)
from auditor.sheets.statements import state_for_all
from auditor.sheets.tables import read_tables
from auditor.sheets.unit_scope import notes_in
from auditor.workbook.cells import Kind, Workbook


def understand(workbook: Workbook, context: Context | None = None) -> list[SheetAccount]:
    """One account per sheet, in the workbook's order.

    A sheet is 'read' (it gave surveys, perhaps with problems), 'set aside' with the reason why it is no survey, or
    'held' where it speaks of surveys and cannot be read with certainty."""
    scenes, env = prepare(workbook, context)
    accounts = [safe_account(scene, env) for scene in scenes]
    if env.context.cards:
        from auditor.sheets.cards.applying import apply_cards

        accounts = apply_cards(scenes, env, accounts, safe_account, note_hidden)
    state_for_all(scenes, accounts, env)
    set_summaries_aside(accounts)
    return accounts


def prepare(workbook: Workbook, context: Context | None = None) -> tuple[list[Scene], Environment]:
    """The sheets of a workbook, looked at once, and what all of it says for each of them."""
    order = prove_order(
        str(cell.value) for sheet in workbook.sheets for cell in sheet.cells.values() if cell.kind == Kind.TEXT
    )
    scenes = [look_at(sheet, order, workbook.format == "csv") for sheet in workbook.sheets]
    return scenes, Environment(context or Context(), order, _workbook_unit(scenes))


def _workbook_unit(scenes: list[Scene]) -> tuple[str, str, str] | None:
    """The velocity unit that a cover or notes sheet declares for the whole workbook, if one does."""
    found: dict[str, tuple[str, str, str]] = {}
    for scene in scenes:
        if scene.filled and not holds_readings(scene):
            for spot, units in notes_in(scene, None):
                for unit in units:
                    found.setdefault(unit, (unit, scene.sheet.name, scene.text(spot)))
    return next(iter(found.values())) if len(found) == 1 else None


def safe_account(scene: Scene, env: Environment) -> SheetAccount:
    """One sheet that trips the program is held and said so; it takes none of the others with it."""
    try:
        return account_of(scene, env)
    except Exception as error:  # noqa: BLE001 - whatever it is, the other sheets must not be lost for it
        detail = f"the program failed on this sheet ({type(error).__name__}: {error}); please report it with the file"
        return SheetAccount(scene.sheet.name, "held", "", [], [Problem("layout-not-recognised", detail=detail)])


def account_of(scene: Scene, env: Environment) -> SheetAccount:
    """What becomes of one sheet."""
    name = scene.sheet.name
    kind = kind_of_sheet(scene)
    reason = set_aside_reason(scene, kind)
    if reason:
        return SheetAccount(name, "set aside", reason)
    surveys, problems = read_tables(scene, env)
    if surveys == [] and not problems:
        return SheetAccount(name, "set aside", "a list of hoods without readings")
    if surveys is None:
        surveys = read_forms(scene, env)
    surveys, examples = take_out_examples(scene, surveys, kind)
    problems = [*problems, *examples]
    real = [s for s in surveys if s.readings or s.problems]
    for survey in real:
        note_hidden(survey, scene)
    if real:
        return SheetAccount(name, "read", "", real, problems)
    if examples:
        return SheetAccount(name, "set aside", "an example", [], problems)
    if not problems and (detail := unread_survey(scene, surveys)):
        problems = [Problem("layout-not-recognised", detail=detail)]
    if problems:
        return SheetAccount(name, "held", "", [], problems)
    return SheetAccount(name, "set aside", "a blank form" if is_blank_form(scene) else "no survey on it")


def note_hidden(survey: SurveyAsWritten, scene: Scene) -> None:
    """Adds to a survey what of it stands in hidden places."""
    if scene.sheet.hidden:
        survey.problems.append(Problem("sheet-hidden", detail="this sheet is hidden in the workbook"))
        return
    cells = [r.cell for r in survey.readings if r.hidden] + [f.cell for f in survey.fields.values() if f.hidden]
    if cells:
        detail = f"{len(cells)} of its values stand in hidden rows or columns"
        survey.problems.append(Problem("row-hidden", cells[0], detail=detail))
