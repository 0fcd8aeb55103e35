"""The version of the store's tables: made once, migrated step by step, refused when newer than this program."""

from __future__ import annotations

from collections.abc import Callable

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from auditor.store import views
from auditor.store.batch import StoreUnavailable
from auditor.store.engine import WRITE_LOCK
from auditor.store.tables import SCHEMA_VERSION, metadata, schema_version

# MIGRATIONS[n] changes the tables of version n into those of version n + 1, inside one transaction with all others.
MIGRATIONS: dict[int, Callable[[Connection], None]] = {}


def prepare(engine: Engine, name: str, *, create: bool, read_only: bool) -> None:
    """Makes the tables where there are none, and migrates older ones. Raises StoreUnavailable where it must not."""
    with engine.connect() as connection, connection.begin():
        version = _version(connection, name)
    if version == SCHEMA_VERSION:
        return
    if version is not None and version > SCHEMA_VERSION:
        raise StoreUnavailable(
            f"The store {name} was written by a newer version of this program (its tables are of version {version}, "
            f"this program knows {SCHEMA_VERSION}); update the program"
        )
    if read_only or (version is None and not create):
        what = "holds no record yet" if version is None else f"has tables of the older version {version}"
        raise StoreUnavailable(f"The store {name} {what}, and it is not to be written to now; open it for writing once")
    with _patient(engine) as connection, connection.begin():
        if engine.dialect.name == "postgresql":
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(WRITE_LOCK)))
        _bring_up(connection, _version(connection, name))


def _patient(engine: Engine) -> Connection:
    """A connection whose transaction sees what another program made while this one waited for the lock."""
    connection = engine.connect().execution_options(writing=True)
    if engine.dialect.name == "postgresql":
        connection = connection.execution_options(isolation_level="READ COMMITTED")
    return connection


def _version(connection: Connection, name: str) -> int | None:
    """The version of the tables; None where there are none at all."""
    inspector = sa.inspect(connection)
    tables = set(inspector.get_table_names()) | set(inspector.get_view_names())
    if schema_version.name in tables:
        return connection.execute(sa.select(schema_version.c.version)).scalar_one()
    ours = set(metadata.tables) | set(views.definitions())
    strange = tables if connection.dialect.name == "sqlite" else tables & ours
    if strange:
        raise StoreUnavailable(f"{name} is a database, but not a store of this program; name another place")
    return None


def _bring_up(connection: Connection, version: int | None) -> None:
    """From `version` (None: no tables) to the present one, views included."""
    if version == SCHEMA_VERSION:  # another program was quicker
        return
    for view in reversed(views.definitions()):
        connection.exec_driver_sql(f"DROP VIEW IF EXISTS {view}")
    if version is None:
        metadata.create_all(connection)
        connection.execute(schema_version.insert().values(version=SCHEMA_VERSION))
    else:
        for step in range(version, SCHEMA_VERSION):
            MIGRATIONS[step](connection)
        connection.execute(schema_version.update().values(version=SCHEMA_VERSION))
    for view, select in views.definitions().items():
        connection.exec_driver_sql(f"CREATE VIEW {view} AS {select}")
