"""The demo campus: an invented campus with five yearly campaigns, carried by the project itself."""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from auditor.audit import Terms
    from auditor.intake import Outcome
    from auditor.store.store import Store


@dataclass(frozen=True)
class Campus:
    """Where the demo lies. `today` is the demo's own, so that it does not age."""

    folder: Path
    title: str
    today: dt.date
    register: Path
    campaigns: tuple[Path, ...]


def campus() -> Campus:
    """The demo campus. FileNotFoundError where an installation came without it."""
    folder = _folder()
    told = tomllib.loads((folder / "demo.toml").read_text(encoding="utf-8"))
    years = tuple(sorted(path for path in folder.iterdir() if path.is_dir() and path.name.isdigit()))
    return Campus(folder, told["title"], told["today"], folder / told["register"], years)


def _folder() -> Path:
    """In a checkout it lies beside the packages; an installed program carries it inside its own."""
    here = Path(__file__).resolve().parent
    for folder in (here / "campus", here.parent / "sample_workbooks"):
        if (folder / "demo.toml").exists():
            return folder
    raise FileNotFoundError(2, "the demo campus did not come with this installation", "sample_workbooks")


def load(store: Store, place: Campus, terms: Terms, progress: Callable[[int, int, str], None] | None = None) -> Outcome:
    """Loads the register and takes in every campaign."""
    from auditor.files import gather
    from auditor.intake import load_register, take_in

    load_register(store, place.register.read_bytes(), place.register.name, terms, by="demo")
    sources, _ = gather([str(path) for path in place.campaigns])
    return take_in(sources, store, terms, by="demo", progress=progress)
