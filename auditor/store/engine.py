"""Where the store is, how it is opened, and what to say when it cannot be.

SQLite: write-ahead log, full synchronisation (a pulled plug loses nothing that was reported done), foreign keys, one
writer at a time from the first statement on. PostgreSQL: one writer at a time by an advisory lock, so that the log's
chain has one end.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from urllib.parse import quote

import sqlalchemy as sa
from sqlalchemy.engine import URL, Connection, Engine, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from auditor.store.batch import StoreUnavailable

_READERS = 30  # connections beyond the usual five, for a dashboard with many readers
DEFAULT_FILE = "hood-surveys.db"
WRITE_LOCK = 0x686F6F64  # any number, the same for every program that writes to the record

_SQLITE_REASONS = (
    ("database is locked", "another program is writing to it; try again when that has finished"),
    ("disk is full", "the disk is full; free some space and run it again: nothing half done was kept"),
    ("readonly database", "it cannot be written to (read-only file or folder); check its permissions"),
    ("unable to open", "it cannot be opened; check that the folder exists and that you may read and write there"),
    ("not a database", "the file is not a store of this program"),
    ("malformed", "the file is damaged; bring back the last backup"),
    ("disk i/o error", "the disk did not take or give the data; check the disk and its free space"),
)
_POSTGRES_STATES = {
    "53100": "the server's disk is full; nothing half done was kept",
    "55P03": "another program is writing to it; try again when that has finished",
    "25006": "it is read-only",
    "42501": "this user may not do that there; ask for the rights",
}


def resolve(url: str | None) -> URL:
    """The SQLAlchemy URL that `url` (a path, a URL, or None for the environment and the default) stands for."""
    text = (url or os.environ.get("HOODAUDIT_STORE") or DEFAULT_FILE).strip()
    if "://" not in text:
        return URL.create("sqlite", database=text.removeprefix("sqlite:"))
    try:
        parsed = make_url(text)
    except (ArgumentError, ValueError):
        raise StoreUnavailable("The store's address is not understood; give a path or postgresql://…") from None
    if parsed.drivername in ("postgres", "postgresql"):
        return parsed.set(drivername="postgresql+psycopg")
    if parsed.get_backend_name() not in ("sqlite", "postgresql"):
        raise StoreUnavailable(
            f"The store cannot be kept in '{parsed.get_backend_name()}'; give a path, or a postgresql:// address"
        )
    return parsed


def shown(url: URL) -> str:
    """How a message names the store; never with its password."""
    if url.get_backend_name() == "sqlite":
        return url.database or "(memory)"
    return url.set(query={}).render_as_string(hide_password=True)


def make_engine(url: URL, *, create: bool, read_only: bool, busy_seconds: float) -> Engine:
    """An engine for `url`. Nothing is opened yet, but a missing SQLite file without `create` is refused."""
    try:
        if url.get_backend_name() == "sqlite":
            return _sqlite_engine(url, create, read_only, busy_seconds)
        return _postgres_engine(url, read_only, busy_seconds)
    except (ModuleNotFoundError, NoSuchModuleError) as error:
        raise StoreUnavailable(
            f"The store {shown(url)} needs a driver that is not installed ({error}); "
            "install this program with its extra 'postgresql'"
        ) from None


def _sqlite_engine(url: URL, create: bool, read_only: bool, busy_seconds: float) -> Engine:
    path = url.database
    if not path or path == ":memory:":
        engine = sa.create_engine("sqlite://", poolclass=sa.StaticPool, connect_args={"check_same_thread": False})
    else:
        if not (create and not read_only) and not Path(path).exists():
            raise StoreUnavailable(f"There is no store at {path}; record some workbooks first, or name another store")
        engine = sa.create_engine(
            "sqlite://",
            creator=_sqlite_opener(path, read_only, busy_seconds),
            poolclass=sa.QueuePool,
            max_overflow=_READERS,
        )
    sa.event.listen(engine, "connect", _sqlite_connected)
    sa.event.listen(engine, "begin", _sqlite_begin)
    return engine


def _sqlite_opener(path: str, read_only: bool, busy_seconds: float):
    def connect(flags: str) -> sqlite3.Connection:
        name = f"file:{quote(os.path.abspath(path))}?{flags}"
        return sqlite3.connect(name, uri=True, timeout=busy_seconds, check_same_thread=False)

    def opened() -> sqlite3.Connection:
        if not read_only:
            return connect("mode=rwc")
        connection = connect("mode=ro")
        try:
            connection.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()
        except sqlite3.OperationalError:
            # In a folder that may not be written to, a closed store can still be read as it lies there.
            connection.close()
            if Path(path + "-wal").exists():
                raise
            connection = connect("mode=ro&immutable=1")
        return connection

    return opened


def _sqlite_connected(connection: sqlite3.Connection, _record) -> None:
    connection.isolation_level = None  # transactions are begun by `_sqlite_begin` alone
    cursor = connection.cursor()
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.execute("PRAGMA synchronous = FULL")
    with suppress(sqlite3.OperationalError):  # a store opened read-only, or another process is just doing it
        if cursor.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            cursor.execute("PRAGMA journal_mode = WAL")
    cursor.close()


def _sqlite_begin(connection: Connection) -> None:
    writing = connection.get_execution_options().get("writing")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def _postgres_engine(url: URL, read_only: bool, busy_seconds: float) -> Engine:
    settings = f"-c lock_timeout={int(busy_seconds * 1000)}"
    if read_only:
        settings += " -c default_transaction_read_only=on"
    return sa.create_engine(
        url,
        isolation_level="REPEATABLE READ",
        pool_pre_ping=True,
        max_overflow=_READERS,
        connect_args={"connect_timeout": 10, "options": settings},
    )


@contextmanager
def begun(engine: Engine, *, writing: bool) -> Iterator[Connection]:
    """A transaction: committed at the end, rolled back when anything fails. A writing one waits for its turn."""
    with engine.connect().execution_options(writing=writing) as connection, connection.begin():
        if writing and engine.dialect.name == "postgresql":
            # The snapshot is taken after the lock: LOCK TABLE takes none, a SELECT would.
            connection.exec_driver_sql("LOCK TABLE schema_version IN SHARE ROW EXCLUSIVE MODE")
        yield connection


@contextmanager
def explained(url: URL) -> Iterator[None]:
    """Turns what a driver raises about an unusable store into one line."""
    try:
        yield
    except DBAPIError as error:
        reason = _reason(error.orig if error.orig is not None else error)
        if reason is None:
            raise
        raise StoreUnavailable(f"The store {shown(url)} could not be used: {reason}") from error
    except Exception as error:
        reason = _reason(error)
        if reason is None:
            raise
        raise StoreUnavailable(f"The store {shown(url)} could not be used: {reason}") from error


def _reason(error: BaseException) -> str | None:
    """Why the store is unusable, or None where `error` is about something else."""
    if isinstance(error, sqlite3.IntegrityError | sqlite3.ProgrammingError):
        return None
    text = " ".join(str(error).split())
    if isinstance(error, sqlite3.DatabaseError):
        for sign, reason in _SQLITE_REASONS:
            if sign in text.lower():
                return reason
        return text
    if type(error).__module__.startswith("psycopg"):
        state = getattr(error, "sqlstate", None)
        if state in _POSTGRES_STATES:
            return _POSTGRES_STATES[state]
        if any(cls.__name__ == "OperationalError" for cls in type(error).__mro__):
            return f"the server cannot be reached or refused ({text[:200]})"
    return None
