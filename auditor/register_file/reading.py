"""A register file to frames, row by row."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from auditor.register_file import headings as head
from auditor.register_file import values
from auditor.register_file.words import fold, unit_of, vocabulary
from auditor.workbook import Cell, Kind, Sheet, Unreadable, Workbook, a1, read_workbook

if TYPE_CHECKING:
    import pandas as pd


@dataclass(slots=True)
class Refused:
    """A row that did not go in. `cell` is the one at fault."""

    sheet: str
    cell: str
    reason: str
    remedy: str


@dataclass(slots=True)
class RegisterFile:
    """Frames with the columns that the file has (of hoods: the contract's, and `valid_from`), the rows refused, and
    notes about what was not used. A frame of a sheet that is absent is empty."""

    hoods: pd.DataFrame
    instruments: pd.DataFrame
    events: pd.DataFrame
    aliases: pd.DataFrame
    refused: list[Refused] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


Row = dict[str, Any]


@dataclass(slots=True)
class _Table:
    """A sheet with where its headings stand and its good rows, each with its number."""

    sheet: Sheet
    headings: head.Headings
    rows: list[tuple[int, Row]]


_TABLES = ("hoods", "instruments", "events", "aliases")


def read_register(data: bytes, name: str) -> RegisterFile:
    """Reads a register file. Raises ValueError, with one plain sentence, where it is not one at all."""
    try:
        workbook = read_workbook(data, name)
    except Unreadable as error:
        raise ValueError(f"{name}: {error.detail}") from None
    tables: dict[str, _Table] = {}
    notes: list[str] = []
    refused: list[Refused] = []
    for table, sheet in _sheets(workbook).items():
        found = head.find(sheet, table)
        if found is None:
            raise ValueError(f"{name}: {head.lacking(sheet, table)}")
        notes += [f"{sheet.name} {cell}: column '{values.short(text)}' is not used" for cell, text in found.unused]
        tables[table] = _Table(sheet, found, list(_good_rows(sheet, found, table, refused)))
    hoods = _unique(tables["hoods"], refused) if "hoods" in tables else []
    return RegisterFile(
        _frame(hoods, tables.get("hoods"), "hoods"),
        _frame(_instruments(tables.get("instruments")), tables.get("instruments"), "instruments"),
        _frame(_events(tables.get("events"), refused), tables.get("events"), "events"),
        _frame(_aliases(tables.get("aliases"), hoods, refused), None, "aliases"),
        refused,
        notes,
    )


def _sheets(workbook: Workbook) -> dict[str, Sheet]:
    """The sheet of each table: by its name, else (hoods alone) by its headings."""
    names = vocabulary()["sheets"]
    found: dict[str, Sheet] = {}
    for table in _TABLES:
        hits = [sheet for sheet in workbook.sheets if fold(sheet.name) in names[table] and sheet.cells]
        if len(hits) > 1:
            both = " and ".join(f"'{sheet.name}'" for sheet in hits[:2])
            raise ValueError(f"{workbook.name}: {both} are both sheets of {table}; remove or rename one")
        if hits:
            found[table] = hits[0]
    others = [s for s in workbook.sheets if s.cells and not any(s is taken for taken in found.values())]
    if "hoods" not in found:
        fitting = [sheet for sheet in others if head.find(sheet, "hoods")]
        if len(fitting) > 1:
            both = " and ".join(f"'{sheet.name}'" for sheet in fitting[:2])
            raise ValueError(f"{workbook.name}: {both} both look like a list of hoods; name the one 'hoods'")
        if fitting:
            found["hoods"] = fitting[0]
        elif not found:
            raise ValueError(f"{workbook.name}: {_no_hoods(others)}")
    return found


def _no_hoods(sheets: list[Sheet]) -> str:
    if not sheets:
        return "there is nothing in it"
    return f"{head.lacking(sheets[0], 'hoods')}; a register needs hood_id, building and room"


# --- rows ------------------------------------------------------------------------------------------------------------
def _good_rows(sheet: Sheet, found: head.Headings, table: str, refused: list[Refused]) -> Iterator[tuple[int, Row]]:
    """Rows that can be taken, typed; the others are added to `refused`."""
    for number, cells in _filled_rows(sheet, found):
        row: Row = dict.fromkeys(found.columns)
        try:
            for name, (column, scale) in found.columns.items():
                at = column
                if column in cells:
                    row[name] = values.read(name, cells[column], scale)
            for name in vocabulary()["needed"][table]:
                at = found.columns[name][0]
                if row[name] is None:
                    raise values.Wrong(f"the {name.replace('_', ' ')} is missing", "Fill it in.")
        except values.Wrong as wrong:
            refused.append(Refused(sheet.name, a1(number, at), wrong.reason, wrong.remedy))
            continue
        yield number, row


def _filled_rows(sheet: Sheet, found: head.Headings) -> Iterator[tuple[int, dict[int, Cell]]]:
    """Rows below the headings with anything in a column that is used; the headings said again are left out."""
    used = {column for column, _ in found.columns.values()}
    rows: dict[int, dict[int, Cell]] = {}
    for (row, column), cell in sheet.cells.items():
        if row > found.row and column in used and not (cell.kind == Kind.TEXT and not str(cell.value).strip()):
            rows.setdefault(row, {})[column] = cell
    title = {c: fold(str(sheet.cells[found.row, c].value)) for c in used}
    for number in sorted(rows):
        cells = rows[number]
        if all(fold(str(cell.value)) == title[column] for column, cell in cells.items()):
            continue
        yield number, cells


def _unique(table: _Table, refused: list[Refused]) -> list[Row]:
    """The first row of each hood; the others are refused, and say where the first stands."""
    column = table.headings.columns["hood_id"][0]
    seen: dict[str, int] = {}
    kept = []
    for number, row in table.rows:
        tag = str(row["hood_id"]).casefold()
        if tag in seen:
            reason = f"hood {values.short(row['hood_id'])} is already in row {seen[tag]}, which went in"
            remedy = "Keep the row that is right and remove the other."
            refused.append(Refused(table.sheet.name, a1(number, column), reason, remedy))
            continue
        seen[tag] = number
        kept.append(row)
    return kept


def _instruments(table: _Table | None) -> list[Row]:
    """Instruments with the figures that stand in the words of their accuracy."""
    rows = [row for _, row in table.rows] if table else []
    for row in rows:
        for name, value in values.accuracy(str(row.get("accuracy") or "")).items():
            if row.get(name) is None:
                row[name] = value
    return rows


def _events(table: _Table | None, refused: list[Refused]) -> list[Row]:
    """Events that say what they are about."""
    kept = []
    for number, row in table.rows if table else ():
        if any(row.get(name) for name in ("air_handler", "hood_id", "building", "room")):
            kept.append(row)
        elif table:
            at = a1(number, table.headings.columns["event"][0])
            reason = "the event names no air handler, hood, room or building"
            refused.append(Refused(table.sheet.name, at, reason, "Say what it concerns."))
    return kept


def _aliases(table: _Table | None, hoods: list[Row], refused: list[Refused]) -> list[Row]:
    """Aliases, of their own sheet and of the hoods', that mean one hood. One that is itself the tag of another hood, or
    means two, is refused."""
    sheet = table.sheet.name if table else "hoods"
    rows = [row for _, row in table.rows] if table else []
    for hood in hoods:
        said = [one.strip() for one in str(hood.get("alias") or "").split(";")]
        rows += [{"alias": one, "hood_id": hood["hood_id"]} for one in said if one]
    tags = {str(hood["hood_id"]).casefold() for hood in hoods}
    means: dict[str, set[str]] = {}
    for row in rows:
        means.setdefault(row["alias"].casefold(), set()).add(str(row["hood_id"]).casefold())
    kept = []
    for row in rows:
        alias = row["alias"].casefold()
        if means[alias] == {alias}:
            continue
        if alias in tags or len(means[alias]) > 1:
            what = "is the tag of another hood" if alias in tags else "stands for two hoods"
            reason = f"the alias '{values.short(row['alias'])}' {what}"
            refused.append(Refused(sheet, "", reason, "Leave it out, or settle which hood it means."))
        else:
            kept.append(row)
    return kept


# --- frames ----------------------------------------------------------------------------------------------------------
_FROM_WORDS = ("accuracy_percent", "accuracy_fpm", "accuracy_rule")


def _frame(rows: list[Row], table: _Table | None, kind: str) -> pd.DataFrame:
    """Rows as a frame of the columns that the file has, each of its type."""
    import pandas as pd

    columns = list(table.headings.columns) if table else vocabulary()["needed"][kind]
    if kind == "instruments":
        columns = list(dict.fromkeys([*columns, *_FROM_WORDS]))
    made = {}
    for name in columns:
        if name == "alias" and kind == "hoods":
            continue
        column = [row.get(name) for row in rows]
        if name in values.DATES:
            dtype = "datetime64[s]"
        elif name == "interval_months":
            dtype = "Int64"
        elif unit_of(name) is not None:
            dtype = "float64"
        else:
            dtype = "boolean" if name == "in_service" else "str"
        made[name] = pd.Series(column, dtype=dtype)
    return pd.DataFrame(made)
