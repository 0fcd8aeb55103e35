"""What a sheet says by itself against a survey that was read through a card: each contradiction holds it."""

from __future__ import annotations

from collections.abc import Iterable

from auditor.sheets.cards.written import spot_at
from auditor.sheets.model import Field, Problem, Reading, SurveyAsWritten
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.text import fold
from auditor.workbook.cells import a1

COMPARED = ("hood", "surveyed_on", "sash_height", "opening_width", "opening_height", "calibrated_on", "calibration_due")
KEPT = ("unit-mismatch", "reported-mean-differs", "reported-mean-unreadable")  # what the card has no say in
NEEDED = ("hood", "surveyed_on", "sash_height", "unit")


def overlapping(survey: SurveyAsWritten, plain: Iterable[SurveyAsWritten]) -> list[SurveyAsWritten]:
    """The surveys that the sheet's own words gave from some of the same face readings."""
    mine = {r.cell for r in survey.readings if r.kind == "face"}
    return [p for p in plain if mine & {r.cell for r in p.readings if r.kind == "face"}]


def against_plain(survey: SurveyAsWritten, plain: SurveyAsWritten, card: str, ignored: frozenset[Spot]) -> None:
    """Adds a problem for everything that the sheet's own words say with certainty and the card otherwise."""
    have = {(p.code, p.cell) for p in survey.problems}
    for problem in plain.problems:
        own = problem.code in KEPT or (problem.code == "layout-ambiguous" and problem.field in NEEDED)
        if own and (problem.code, problem.cell) not in have:
            survey.problems.append(problem)
    check_facts(survey, plain, card)
    _unit(survey, plain, card)
    if not doubtful(plain):
        _places(survey, plain, card, ignored)


def take_over(survey: SurveyAsWritten, plain: SurveyAsWritten) -> None:
    """What the sheet's own words say and the card did not find belongs to the survey all the same: a card must not hide
    that the smoke escaped, or that the calibration had run out."""
    for name, value in plain.fields.items():
        if name in survey.fields or name == "unit":
            continue
        survey.fields[name] = value
        survey.problems += [p for p in plain.problems if p.field == name and p not in survey.problems]
    if not any(r.kind == "cross-draft" for r in survey.readings):
        survey.readings += [r for r in plain.readings if r.kind == "cross-draft"]


def check_facts(survey: SurveyAsWritten, plain: SurveyAsWritten, card: str) -> None:
    """Adds a problem for each fact that the sheet's own words give with certainty and the card otherwise."""
    for name in COMPARED:
        mine, theirs = survey.fields.get(name), plain.fields.get(name)
        if mine and theirs and mine.value is not None and theirs.value is not None and _differ(mine, theirs):
            detail = (
                f"by the sheet's own words it is {theirs.written!r} in {theirs.cell or 'the sheet name'}, and {card} "
                f"takes it from {mine.cell or 'the sheet name'}: {mine.written!r}"
            )
            survey.problems.append(Problem("layout-ambiguous", mine.cell or theirs.cell, name, mine.written, detail))


def doubtful(plain: SurveyAsWritten) -> bool:
    """True where the sheet's own words leave open which cells are readings, or where they lie: a card may say it."""
    return any(p.code == "layout-ambiguous" and p.field == "readings" for p in plain.problems)


def _differ(mine: Field, theirs: Field) -> bool:
    if isinstance(mine.value, str) and isinstance(theirs.value, str):
        return fold(mine.value) != fold(theirs.value)
    return mine.value != theirs.value or (mine.unit or theirs.unit) != (theirs.unit or mine.unit)


def _unit(survey: SurveyAsWritten, plain: SurveyAsWritten, card: str) -> None:
    mine, theirs = survey.fields.get("unit"), plain.fields.get("unit")
    if mine and theirs and mine.value and theirs.value and mine.value != theirs.value:
        detail = f"the sheet says {theirs.value} ({theirs.written!r}), and {card} says {mine.value}"
        if not any(p.code == "unit-mismatch" for p in survey.problems):
            survey.problems.append(Problem("unit-mismatch", theirs.cell, "unit", theirs.written, detail))


