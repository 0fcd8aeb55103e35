"""What a title says of all hoods at once: 'All hoods tested on 12 May 2026, sash at 18 in', on a sheet or a cover.

It fills what every survey of a sheet lacks, and nothing else: where one survey has a date (or a sash) of its own, where
a label of it stands on the sheet, or where two statements differ, nothing is taken from here."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from auditor.sheets.context import Environment
from auditor.sheets.dates import DateOrder, parse_date_cell
from auditor.sheets.fields import Pair, pair_fields
from auditor.sheets.forms import field_of
from auditor.sheets.labels import analyse
from auditor.sheets.lengths import Length, parse_length
from auditor.sheets.model import Field, Problem, SheetAccount, SurveyAsWritten
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.sheet_kinds import corners, holds_readings, kind_of_sheet
from auditor.sheets.text import clauses_of, fold
from auditor.sheets.units import length_unit
from auditor.workbook.cells import Cell, Kind, a1

NAMES = ("surveyed_on", "sash_height")
SPEAKS = (None, "cover", "notes", "summary")  # kinds of sheets whose statements hold for the workbook


@dataclass(frozen=True, slots=True)
class Statement:
    """One fact told of all hoods, and where; `problem` where it is told unclearly (the field's value is then None)."""

    name: str
    field: Field
    spot: Spot
    problem: Problem | None = None

    @property
    def key(self) -> tuple:
        return self.field.value, self.field.unit


_NOT_OF_THIS = re.compile(
    r"\b(?:last|previous|prior|next|not|never|no longer|except|unless|if|should|will|must|shall|due|planned|before|"
    r"after|repeat|re-?test\w*|calibrat\w*|instrument|meter|anemometer|limit|criteri\w+|design|max(?:imum)?|"
    r"(?<!/)(?<!per )min(?:imum)?|alarm\w*|stop\w*|only|some|most|other|example|sample|closed|full\w*|above|below|"
    r"between|or|to be)\b"
)
_PAPERS = re.compile(r"\b(?:report\w*|issue\w*|print\w*|revis\w*|prepared|approved|received|quoted?)\b")
_LENGTHS = re.compile(
    r"\d[\d.,/ ]*(?:\"|''|'|-?(?:in|ins|inch|inches|ft|feet|foot|mm|cm|m)\b)(?:[ -]*\d+ ?(?:\"|in\b))?"
)
_YEARS = re.compile(r"\b20\d\d\b")
_SASH = re.compile(
    r"(?:at |with |for )?(?:a |the |all )?sash(?:es)?(?: heights?| openings?| positions?| settings?)?"
    r"(?: (?:is|are|was|were|set|open|opened|fixed|held|at|to|of|during|test|tests|for|all|hoods))*[ :=]*"
    r"(\d\S*(?: .*)?)"
)
_SASH_LAST = re.compile(r"(?:at |with |for )?(?:a |an |the )?(\d.*?)[ -]*sash(?: height| opening| position| setting)?")
_DATED = re.compile(
    r"(?:.*\b)?(?:tested|surveyed|inspected|measured|visited|survey|test|tests|testing|inspection|visit|measurements)"
    r"(?: (?:on|of|date|dated|was|were|made|done|all|hoods|carried out))*[ :=]*(\S.*)"
)
_IN_UNIT = re.compile(
    r"(?:all )?(?:sash(?:es)?(?: heights?| openings?| positions?)?|lengths|dimensions|heights)"
    r"(?: (?:is|are|measured|given))* in (\S+)"
)


@lru_cache(maxsize=16384)
def sash_stated(text: str) -> Length | None:
    """The sash height that a clause of a text states, with its unit; None where none does, or two differ."""
    if _NOT_OF_THIS.search(text) or len(_LENGTHS.findall(text)) != 1:
        return None
    found = set()
    for clause in clauses_of(text):
        match = _SASH.fullmatch(clause) or _SASH_LAST.fullmatch(clause)
        length = parse_length(match.group(1).strip()) if match else None
        if length and length.unit:
            found.add(length)
    return found.pop() if len(found) == 1 else None


@lru_cache(maxsize=16384)
def date_stated(text: str) -> str:
    """The words of the one date of testing that a text states in a clause of its own, else ''."""
    if _NOT_OF_THIS.search(text) or len(_YEARS.findall(text)) > 1:
        return ""
    found = set()
    for clause in clauses_of(text):
        match = None if _PAPERS.search(clause) else _DATED.fullmatch(clause)
        if match and re.search(r"\d", match.group(1)):
            found.add(match.group(1).strip(" .:"))
    return found.pop() if len(found) == 1 else ""


def unit_of_lengths_stated(text: str) -> str | None:
    """The unit of length that 'sash heights in inches' gives to bare numbers."""
    found = {u for c in clauses_of(text) if (m := _IN_UNIT.fullmatch(c)) and (u := length_unit(m.group(1)))}
    return found.pop() if len(found) == 1 else None


def state_for_all(scenes: list[Scene], accounts: list[SheetAccount], env: Environment) -> None:
    """Fill, sheet by sheet, what all its surveys lack and a statement over them gives, else one on a cover."""
    pages = list(zip(scenes, accounts, strict=True))
    for name in NAMES:
        covers = [(s, t) for s, a in pages if _speaks_for_all(s, a) for t in _of_cover(s, name, env)]
        own = any(name in survey.fields for _, a in pages for survey in a.surveys)
        for scene, account in pages:
            surveys = [s for s in account.surveys if s.readings]
            if not surveys or any(name in s.fields for s in surveys):
                continue
            told = _over_readings(scene, surveys, name, env)
            here = told.spot if told else None
            if told is None and not own:
                told = _of_workbook(covers)
            if told and not _has_label(scene, name, here) and not _names_other_year(scene, told, here):
                _give(surveys, told)
    for scene, account in pages:
        _give_unit_of_lengths(scene, account)


def _of_workbook(covers: list[tuple[Scene, Statement]]) -> Statement | None:
    told = _one([t for _, t in covers])
    if told is None:
        return None
    written = f"{told.field.written} (sheet {covers[0][0].sheet.name})"
    problem = told.problem and Problem(told.problem.code, "", told.name, written, told.problem.detail)
    return Statement(told.name, Field("", written, told.field.value, told.field.unit), told.spot, problem)


def _names_other_year(scene: Scene, told: Statement, here: Spot | None) -> bool:
    """True where a text names another year than the date stated: some of what was read may be of that year."""
    year = getattr(told.field.value, "year", None)
    return bool(year) and any(m.year not in (None, year) for s, m in scene.meanings.items() if s != here)


def _speaks_for_all(scene: Scene, account: SheetAccount) -> bool:
    """True for a page that is no survey and speaks of no single hood."""
    if account.outcome != "set aside" or not scene.filled or scene.sheet.hidden or holds_readings(scene):
        return False
    fields = {p.name for p in pair_fields(scene, scene.extent)}
    return kind_of_sheet(scene) in SPEAKS and "hood" not in fields


def _of_cover(scene: Scene, name: str, env: Environment) -> Iterator[Statement]:
    """What a cover says: in a sentence, or as the value of a label that speaks of the test ('Survey date')."""
    yield from _told(scene, name, env)
    for pair in pair_fields(scene, scene.extent):
        of_test = name != "surveyed_on" or re.search(r"survey|test|inspect|visit|measure", pair.meaning.folded)
        if pair.name == name and of_test and not _NOT_OF_THIS.search(pair.meaning.folded) and _ends_there(scene, pair):
            field, problems = field_of(scene, pair, env)
            if field.value is not None or problems:
                yield Statement(name, field, pair.label, next(iter(problems), None))


_ON = re.compile(r"\d|^(?:-|to|till|until|thru|through|and|&|\+|or)\b")


def _ends_there(scene: Scene, pair: Pair) -> bool:
    """False where more follows the value in its row: 'Survey date | 4 May 2026 | to | 8 May 2026' is no one day."""
    after = list(scene.right_of(pair.at, pair.at[1] + 4)) if pair.text is None else []
    return not any(scene.cells[s].kind != Kind.TEXT or _ON.search(fold(scene.text(s))) for s in after)


def _told(scene: Scene, name: str, env: Environment) -> Iterator[Statement]:
    for spot in scene.meanings:
        if spot in scene.numbers or scene.is_hidden(spot):
            continue
        statement = _stated(scene, spot, name, env.order)
        if statement:
            yield statement


def _stated(scene: Scene, spot: Spot, name: str, order: DateOrder) -> Statement | None:
    text = scene.text(spot)
    if len(text) > 160 or scene.meaning(spot).flip in ("previous", "limit", "design", "example"):
        return None
    if name == "sash_height":
        length = sash_stated(fold(text))
        return Statement(name, Field(a1(*spot), text, *length), spot) if length else None
    words = date_stated(fold(text))
    if not words:
        return None
    parsed = parse_date_cell(Cell(*spot, Kind.TEXT, words), order)
    field = Field(a1(*spot), text, parsed.value)
    if parsed.ambiguous:
        detail = f"day and month of {words!r} can be swapped, and nothing in the workbook settles it"
        return Statement(name, field, spot, Problem("date-ambiguous", a1(*spot), name, text, detail))
    return Statement(name, field, spot) if parsed.value else None


def _over_readings(scene: Scene, surveys: list[SurveyAsWritten], name: str, env: Environment) -> Statement | None:
    """The one statement over the first reading of a sheet; of several surveys, one that stands in none of them."""
    first = min(corners(r.cell)[0] for s in surveys for r in s.readings)
    places = [corners(s.place) for s in surveys] if len(surveys) > 1 else []
    found = [
        t
        for t in _told(scene, name, env)
        if t.spot[0] < first
        and not any(top <= t.spot[0] <= bottom and left <= t.spot[1] <= right for top, left, bottom, right in places)
        and not (places and env.context.hood_in(t.field.written))
    ]
    return _one(found)


def _one(found: list[Statement]) -> Statement | None:
    return found[0] if len({t.key for t in found}) == 1 else None


def _has_label(scene: Scene, name: str, told: Spot | None) -> bool:
    """True where a label of the thing itself stands on the sheet: left empty, it says that nobody wrote it down."""
    return any(
        spot != told and (m.field == name or any(analyse(label).field == name for label, _ in m.pairs))
        for spot, m in scene.meanings.items()
    )


def _give(surveys: list[SurveyAsWritten], told: Statement) -> None:
    for survey in surveys:
        field = told.field
        survey.fields[told.name] = Field(field.cell, field.written, field.value, field.unit, field.hidden)
        if told.problem:
            survey.problems.append(told.problem)


def _give_unit_of_lengths(scene: Scene, account: SheetAccount) -> None:
    """Sash heights written as bare numbers get the unit that a note over them states."""
    bare = [f for s in account.surveys if (f := s.fields.get("sash_height")) and f.value is not None and not f.unit]
    if not bare:
        return
    units = {u for spot in scene.meanings if (u := unit_of_lengths_stated(fold(scene.text(spot))))}
    if len(units) == 1:
        unit = units.pop()
        for field in bare:
            field.unit = unit
