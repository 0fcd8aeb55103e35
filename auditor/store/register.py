"""The dated register: a hood that moves, or changes in any other way, keeps its past row."""

from __future__ import annotations

import datetime as dt
from itertools import count

import pandas as pd
import sqlalchemy as sa
from sqlalchemy.engine import Connection

from auditor.store import bulk, contract, log
from auditor.store import tables as t
from auditor.store.batch import RegisterChange
from auditor.store.frames import columns_of, typed_frame

# From when the first row of a hood holds: older than any survey, and a day that every library can represent.
BEGINNING = "1900-01-01"
_DATED = {**contract.REGISTER, "valid_from": "date", "valid_to": "date"}


def load(connection: Connection, rows: pd.DataFrame, loaded_on: dt.date, by: str, at: str) -> RegisterChange:
    """Brings the register up to `rows` (contract columns; `hood_id` needed, a column that is absent changes nothing).

    A hood that is new holds from the beginning; a changed one from `loaded_on`, or from its own `valid_from` where
    `rows` has that column. Hoods that are not in `rows` stay as they are. Tags are the same hood whatever their case.
    """
    change = RegisterChange()
    current = _current(connection)
    given = {name: kind for name, kind in contract.REGISTER.items() if name in rows.columns}
    starts = columns_of(rows, {"valid_from": "date"})[0]
    load_no = log.head(connection)[0] + 1
    new_rows, closed = [], []
    row_no = count(bulk.numbers(connection, t.register_row, "row_no"))
    for start, values in zip(starts, zip(*columns_of(rows, given), strict=True), strict=True):
        new = dict(zip(given, values, strict=True))
        key = str(new["hood_id"]).casefold()
        old = current.get(key)
        if old is None:
            full = {**dict.fromkeys(contract.REGISTER), "in_service": True, **new}
            begins = start or BEGINNING
            change.added.append(full["hood_id"])
        else:
            full = {**{name: old[name] for name in contract.REGISTER}, **new, "hood_id": old["hood_id"]}
            if all(full[name] == old[name] for name in contract.REGISTER):
                change.unchanged.append(full["hood_id"])
                continue
            begins = max(start or loaded_on.isoformat(), old["valid_from"])
            closed.append((begins, old["row_no"]))
            change.changed.append(full["hood_id"])
        current[key] = {**full, "row_no": next(row_no), "valid_from": begins}
        new_rows.append((current[key]["row_no"], load_no, *full.values(), begins))
    names = ("row_no", "load_no", *contract.REGISTER, "valid_from")
    bulk.insert(connection, t.register_row, names, new_rows)
    bulk.update(connection, t.register_row, ("valid_to",), ("row_no",), closed)
    if new_rows:
        _log(connection, load_no, change, by, at)
    return change


def _current(connection: Connection) -> dict[str, dict]:
    r = t.register_row
    rows = connection.execute(sa.select(r).where(r.c.valid_to.is_(None))).mappings()
    return {row["hood_id"].casefold(): dict(row) for row in rows}


def _log(connection: Connection, load_no: int, change: RegisterChange, by: str, at: str) -> None:
    body = {
        "digest": log.register_digest(connection, load_no),
        "added": len(change.added),
        "changed": sorted(change.changed),
    }
    number = log.append(connection, [("register", "register", by, at, body)])
    assert number == load_no


def rows(connection: Connection, as_of: dt.date | None = None) -> pd.DataFrame:
    """The register's rows that hold now, or held on `as_of`; one per hood, by hood_id."""
    r = t.register_row.c
    holds: sa.ColumnElement[bool] = r.valid_to.is_(None)
    if as_of is not None:
        day = as_of.isoformat()
        holds = (r.valid_from <= day) & (holds | (r.valid_to > day))
    query = sa.select(*(r[name] for name in contract.REGISTER)).where(holds).order_by(r.hood_id, r.row_no)
    return typed_frame(connection.execute(query).all(), contract.REGISTER)


def history(connection: Connection) -> pd.DataFrame:
    """All dated rows, with valid_from and valid_to (exclusive, missing for the row that holds now). A row that was
    put right on the day it began holds on no day and is left out."""
    r = t.register_row.c
    query = (
        sa.select(*(r[name] for name in _DATED))
        .where(r.valid_to.is_(None) | (r.valid_to > r.valid_from))
        .order_by(r.hood_id, r.valid_from)
    )
    return typed_frame(connection.execute(query).all(), _DATED)


def load_beside(
    connection: Connection, table: sa.Table, kinds: dict[str, str], rows: pd.DataFrame, by: str, at: str
) -> int:
    """Adds instruments, events or aliases that are not there yet (every column counts); how many were new."""
    names = tuple(kinds)
    have = {tuple(row) for row in connection.execute(sa.select(*(table.c[name] for name in names)))}
    new = [row for row in dict.fromkeys(zip(*columns_of(rows, kinds), strict=True)) if row not in have]
    first = bulk.numbers(connection, table, "row_no")
    bulk.insert(connection, table, ("row_no", *names), ((first + i, *row) for i, row in enumerate(new)))
    if new:
        body = {"added": len(new), "first": first, "digest": log.beside_digest(connection, table, first, len(new))}
        log.append(connection, [(log.kind_of(table), "register", by, at, body)])
    return len(new)


def beside(connection: Connection, table: sa.Table, kinds: dict[str, str]) -> pd.DataFrame:
    """All rows of instruments, events or aliases, in the order in which they came."""
    query = sa.select(*(table.c[name] for name in kinds)).order_by(table.c.row_no)
    return typed_frame(connection.execute(query).all(), kinds)
