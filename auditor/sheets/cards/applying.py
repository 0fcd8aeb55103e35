"""Cards put to use on one workbook: each sheet is read by the card that is for it, or as any other sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from auditor.sheets.cards.claims import check_dates, with_order
from auditor.sheets.cards.contradictions import (
    against_plain,
    check_facts,
    doubtful,
    left_beside,
    overlapping,
    take_over,
)
from auditor.sheets.cards.form_reading import read_form
from auditor.sheets.cards.marks import firms_named, mark_holds, words_apply
from auditor.sheets.cards.own_words import labelled_fields, unknown_units
from auditor.sheets.cards.schema import Card, Layout
from auditor.sheets.cards.table_reading import read_by_columns
from auditor.sheets.cards.words import govern, read_words, spell_unit, supply_unit
from auditor.sheets.cards.written import spot_at, unit_written_for_readings
from auditor.sheets.context import Environment
from auditor.sheets.model import Field, Problem, SheetAccount, SurveyAsWritten
from auditor.sheets.scene import Region, Scene, Spot
from auditor.sheets.sheet_kinds import corners, kind_of_sheet, take_out_examples

Read = Callable[[Scene, Environment], SheetAccount]
_LAYOUT_CODES = ("layout-not-recognised", "layout-ambiguous", "readings-missing")


def apply_cards(
    scenes: Sequence[Scene], env: Environment, accounts: Sequence[SheetAccount], read: Read, note_hidden: Callable
) -> list[SheetAccount]:
    """The accounts of a workbook's sheets with the cards of the environment put to use. `read` reads one sheet without
    any, `note_hidden` adds what it says of hidden cells."""
    firms = firms_named(scenes, accounts)
    out = []
    for scene, plain, firm in zip(scenes, accounts, firms, strict=True):
        account = _safely(scene, env, plain, firm, read) if scene.filled else plain
        if account is not plain and account.reason.startswith("by "):  # read by a layout, not by `read`
            for survey in account.surveys:
                if not any(survey is p for p in plain.surveys):
                    note_hidden(survey, scene)
        out.append(account)
    return out


def _safely(scene: Scene, env: Environment, plain: SheetAccount, firm: str, read: Read) -> SheetAccount:
    """A card that trips the program on one sheet holds that sheet, and takes none of the others with it."""
    try:
        return _one(scene, env, plain, firm, read)
    except Exception as error:  # noqa: BLE001 - whatever it is, the other sheets must not be lost for it
        detail = f"the program failed on using a card here ({type(error).__name__}: {error}); please report it"
        return _held_for(plain, Problem("layout-ambiguous", detail=detail))


def _one(scene: Scene, env: Environment, plain: SheetAccount, firm: str, read: Read) -> SheetAccount:
    if plain.reason == "an example":
        return plain
    by_layout = {c.digest: (c, found) for c in env.context.cards if (found := _layouts_for(c, scene))}
    if len(by_layout) > 1:
        return _two_cards(plain, [c for c, _ in by_layout.values()])
    for card, layouts in by_layout.values():
        return _read_layouts(scene, env, card, layouts, plain)
    by_words = {c.digest: c for c in env.context.cards if c.has_words and words_apply(c, scene, firm)}
    if len(by_words) > 1:
        return _two_cards(plain, list(by_words.values()))
    for card in by_words.values():
        return read_words(scene, env, card, plain, read)
    return plain


def _layouts_for(card: Card, scene: Scene) -> list[Layout]:
    return [layout for layout in card.layouts if mark_holds(layout.mark, scene)]


def _two_cards(plain: SheetAccount, cards: list[Card]) -> SheetAccount:
    """A sheet that two cards claim is held: nobody may choose between them in silence."""
    names = " and ".join(c.name for c in cards)
    detail = f"more than one card is for this sheet: {names}; narrow their marks"
    return _held_for(plain, Problem("layout-ambiguous", detail=detail))


def _held_for(plain: SheetAccount, problem: Problem) -> SheetAccount:
    """The plain reading of a sheet, held for a problem."""
    if not plain.surveys:
        return SheetAccount(plain.sheet, "held", plain.reason, [], [*plain.problems, problem])
    for survey in plain.surveys:
        survey.problems.append(problem)
    return plain


def _read_layouts(
    scene: Scene, env: Environment, card: Card, layouts: list[Layout], plain: SheetAccount
) -> SheetAccount:
    surveys: list[SurveyAsWritten] = []
    problems: list[Problem] = []
    for layout in layouts:
        if layout.shape == "table":
            found, more = _table(scene, env, card, layout, plain)
            problems += more
        else:
            found = _form(scene, env, card, layout, plain, len(layouts) == 1)
        surveys += found
    _share_no_reading(surveys)
    surveys, examples = take_out_examples(scene, surveys, kind_of_sheet(scene))
    if not surveys:
        return plain
    areas = [Region(*corners(s.place)) for s in surveys]
    ignored = frozenset().union(*(layout.ignore for layout in layouts))
    rest = [s for s in plain.surveys if not _subsumed(s, surveys, areas, ignored)]
    kept = [p for p in plain.problems if p.code not in _LAYOUT_CODES]
    kept += [p for p in problems if p not in kept]
    names = ", ".join(f"'{layout.name}'" for layout in layouts)
    reason = f"by {card.name}, layout {names}"
    return SheetAccount(plain.sheet, "read", reason, [*surveys, *rest], [*kept, *examples], card.name)


def _form(
    scene: Scene, env: Environment, card: Card, layout: Layout, plain: SheetAccount, alone: bool
) -> list[SurveyAsWritten]:
    survey = read_form(scene, env.order, card, layout)
    if survey is None:
        return []
    same = overlapping(survey, plain.surveys)
    if all(doubtful(other) for other in same):
        claimed = {spot_at(r.cell) for r in survey.readings} | layout.ignore
        claimed |= {spot_at(f.cell) for f in survey.fields.values() if f.cell}
        grids = [[spot for spot, _ in grid.cells] for grid in layout.grids]
        survey.problems += [p for grid in grids if (p := left_beside(scene, grid, claimed))][:1]
    _finish(scene, env, card, layout, survey, same)
    if not same:
        region = layout.area or (scene.extent if alone else Region(*corners(survey.place)))
        own = labelled_fields(scene, env, region)
        check_facts(survey, own, card.name)
        take_over(survey, own)
    return [survey]


def _table(
    scene: Scene, env: Environment, card: Card, layout: Layout, plain: SheetAccount
) -> tuple[list[SurveyAsWritten], list[Problem]]:
    order = with_order(env.order, layout.date_order or card.date_order)
    taught = Environment(env.context, order, env.workbook_unit, env.extra)
    surveys, problems = read_by_columns(scene, taught, card, layout)
    real = [s for s in surveys if s.readings or s.problems]
    for survey in real:
        _finish(scene, env, card, layout, survey, overlapping(survey, plain.surveys))
    return real, problems


def _finish(
    scene: Scene, env: Environment, card: Card, layout: Layout, survey: SurveyAsWritten, same: list[SurveyAsWritten]
) -> None:
    """The unit where only the card (or the rest of the workbook) says it, the order of dates, and what the sheet's own
    words say against all this."""
    units = {c.unit for c in layout.columns if c.unit and c.means in ("point", "reading")}
    spell_unit(survey, card)
    unknown_units(scene, survey, same, card)
    _unit_of_sheet(scene, env, survey, same)
    taught = {layout.unit, *units} - {None} or {card.unit}
    for unit in sorted(u for u in taught if u):
        supply_unit(survey, unit, card.name, scene)
    check_dates(survey, layout.date_order or card.date_order, card.name)
    for other in same:
        against_plain(survey, other, card.name, layout.ignore)
        take_over(survey, other)


def _unit_of_sheet(scene: Scene, env: Environment, survey: SurveyAsWritten, same: list[SurveyAsWritten]) -> None:
    """Where the card says no unit, the one that the sheet's own words give these readings."""
    if survey.fields.get("unit"):
        return
    said = [u for other in same if (u := other.fields.get("unit")) and u.value]
    if not same:
        found = {unit: (cell, text) for cell, text, unit in unit_written_for_readings(survey, scene)}
        said = [Field(cell, text, unit, unit) for unit, (cell, text) in found.items()]
    if not said and env.workbook_unit:
        unit, sheet, text = env.workbook_unit
        said = [Field("", f"{text} (sheet {sheet})", unit, unit)]
    if len({f.value for f in said}) > 1:
        detail = f"two units are declared for the same readings: {said[0].written!r} and {said[1].written!r}"
        survey.problems.append(Problem("unit-mismatch", said[1].cell, "unit", said[1].written, detail))
    elif said:
        govern(survey, said[0])


def _share_no_reading(surveys: list[SurveyAsWritten]) -> None:
    """Two layouts that take the same face reading cannot both be right."""
    owner: dict[str, SurveyAsWritten] = {}
    for survey in surveys:
        for reading in survey.readings:
            if reading.kind != "face":
                continue
            other = owner.setdefault(reading.cell, survey)
            if other is not survey:
                detail = "two layouts of the card take the same readings; narrow the mark of one of them"
                for one in (other, survey):
                    one.problems.append(Problem("layout-ambiguous", reading.cell, "readings", "", detail))
                return


def _subsumed(plain: SurveyAsWritten, surveys: list[SurveyAsWritten], areas: list[Region], ignored) -> bool:
    """True for a survey of the plain reading that the card's surveys take the place of."""
    face = {r.cell for r in plain.readings if r.kind == "face"}
    if face:
        spots: set[Spot] = {spot_at(c) for c in face}
        return spots <= ignored or any(overlapping(s, [plain]) for s in surveys)
    top, left, bottom, right = corners(plain.place)
    return any(a.top <= bottom and top <= a.bottom and a.left <= right and left <= a.right for a in areas)
