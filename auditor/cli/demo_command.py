"""`demo` and `dashboard`."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from auditor.cli import common
from auditor.cli.main import DONE, CannotDo

DEMO_STORE = "demo-campus.db"


def demo(options: Any) -> int:
    """Loads the demo campus into a fresh record. The default record is the demo's own and is made anew each time."""
    from auditor import demo as campus_of
    from auditor.cli.intake_commands import report

    place = campus_of.campus()
    options.as_of = options.as_of or place.today
    options.store = options.store or _fresh(Path(DEMO_STORE))
    with common.open_store(options, create=True) as store:
        if store.head()[0]:
            raise CannotDo(f"{store.name} already holds a record; name a new --store for the demo")
        terms = common.terms_of(options)
        files = sum(1 for year in place.campaigns for _ in year.rglob("*.*"))
        with common.progress(files, "Auditing the demo campus") as bar:
            outcome = campus_of.load(store, place, terms, bar)
        status = report(outcome, options, store=store)
    if options.no_serve:
        return status
    os.environ["HOODAUDIT_TODAY"] = options.as_of.isoformat()
    return serve(options.store, options.port, read_only=False)


def _fresh(path: Path) -> str:
    for each in (path, *(path.with_name(path.name + end) for end in ("-wal", "-shm", "-journal"))):
        each.unlink(missing_ok=True)
    return str(path)


def dashboard(options: Any) -> int:
    with common.open_store(options, read_only=True) as store:  # a bad address is told here, in one line
        store.head()
    if options.as_of:
        os.environ["HOODAUDIT_TODAY"] = options.as_of.isoformat()
    return serve(options.store, options.port, read_only=options.read_only)


def serve(store: str | None, port: int, *, read_only: bool) -> int:
    """Serves the dashboard on the loopback address until it is stopped. Nothing calls out."""
    from importlib.util import find_spec

    environment = os.environ | {"HOODAUDIT_READ_ONLY": "1" if read_only else "", "HOODAUDIT_CAUTION": "shown"}
    if store:
        environment["HOODAUDIT_STORE"] = store
    found = find_spec("dashboard")
    if found is None or found.origin is None:
        raise CannotDo("the dashboard did not come with this installation")
    page = Path(found.origin).with_name("app.py")
    words = [
        sys.executable, "-m", "dashboard.serve", "run", str(page),
        "--server.address=127.0.0.1", f"--server.port={port}",
        "--server.headless=true", "--browser.gatherUsageStats=false", "--server.fileWatcherType=none",
        "--client.showErrorDetails=none", "--client.toolbarMode=minimal", "--server.maxUploadSize=64",
    ]  # fmt: skip
    print(f"The dashboard is at http://127.0.0.1:{port}/ (stop it with Ctrl+C)", file=sys.stderr, flush=True)
    try:
        return DONE if subprocess.run(words, env=environment, check=False).returncode in (0, -2, 130) else _failed(port)
    except KeyboardInterrupt:
        return DONE


def _failed(port: int) -> int:
    raise CannotDo(f"the dashboard could not be served; if port {port} is taken, name another with --port")