def _places(survey: SurveyAsWritten, plain: SurveyAsWritten, card: str, ignored: frozenset[Spot]) -> None:
    """Readings that the card leaves out, takes for something else, or lays elsewhere than their labels do."""
    mine = {r.cell: r for r in survey.readings}
    left_out = [
        r for r in plain.readings if r.cell not in mine and r.outcome != "blank" and spot_at(r.cell) not in ignored
    ]
    if left_out:
        detail = f"{card} leaves out what the sheet's own words take for readings: {_cells(left_out)}"
        survey.problems.append(Problem("layout-ambiguous", left_out[0].cell, "readings", left_out[0].written, detail))
    for theirs in plain.readings:
        other = mine.get(theirs.cell)
        if other is None:
            continue
        if said := _said_otherwise(other, theirs):
            detail = f"{said}, and {card} says otherwise"
            survey.problems.append(Problem("layout-ambiguous", theirs.cell, "readings", theirs.written, detail))
            return
        other.position, other.direction = theirs.position, theirs.direction


def _cells(readings: list[Reading]) -> str:
    return ", ".join(r.cell for r in readings[:6]) + (" ..." if len(readings) > 6 else "")


def _said_otherwise(mine: Reading, theirs: Reading) -> str:
    if mine.kind != theirs.kind:
        return f"by the sheet's own words {theirs.cell} is a {theirs.kind} reading"
    if mine.kind != "face":
        return ""
    if theirs.row and mine.row and (mine.row, mine.column) != (theirs.row, theirs.column):
        return f"by its labels {theirs.cell} lies in row {theirs.row}, column {theirs.column} of the opening"
    if mine.pass_number != theirs.pass_number and theirs.position and "pass" in fold(theirs.position):
        return f"by its labels {theirs.cell} belongs to pass {theirs.pass_number}"
    return ""


def left_beside(scene: Scene, grid: Iterable[Spot], claimed: set[Spot]) -> Problem | None:
    """Numbers that stand right beside a grid in line with it, though neither the card nor a label says what they are:
    the grid may be larger than the card has it."""
    spots = set(grid)
    top, left = min(r for r, _ in spots), min(c for _, c in spots)
    bottom, right = max(r for r, _ in spots), max(c for _, c in spots)
    rows, columns = range(top, bottom + 1), range(left, right + 1)
    lines = [
        ([(top - 1, c) for c in columns], [(top - 1, left - 1)], True),
        ([(bottom + 1, c) for c in columns], [(bottom + 1, c) for c in range(max(1, left - 3), left)], False),
        ([(r, left - 1) for r in rows], [(top - 1, left - 1)], True),
        ([(r, right + 1) for r in rows], [(r, right + 1) for r in range(max(1, top - 3), top)], False),
    ]
    for line, labels, may_count in lines:
        free = [s for s in line if s in scene.numbers and s not in claimed and s not in spots]
        if not free or any(_explains(scene, s) for s in labels) or (may_count and _counts(scene, line)):
            continue
        cells = ", ".join(a1(*s) for s in free[:6])
        detail = f"numbers stand right beside the grid that the card has ({cells}): it may be larger than that"
        return Problem("layout-ambiguous", a1(*free[0]), "readings", scene.text(free[0]), detail)
    return None


def _explains(scene: Scene, spot: Spot) -> bool:
    meaning = scene.meaning(spot)
    return bool(
        meaning.derived or meaning.flip or meaning.section == "cross" or (meaning.field and not meaning.section)
    )


def _counts(scene: Scene, line: list[Spot]) -> bool:
    """1, 2, 3 ... (or the same from its end) are the numbers of the lines, not readings."""
    values = [scene.numbers[s].value for s in line if s in scene.numbers]
    whole = [int(v) for v in values if v is not None and v == int(v)]
    wanted = list(range(1, len(line) + 1))
    return len(values) == len(line) == len(whole) and whole in (wanted, wanted[::-1])
