"""What a person does at the screen: workbooks taken in, facts settled, surveys released. Each is the command itself,
run in a process of its own, so that a stranger's file can never stop the dashboard."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import streamlit as st

from dashboard import record
from dashboard.words import plain

LONGEST_S = 1800
NAME_LENGTH = 120


@dataclass(frozen=True)
class Ran:
    """What a command gave: its exit status, its JSON document, and its words where it could not do it."""

    status: int
    document: dict[str, Any] = field(default_factory=dict)
    said: str = ""

    @property
    def done(self) -> bool:
        return self.status in (0, 1)


def run(*words: str) -> Ran:
    """`hoodaudit WORDS --json` on this dashboard's record, as of its today."""
    command = [sys.executable, "-m", "auditor", *words, "--json", f"--as-of={record.today().isoformat()}"]
    try:
        ended = subprocess.run(
            command,
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=LONGEST_S,
            check=False,
            stdin=subprocess.DEVNULL,
            env=os.environ | {"NO_COLOR": "1"},
        )
    except subprocess.TimeoutExpired:
        return Ran(3, said=f"it took longer than {LONGEST_S // 60} minutes and was stopped; nothing half done was kept")
    lines = [line for line in ended.stderr.strip().splitlines() if line.strip()]
    document = json.loads(ended.stdout) if ended.stdout.strip() else {}
    return Ran(ended.returncode, document, plain(lines[-1], 400) if lines else "")


def take_in(files: Sequence[tuple[str, bytes]], *, check: bool) -> Ran:
    """Audits uploaded files, and records them unless `check`. Each keeps its name, which is only ever a name here."""
    with tempfile.TemporaryDirectory(prefix="hood-surveys-") as folder:
        for number, (name, data) in enumerate(files, 1):
            place = Path(folder) / f"{number:04d}"
            place.mkdir()
            (place / file_name(name)).write_bytes(data)
        return run("intake", folder, *(["--check"] if check else []))


def file_name(name: str) -> str:
    """The last part of an uploaded file's name, without what a file system would take for a path."""
    last = plain(name, 1000).replace("\\", "/").rsplit("/", 1)[-1].replace("\0", "").strip(" .")
    if not last:
        return "workbook"
    stem, dot, ending = last.rpartition(".")
    return f"{stem[:NAME_LENGTH]}{dot}{ending[:8]}" if dot else last[:NAME_LENGTH]


def settle(survey_id: str, values: Mapping[str, str], evidence: str, by: str) -> Ran:
    settings = [f"--set={name}={value}" for name, value in values.items()]
    return run("settle", survey_id, *settings, f"--evidence={evidence}", f"--by={by}")


def release(survey_id: str, reason: str, by: str) -> Ran:
    return run("release", survey_id, f"--reason={reason}", f"--by={by}")


def post(hood_id: str, *, posted: bool, by: str, work_order: str) -> Ran:
    order = [f"--work-order={work_order}"] if work_order else []
    return run("tag", hood_id, "--posted" if posted else "--removed", f"--by={by}", *order)


def signed_in() -> str | None:
    """Who is signed in, where the dashboard is served with sign-in; None where it is not."""
    user = st.user.to_dict() if hasattr(st.user, "to_dict") else {}
    name = user.get("email") or user.get("name") if user.get("is_logged_in") else None
    return str(name) if name else None


def who(key: str) -> str:
    """The name that a decision is kept with: the person signed in, else what is typed."""
    known = signed_in()
    if known:
        st.caption(f"Kept with the name of the person signed in: {plain(known)}.")
        return known
    return st.text_input("By (your name)", key=key, max_chars=120)


def tell(ran: Ran, done: str) -> None:
    """Keeps what to say for the page's next run, which shows the record as it is then."""
    st.session_state["_told"] = ("success", done) if ran.done else ("error", f"That was not done: {ran.said}")


def told() -> None:
    """Says what the last deed came to."""
    kind, words = st.session_state.pop("_told", (None, ""))
    if kind == "success":
        st.success(words, icon=":material/check:")
    elif kind == "error":
        st.error(plain(words, 500))
