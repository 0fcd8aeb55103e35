"""What several commands need: the store, the terms of judging, output as JSON, progress on a terminal."""

from __future__ import annotations

import datetime as dt
import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pandas as pd

from auditor.cli.main import CannotDo, WrongUse
from auditor.cli.parser import today


def as_of(options: Any) -> dt.date:
    return options.as_of or today()


def terms_of(options: Any):
    """The terms of judging: profiles, severities and today, from the options and the environment."""
    from auditor.audit import Terms
    from auditor.codes import CodesError, load_severities
    from auditor.criteria import load_profiles

    try:
        severities = load_severities(getattr(options, "severities", None) or os.environ.get("HOODAUDIT_SEVERITIES"))
        folder = os.environ.get("HOODAUDIT_PROFILES")
        profiles = load_profiles([folder] if folder else [])
    except (CodesError, ValueError) as trouble:
        raise WrongUse(str(trouble)) from trouble
    default = getattr(options, "profile", None) or os.environ.get("HOODAUDIT_PROFILE") or "common-practice"
    if default not in profiles:
        raise WrongUse(f"there is no criteria profile '{default}'; 'hoodaudit criteria' lists them")
    return Terms(as_of(options), profiles, default, getattr(options, "campaign", None), severities)


def open_store(options: Any, *, create: bool = False, read_only: bool = False):
    from auditor.store import open_store as opened

    return opened(options.store, create=create, read_only=read_only)


def rows_of(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """A frame as rows for JSON: missing is null, dates are ISO 8601."""
    return (
        json.loads(frame.to_json(orient="records", date_format="iso", date_unit="s"))
        if _no_dates(frame)
        else [{name: _plain(value) for name, value in row.items()} for row in frame.to_dict("records")]
    )


def _no_dates(frame: pd.DataFrame) -> bool:
    return not any(pd.api.types.is_datetime64_any_dtype(kind) for kind in frame.dtypes)


def _plain(value: Any) -> Any:
    if value is None or value is pd.NA or value is pd.NaT or value != value:
        return None
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    return value.item() if hasattr(value, "item") else value


def print_json(document: Any) -> None:
    json.dump(document, sys.stdout, ensure_ascii=False, indent=1, allow_nan=False)
    sys.stdout.write("\n")


@contextmanager
def progress(total: int, label: str) -> Iterator[Callable[[int, int, str], None] | None]:
    """A progress bar on a terminal, nothing elsewhere."""
    if not sys.stderr.isatty() or total < 2:
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(file=sys.stderr), transient=True) as bar:
        task = bar.add_task(label, total=total)
        yield lambda done, _total, _name: bar.update(task, completed=done)


def cards_of(options: Any) -> list[Any]:
    """The layout cards that `--card` names, read."""
    from pathlib import Path

    from auditor.teaching import read_card

    return [asked(read_card, Path(name).read_bytes(), name) for name in options.card or []]


def asked(call: Callable[..., Any], *arguments: Any, **named: Any) -> Any:
    """A call whose ValueError is the user's to mend."""
    try:
        return call(*arguments, **named)
    except ValueError as trouble:
        raise WrongUse(str(trouble)) from trouble


__all__ = [
    "CannotDo",
    "WrongUse",
    "as_of",
    "asked",
    "cards_of",
    "open_store",
    "print_json",
    "progress",
    "rows_of",
    "terms_of",
]
