"""What goes back to contractors: a copy of every workbook about which something is open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

import pandas as pd

from auditor.answers.record import rows

if TYPE_CHECKING:
    from auditor.documents.returns import Point
    from auditor.store.store import Store

Progress = Callable[[int, int, str], None]


@dataclass(frozen=True)
class ReturnCopy:
    """A file to send back. `marked`: it is the contractor's own workbook; else a list, and `why` says why."""

    name: str
    data: bytes
    workbook: str
    sha256: str
    holds: int
    cautions: int
    marked: bool
    why: str = ""


def open_points(store: Store, *, holds_only: bool = False) -> pd.DataFrame:
    """The open discrepancies of workbooks (but of surveys that a corrected copy has replaced), with `hood_id`."""
    statement = (
        'SELECT d."workbook", d."workbook_sha256", d."sheet", d."cell", d."code", d."severity", d."written", '
        'd."message", d."remedy", s."hood_id", s."status" FROM discrepancies d '
        'LEFT JOIN surveys s ON s."survey_id" = d."survey_id" WHERE d."state" = \'open\' ORDER BY d."discrepancy_id"'
    )
    found = rows(store, statement)
    found = found[found["workbook_sha256"].notna() & ~found["status"].eq("superseded")]
    return (found[found["severity"].eq("hold")] if holds_only else found).reset_index(drop=True)


def return_copies(
    store: Store, on: dt.date, *, contractor: str = "", holds_only: bool = False, progress: Progress | None = None
) -> Iterator[ReturnCopy]:
    """One copy after the other, in order of the workbooks' names; `contractor` keeps to those of one contractor."""
    points = open_points(store, holds_only=holds_only)
    if contractor:
        points = points[points["workbook_sha256"].isin(_workbooks_of(store, contractor))]
    groups = sorted(points.groupby("workbook_sha256"), key=lambda group: (str(group[1]["workbook"].iloc[0]), group[0]))
    taken: set[str] = set()
    for done, (sha256, own) in enumerate(groups, start=1):
        yield _copy(store, str(sha256), own, on, taken)
        if progress:
            progress(done, len(groups), str(own["workbook"].iloc[0]))


def _workbooks_of(store: Store, contractor: str) -> set[str]:
    found = rows(store, 'SELECT DISTINCT "workbook_sha256", "contractor" FROM surveys')
    same = found["contractor"].fillna("").str.strip().str.casefold().eq(contractor.strip().casefold())
    return set(found.loc[same, "workbook_sha256"])


def _copy(store: Store, sha256: str, own: pd.DataFrame, on: dt.date, taken: set[str]) -> ReturnCopy:
    from auditor.documents.returns import About, CannotMark, list_workbook, marked_copy

    workbook = str(own["workbook"].iloc[0])
    points, about = _points(own), About(workbook, on)
    data, why, marked = store.workbook_bytes(sha256), "", True
    try:
        if data is None:
            raise CannotMark("its bytes are not in the record")
        made = marked_copy(data, points, about)
    except CannotMark as trouble:
        made, why, marked = list_workbook(points, about), str(trouble), False
    holds = int(own["severity"].eq("hold").sum())
    name = _name(workbook, sha256, marked, taken)
    return ReturnCopy(name, made, workbook, sha256, holds, len(own) - holds, marked, why)


def _points(own: pd.DataFrame) -> Sequence[Point]:
    from auditor.codes import CODES
    from auditor.documents.returns import Point

    def said(value: Any) -> str:
        return "" if value is None or value != value else str(value)

    titles = {name: code.title for name, code in CODES.items()}
    return [
        Point(
            severity=said(row["severity"]), title=titles.get(row["code"], said(row["code"])),
            message=said(row["message"]), remedy=said(row["remedy"]), sheet=said(row["sheet"]), cell=said(row["cell"]),
            hood=said(row["hood_id"]), written=said(row["written"]),
        )
        for row in own.to_dict("records")
    ]  # fmt: skip


def _name(workbook: str, sha256: str, marked: bool, taken: set[str]) -> str:
    """'amber-return.xlsx'; two workbooks of one name are told apart by the start of their SHA-256."""
    path = PurePath(workbook.replace("\\", "/").rpartition("/")[2])
    ending = path.suffix.lower() if marked and path.suffix.lower() in (".xlsx", ".xlsm") else ".xlsx"
    stem = (
        "".join(c if c.isprintable() and c not in '<>:"/\\|?*' else "-" for c in path.stem)[:120].strip(". ")
        or "workbook"
    )
    name = f"{stem}-return{ending}"
    if name.casefold() in taken:
        name = f"{stem}-return-{sha256[:8]}{ending}"
    taken.add(name.casefold())
    return name
