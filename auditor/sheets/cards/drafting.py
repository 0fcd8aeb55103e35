"""A first card for a workbook, from what was recognised of it, with what a person has to add."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from auditor.sheets.cards.applying import apply_cards
from auditor.sheets.cards.draft_marks import mark_for
from auditor.sheets.cards.draft_places import draft_places, field_places, grid_places
from auditor.sheets.cards.draft_tables import table_layout
from auditor.sheets.cards.loading import load_card
from auditor.sheets.cards.schema import CardError, DraftPlace, FieldPlace, GridPlace, Layout, Mark
from auditor.sheets.cards.writing import Draft, comment, write_card
from auditor.sheets.cards.written import spot_at
from auditor.sheets.context import Context, Environment
from auditor.sheets.model import SheetAccount, SurveyAsWritten
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.sheet_kinds import corners
from auditor.sheets.tables import find_tables
from auditor.sheets.turning import hoods_across
from auditor.sheets.understand import note_hidden, prepare, safe_account
from auditor.workbook.cells import Workbook

_ASKED = {
    "hood": 'fields.hood = { cell = "?" }',
    "surveyed_on": 'fields.surveyed_on = { cell = "?" }',
    "sash_height": 'fields.sash_height = { cell = "?", unit = "in" }',
}


@dataclass
class _Form:
    """Forms that are laid out alike: each the same survey of its sheet, counted from the top."""

    number: int
    grids: tuple[GridPlace, ...]
    fields: dict[str, FieldPlace]
    drafts: tuple[DraftPlace, ...]
    scenes: list[Scene] = field(default_factory=list)
    surveys: list[SurveyAsWritten] = field(default_factory=list)
    lost: set[str] = field(default_factory=set)


@dataclass
class _Sheets:
    """The layouts of a workbook's sheets as they are gathered."""

    forms: list[_Form] = field(default_factory=list)
    tables: dict[tuple, tuple[Draft, list[Scene]]] = field(default_factory=dict)
    unread: list[Draft] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)


def draft_card(workbook: Workbook, context: Context | None = None) -> str:
    """The text (TOML) of a first card for a workbook, from what is recognised of it without one. It says itself what
    is missing in it for certainty, and which sheets it would not read back as they are read without it."""
    scenes, env = prepare(workbook, Context((context or Context()).known_hoods))
    accounts = [safe_account(scene, env) for scene in scenes]
    found = _Sheets()
    for scene, account in zip(scenes, accounts, strict=True):
        _gather(found, scene, account)
    drafts = [_form_draft(form, scenes, found.forms) for form in found.forms]
    drafts += [_table_draft(draft, mine, scenes) for draft, mine in found.tables.values()]
    firms = {str(f.value) for a in accounts for s in a.surveys if (f := s.fields.get("contractor")) and f.value}
    firm = firms.pop() if len(firms) == 1 else ""
    remarks = ["Drafted from what was recognised. Check each line against the workbook, and mend what is not so."]
    _name_apart(drafts)
    text = write_card(firm, [*drafts, *found.unread], [*remarks, *found.remarks])
    return _checked(text, firm, scenes, env, accounts)


def _name_apart(drafts: list[Draft]) -> None:
    """Layouts of one name are numbered: 'form', 'form, variant 2' ..."""
    seen: Counter[str] = Counter()
    for draft in drafts:
        seen[draft.layout.name] += 1
        if (number := seen[draft.layout.name]) > 1:
            draft.layout = replace(draft.layout, name=f"{draft.layout.name}, variant {number}")


def _gather(found: _Sheets, scene: Scene, account: SheetAccount) -> None:
    if account.outcome == "held" and not account.surveys:
        found.unread.append(_open_layout(scene, account))
    if not account.surveys:
        return
    tables = find_tables(scene)
    if any(t.shape != "list" for t in tables):
        for table in tables:
            name = f"table on {scene.sheet.name}"[:60]
            layout = table_layout(scene, table, table is tables[-1], account.surveys, name)
            key = (layout.columns, layout.fields, layout.header, layout.last_row)
            found.tables.setdefault(key, (Draft(layout), []))[1].append(scene)
    elif hoods_across(scene):
        found.remarks.append(f"Sheet {scene.sheet.name!r} has a column to each hood: it is read without a card.")
    else:
        for number, survey in enumerate(account.surveys):
            _sort_in(found.forms, scene, number, survey)


def _table_draft(draft: Draft, mine: list[Scene], scenes: Sequence[Scene]) -> Draft:
    others = [s for s in scenes if s.filled and not any(s is m for m in mine)]
    mark, draft.remarks = mark_for(mine, others, _below(draft.layout, mine[0]))
    draft.layout = replace(draft.layout, mark=mark)
    return draft


def _below(layout: Layout, scene: Scene) -> set[Spot]:
    """Cells under the header of a table: they change from survey to survey."""
    return {s for s in scene.meanings if s[0] > layout.header[1]} | {f.cell for f in layout.fields if f.cell}


