"""The title over a table: 'Cross-drafts (fpm)' makes its columns cross-drafts, 'Previous survey' no readings at all."""

from __future__ import annotations

from auditor.sheets.model import Problem, SurveyAsWritten
from auditor.sheets.scene import Scene, Spot
from auditor.sheets.table_header import Header
from auditor.sheets.table_rows import Row, Survey, cross_of_rows
from auditor.workbook.cells import a1

TURNED = ("previous", "design", "percent", "deviation")  # what a title may say that its figures are instead
LOOK_UP = 4  # rows over a header in which its title may stand


def title_over(scene: Scene, header: Header, floor: int) -> Spot | None:
    """The nearest text over a header, below row `floor`, that says what a table holds; None where none does."""
    for row in range(header.top - 1, max(floor, header.top - 1 - LOOK_UP), -1):
        columns = scene.filled.get(row, ())
        if not columns or any((row, c) in scene.numbers for c in columns):
            continue
        spot = (row, columns[0])
        meaning = scene.meanings.get(spot)
        if meaning is None or spot in scene.numbers or (meaning.field not in (None, "other") and not meaning.section):
            continue
        if meaning.section in ("face", "cross") or (meaning.flip in TURNED and len(columns) == 1):
            return spot
    return None


def apply_title(scene: Scene, header: Header, floor: int) -> None:
    """Notes the title of a table; under a title of cross-drafts the columns of places hold cross-drafts."""
    spot = title_over(scene, header, floor)
    if spot is None:
        return
    meaning = scene.meaning(spot)
    if meaning.flip in TURNED:
        header.turned = spot
    elif (
        meaning.section == "cross"
        and header.of("face")
        and not any(m.section == "face" for c in header.columns for m in c.meanings)
    ):
        header.cross_title = spot
        for column in header.columns:
            if column.role in ("face", "value") or (column.role == "derived" and column.name.startswith("reported_m")):
                column.name = {"reported_mean": "mean", "reported_max": "max", "reported_min": "min"}.get(
                    column.name, column.name
                )
                column.role = "cross"


def turned_away(scene: Scene, header: Header, surveys: list[SurveyAsWritten]) -> None:
    """Holds what stands under a title such as 'Previous survey': it may be read, but not as this survey's readings."""
    if header.turned is None:
        return
    written = scene.text(header.turned)
    detail = f"the table's title {written!r} says that its figures are no readings of this survey"
    for survey in surveys:
        survey.problems.append(Problem("layout-ambiguous", a1(*header.turned), "readings", written, detail))


def join_cross(scene: Scene, header: Header, rows: list[Row], surveys: list[SurveyAsWritten]) -> list[Problem]:
    """Gives the rows of a table of cross-drafts to the surveys of the same hoods on the sheet; a problem where that
    leaves a row without its one survey."""
    title = header.cross_title or (header.top, 1)
    unit = scene.meaning(title).unit
    for row in rows:
        if row.kind != "data":
            continue
        tag = _bare(scene.text(row.hood)) if row.hood else ""
        same = [s for s in surveys if tag and "hood" in s.fields and _bare(s.fields["hood"].written) == tag]
        known = any(r.kind == "cross-draft" for s in same for r in s.readings)
        if len(same) != 1 or known or header.of("field", "surveyed_on") or header.of("field", "sash_height"):
            detail = "a table of cross-drafts whose rows cannot be given to one survey of face velocities each"
            return [Problem("layout-ambiguous", a1(*(row.hood or title)), "readings", scene.text(title), detail)]
        own = unit.name if unit and unit.dimension == "velocity" else _unit_of(same[0])
        same[0].readings += cross_of_rows(scene, header, Survey([row]), header.columns, own)
    return []


def _bare(text: str) -> str:
    return "".join(text.split()).casefold()


def _unit_of(survey: SurveyAsWritten) -> str | None:
    found = survey.fields.get("unit")
    return str(found.value) if found and found.value else None
