"""The version of the store's tables: made once, migrated step by step, refused when newer than this program."""

from __future__ import annotations

from collections.abc import Callable

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from auditor.store import views
from auditor.store.batch import StoreUnavailable
from auditor.store.engine import WRITE_LOCK
from auditor.store.frames import canonical, digest
from auditor.store.tables import SCHEMA_VERSION, card, metadata, schema_version

# MIGRATIONS[n] changes the tables of version n into those of version n + 1, inside one transaction with all others.
MIGRATIONS: dict[int, Callable[[Connection], None]] = {
    1: lambda connection: card.create(connection),  # layout cards by contractor
}


def prepare(engine: Engine, name: str, *, create: bool, read_only: bool) -> None:
    """Makes the tables where there are none, and migrates older ones. Raises StoreUnavailable where it must not."""
    with engine.connect() as connection, connection.begin():
        version, seen = _state(connection, name)
    if version is not None and version > SCHEMA_VERSION:
        raise StoreUnavailable(
            f"The store {name} was written by a newer version of this program (its tables are of version {version}, "
            f"this program knows {SCHEMA_VERSION}); update the program"
        )
    if version == SCHEMA_VERSION and (read_only or seen == _views_digest()):
        return
    if read_only or (version is None and not create):
        what = "holds no record yet" if version is None else f"has tables of the older version {version}"
        raise StoreUnavailable(f"The store {name} {what}, and it is not to be written to now; open it for writing once")
    with _patient(engine) as connection, connection.begin():
        if engine.dialect.name == "postgresql":
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(WRITE_LOCK)))
        _bring_up(connection, *_state(connection, name))


def _patient(engine: Engine) -> Connection:
    """A connection whose transaction sees what another program made while this one waited for the lock."""
    connection = engine.connect().execution_options(writing=True)
    if engine.dialect.name == "postgresql":
        connection = connection.execution_options(isolation_level="READ COMMITTED")
    return connection


def _state(connection: Connection, name: str) -> tuple[int | None, str | None]:
    """Version of the tables and digest of the views; None where there are none at all."""
    inspector = sa.inspect(connection)
    tables = set(inspector.get_table_names()) | set(inspector.get_view_names())
    if schema_version.name in tables:
        version = connection.execute(sa.select(schema_version.c.version)).scalar_one()
        if version != SCHEMA_VERSION:
            return version, None
        return version, connection.execute(sa.select(schema_version.c.views)).scalar_one()
    ours = set(metadata.tables) | set(views.definitions())
    strange = tables if connection.dialect.name == "sqlite" else tables & ours
    if strange:
        raise StoreUnavailable(f"{name} is a database, but not a store of this program; name another place")
    return None, None


def _views_digest() -> str:
    return digest(canonical(views.definitions()))


def _bring_up(connection: Connection, version: int | None, seen: str | None) -> None:
    """From `version` (None: no tables) to the present one, and the views to their present definitions."""
    wanted = {"version": SCHEMA_VERSION, "views": _views_digest()}
    if version == SCHEMA_VERSION and seen == wanted["views"]:  # another program was quicker
        return
    for view in reversed(views.definitions()):
        connection.exec_driver_sql(f"DROP VIEW IF EXISTS {view}")
    if version is None:
        metadata.create_all(connection)
        connection.execute(schema_version.insert().values(wanted))
    else:
        for step in range(version, SCHEMA_VERSION):
            MIGRATIONS[step](connection)
        connection.execute(schema_version.update().values(wanted))
    for view, select in views.definitions().items():
        connection.exec_driver_sql(f"CREATE VIEW {view} AS {select}")
