"""Many rows at once: `executemany` of the driver on SQLite, COPY on PostgreSQL (several times faster than inserts)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice

import sqlalchemy as sa
from sqlalchemy.engine import Connection

_CHUNK = 10_000  # parameters in one statement; both servers take 32,766


def insert(connection: Connection, table: sa.Table, names: Sequence[str], rows: Iterable[Sequence]) -> None:
    """Adds `rows` (values in the order of `names`) inside the connection's transaction."""
    listed = ", ".join(f'"{name}"' for name in names)
    driver = connection.connection.driver_connection
    assert driver is not None
    if connection.dialect.name == "sqlite":
        marks = ", ".join("?" * len(names))
        driver.executemany(f"INSERT INTO {table.name} ({listed}) VALUES ({marks})", rows)
        return
    with driver.cursor() as cursor, cursor.copy(f"COPY {table.name} ({listed}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row(row)


def update(
    connection: Connection, table: sa.Table, set_names: Sequence[str], keys: Sequence[str], rows: Iterable
) -> None:
    """Sets columns by key; each row holds the new values and then the key's."""
    mark = "?" if connection.dialect.name == "sqlite" else "%s"
    sets = ", ".join(f'"{name}" = {mark}' for name in set_names)
    where = " AND ".join(f'"{name}" = {mark}' for name in keys)
    driver = connection.connection.driver_connection
    assert driver is not None
    driver.cursor().executemany(f"UPDATE {table.name} SET {sets} WHERE {where}", list(rows))


def chunks(values: Iterable, size: int = _CHUNK) -> Iterator[list]:
    """`values` in lists short enough for the parameters of one statement."""
    rest = iter(values)
    while part := list(islice(rest, size)):
        yield part


def numbers(connection: Connection, table: sa.Table, column: str) -> int:
    """The first number that is free in `table`; only inside a writing transaction."""
    highest = connection.execute(sa.select(sa.func.max(table.c[column]))).scalar()
    return (highest or 0) + 1
