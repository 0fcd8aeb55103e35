"""How `explain` shows what was understood of a file."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from auditor import account, codes

if TYPE_CHECKING:
    from auditor.reading import Look
    from auditor.sheets.model import Problem, Reading, SheetAccount, SurveyAsWritten

NEEDED = ("hood", "surveyed_on", "unit", "sash_height")


def certain(look: Look) -> bool:
    """Nothing in the file would be held for what its sheets show."""
    return (
        not look.code
        and not any(missing(s) or holds(s.problems) for a in look.accounts for s in a.surveys)
        and not any(holds(a.problems) for a in look.accounts)
    )


def holds(problems: list[Problem]) -> list[Problem]:
    return [p for p in problems if codes.find(p.code).severity == "hold"]


def missing(survey: SurveyAsWritten) -> list[str]:
    """The facts that a verdict needs and the sheet does not give with certainty."""
    lacks = [name for name in NEEDED if name != "unit" and _value(survey, name) is None]
    face = [r for r in survey.readings if r.kind == "face"]
    if not face:
        lacks.append("readings")
    elif any(r.unit is None and r.outcome != "blank" for r in face):
        lacks.append("unit")
    return lacks


def _value(survey: SurveyAsWritten, name: str) -> Any:
    found = survey.fields.get(name)
    return None if found is None else found.value


def document(look: Look) -> dict[str, Any]:
    """What `explain --json` prints."""
    return {
        "workbook": look.name, "format": look.format, "code": look.code, "reason": look.reason, "notes": look.notes,
        "sheets": [_sheet(account) for account in look.accounts],
    }  # fmt: skip


def _sheet(sheet: SheetAccount) -> dict[str, Any]:
    surveys = [
        {
            "place": s.place, "grid_rows": s.grid_rows, "grid_columns": s.grid_columns, "missing": missing(s),
            "fields": {name: _plain(asdict(f)) for name, f in s.fields.items()},
            "readings": [asdict(r) for r in s.readings], "problems": [asdict(p) for p in s.problems],
        }
        for s in sheet.surveys
    ]  # fmt: skip
    problems = [asdict(p) for p in sheet.problems]
    return {
        "sheet": sheet.sheet,
        "outcome": sheet.outcome,
        "reason": sheet.reason,
        "problems": problems,
        "surveys": surveys,
    }


def _plain(field: dict[str, Any]) -> dict[str, Any]:
    value = field["value"]
    return field | {"value": value.isoformat() if hasattr(value, "isoformat") else value}


def tell(look: Look) -> None:
    """The same on a terminal."""
    out = account.console()
    out.print(f"{account.plain(look.name)}{f' ({look.format})' if look.format else ''}", style="bold")
    if look.code:
        message, remedy = codes.compose(look.code, detail=look.reason)
        out.print(f"  {message}\n  Mend: {remedy}")
    for note in look.notes:
        out.print(f"  note: {account.plain(note, 300)}")
    for sheet in look.accounts:
        reason = f": {account.plain(sheet.reason, 200)}" if sheet.reason else ""
        out.print(f"\nSheet {account.plain(sheet.sheet)}: {sheet.outcome}{reason}", style="bold")
        _problems(out, sheet.problems)
        for survey in sheet.surveys:
            _survey(out, survey)


def _survey(out: Any, survey: SurveyAsWritten) -> None:
    out.print(f"  Survey at {survey.place}")
    for name, found in survey.fields.items():
        unit = f" {found.unit}" if found.unit else ""
        said = f"{account.plain(found.value)}{unit}  <- {found.cell} '{account.plain(found.written)}'"
        out.print(f"    {name.replace('_', ' ')}: {said}")
    _grid(out, [r for r in survey.readings if r.kind == "face"], survey)
    drafts = [r for r in survey.readings if r.kind == "cross-draft"]
    if drafts:
        said = ", ".join(f"{account.plain(r.written)} ({r.cell})" for r in drafts)
        out.print(f"    cross-drafts in {drafts[0].unit or 'no known unit'}: {said}")
    _problems(out, survey.problems)
    lacks = missing(survey)
    if lacks:
        out.print(f"    missing for certainty: {', '.join(w.replace('_', ' ') for w in lacks)}", style="yellow")


def _grid(out: Any, face: list[Reading], survey: SurveyAsWritten) -> None:
    if not face:
        return
    units = sorted({r.unit or "no known unit" for r in face})
    shape = f"{survey.grid_rows} x {survey.grid_columns}" if survey.grid_rows else "places not said"
    out.print(f"    face velocities in {', '.join(units)}, {shape}:")
    rows: dict[Any, list[Reading]] = {}
    for reading in face:
        rows.setdefault((reading.pass_number, reading.row), []).append(reading)
    for readings in rows.values():
        readings.sort(key=lambda r: r.column or 0)
        out.print("      " + "  ".join(f"{account.plain(r.written) or '(blank)'} ({r.cell})" for r in readings))


def _problems(out: Any, problems: list[Problem]) -> None:
    for p in problems:
        message, remedy = codes.compose(p.code, written=p.written, detail=p.detail, cell=p.cell)
        out.print(f"    {p.code} {p.cell}: {message}\n      Mend: {remedy}", style="yellow")