def _sort_in(forms: list[_Form], scene: Scene, number: int, survey: SurveyAsWritten) -> None:
    grids, (fields, lost), drafts = grid_places(survey), field_places(scene, survey), draft_places(survey)
    if not grids:
        return
    for form in forms:
        agree = all(_same_place(form.fields[n], p) for n, p in fields.items() if n in form.fields)
        if form.number == number and form.grids == grids and agree:
            break
    else:
        form = _Form(number, grids, {}, drafts)
        forms.append(form)
    for name, place in fields.items():
        known = form.fields.setdefault(name, place)
        if known.label != place.label:
            form.fields[name] = replace(known, label="")
    if len(drafts) > len(form.drafts):
        form.drafts = drafts
    form.scenes.append(scene)
    form.surveys.append(survey)
    form.lost |= set(lost)


def _same_place(one: FieldPlace, other: FieldPlace) -> bool:
    return replace(one, label="") == replace(other, label="")


def _form_draft(form: _Form, scenes: Sequence[Scene], forms: Sequence[_Form]) -> Draft:
    values = {spot_at(f.cell) for s in form.surveys for n, f in s.fields.items() if f.cell and n != "unit"}
    values |= {f.cell for other in forms for f in other.fields.values() if f.cell}
    names = {s.sheet.name for s in form.scenes}
    others = [s for s in scenes if s.filled and s.sheet.name not in names]
    mark, remarks = mark_for(form.scenes, others, values)
    places = {s.place for s in form.surveys}
    units = {str(f.value) for s in form.surveys if (f := s.fields.get("unit")) and f.value}
    unit = units.pop() if len(units) == 1 and "unit" not in form.fields else None
    some = ", ".join(s.sheet.name for s in form.scenes[:3]) + (" ..." if len(form.scenes) > 3 else "")
    remarks.insert(0, f"read from {len(form.scenes)} sheet{'s' if len(form.scenes) > 1 else ''}: {some}")
    remarks += [f"{n.replace('_', ' ')}: a card cannot point to where it was taken from" for n in sorted(form.lost)]
    layout = Layout(
        f"form {form.number + 1}" if form.number else "form", "form", mark, unit=unit,
        area=Region(*corners(places.pop())) if len(places) == 1 else None,
        fields=tuple(form.fields.values()), grids=form.grids, drafts=form.drafts,
    )  # fmt: skip
    return Draft(layout, remarks, _missing(form))


def _missing(form: _Form) -> list[str]:
    lines = [comment(f"{line}  (not found on the sheet)") for name, line in _ASKED.items() if name not in form.fields]
    if any(r.unit is None for s in form.surveys for r in s.readings if r.kind == "face"):
        lines.append(comment('unit = "ft/min"  (the sheet says none; write what the firm has told you)'))
    if any(p.code == "date-ambiguous" for s in form.surveys for p in s.problems):
        lines.append(comment('date_order = "dmy"  (or "mdy": nothing in the workbook says which comes first)'))
    return lines


def _open_layout(scene: Scene, account: SheetAccount) -> Draft:
    """A layout for a sheet that could not be read: its mark, and everything else to be filled in."""
    mark, remarks = mark_for([scene], [], set())
    why = "; ".join(p.detail for p in account.problems if p.detail)
    remarks += [f"sheet {scene.sheet.name!r} could not be read: {why}"[:300]]
    remarks += ["write where its values stand, or take this whole layout out if it is no survey"]
    layout = Layout("sheet to be taught", "form", Mark(cells=mark.cells), grids=(GridPlace(()),))
    return Draft(layout, remarks, [comment(line) for line in _ASKED.values()])


def _checked(text: str, firm: str, scenes: Sequence[Scene], env: Environment, accounts: Sequence[SheetAccount]) -> str:
    """The draft, with a line on what it would not read back as it was read without it."""
    try:
        card = load_card(text if firm else text.replace('contractor = "?"', 'contractor = "draft"', 1))
    except CardError as trouble:
        return comment(f"To be filled in before it can be used: {trouble}") + "\n" + text
    context = replace(env.context, cards=(card,))
    again = apply_cards(scenes, replace(env, context=context), accounts, safe_account, note_hidden)
    lost = [a.sheet for a, b in zip(accounts, again, strict=True) if _core(a) != _core(b)]
    if not lost:
        return text
    return (
        comment(f"Not read back as without the card: {', '.join(lost[:6])}. Look at them with explain.") + "\n" + text
    )


def _core(account: SheetAccount) -> list:
    """What a card must give back: the values of fields, and the readings with their places and units."""
    return sorted(
        (
            sorted((n, str(f.value), f.unit or "") for n, f in s.fields.items() if not n.endswith("_question")),
            sorted((r.cell, r.kind, r.value or 0.0, r.unit or "", r.row or 0, r.column or 0) for r in s.readings),
        )
        for s in account.surveys
    )
