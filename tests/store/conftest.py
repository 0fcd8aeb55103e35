"""Every test that asks for `store` or `url` runs on SQLite, and on a real PostgreSQL server where one is installed."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from auditor.store import open_store
from auditor.store.store import Store
from auditor.store.tables import metadata


def _postgres_programs() -> Path | None:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[4]))
    on_path = shutil.which("initdb")
    return found[-1].parent if found else Path(on_path).resolve().parent if on_path else None


def _unprivileged() -> dict:
    """Whom the server runs as: it refuses root."""
    if os.geteuid() != 0:
        return {}
    user = pwd.getpwnam("postgres")
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The URL of a server of our own, without a database's name. Only its socket can be reached."""
    programs = _postgres_programs()
    if programs is None:
        pytest.skip("PostgreSQL is not installed")
    pytest.importorskip("psycopg")
    folder = Path(tempfile.mkdtemp(prefix="hood-pg-"))
    who = _unprivileged()
    if who:
        os.chown(folder, who["user"], who["group"])

    def run(program: str, *arguments: str) -> None:
        command = [str(programs / program), *arguments]
        subprocess.run(command, check=True, cwd=folder, stdout=subprocess.DEVNULL, timeout=60, **who)

    data = str(folder / "data")
    settings = f"-c listen_addresses= -c fsync=off -c full_page_writes=off -c max_connections=60 -k {folder}"
    try:
        run("initdb", "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync")
        run("pg_ctl", "-D", data, "-w", "-l", str(folder / "log"), "-o", settings, "start")
        yield f"postgresql://postgres@/{{}}?host={folder}"
    finally:
        if (folder / "data" / "postmaster.pid").exists():
            run("pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres_store(postgres: str) -> str:
    """The URL of a database with an empty store in it, for one test after the other."""
    import psycopg

    with psycopg.connect(postgres.format("postgres"), autocommit=True) as connection:
        connection.execute("CREATE DATABASE hoods")
    open_store(postgres.format("hoods")).close()
    return postgres.format("hoods")


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of an empty store, or of a place for one."""
    if request.param == "sqlite":
        return str(tmp_path / "hoods.db")
    import psycopg

    address = request.getfixturevalue("postgres_store")
    with psycopg.connect(address) as connection:  # few rows: faster than TRUNCATE
        for table in reversed(metadata.sorted_tables):
            if table.name != "schema_version":
                connection.execute(f"DELETE FROM {table.name}")
    return address


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    with open_store(url) as opened:
        yield opened
