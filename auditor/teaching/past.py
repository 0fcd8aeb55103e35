"""Which held surveys of the record a card would have changed: their workbooks are read again, nothing is written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from auditor.reading import read_bytes
from auditor.sheets import Context
from auditor.sheets.cards import Card
from auditor.sheets.cards.marks import firm_key
from auditor.stacking import Rows

if TYPE_CHECKING:
    from auditor.store.store import Store

MOST = 60  # workbooks that are read again: a person waits for the answer
_FACTS = ("hood", "surveyed_on", "unit", "sash_height")


@dataclass(frozen=True)
class Changed:
    """One held survey that would have been read otherwise, and how."""

    survey_id: str
    workbook: str
    sheet: str
    how: str


def would_change(
    store: Store, before: Sequence[Card], after: Sequence[Card], contractor: str
) -> tuple[list[Changed], int]:
    """Held surveys of a contractor (or of workbooks whose sheets name none) that cards `after` read otherwise than
    `before`; and how many of their workbooks were left unread, beyond the first 60."""
    held = store.table("surveys", status="held")
    named = held["contractor"].map(lambda name: firm_key(name) if isinstance(name, str) else "")
    held = held[named.isin(["", firm_key(contractor)])]
    books = held.drop_duplicates("workbook_sha256")[["workbook_sha256", "workbook"]].values.tolist()
    wanted = set(held["survey_id"])
    hoods = frozenset(store.register()["hood_id"])
    found: list[Changed] = []
    for sha256, name in books[:MOST]:
        data = store.workbook_bytes(sha256)
        if data is None:
            continue
        first = read_bytes(data, name, "", Context(hoods, tuple(before))).rows
        second = read_bytes(data, name, "", Context(hoods, tuple(after))).rows
        found += [one for one in _differences(first, second, name) if one.survey_id in wanted]
    return found, max(0, len(books) - MOST)


def _differences(before: Rows, after: Rows, workbook: str) -> list[Changed]:
    old = {s["survey_id"]: s for s in before.surveys}
    new = {s["survey_id"]: s for s in after.surveys}
    found = []
    for survey_id, was in old.items():
        now = new.get(survey_id)
        if now is None:
            found.append(Changed(survey_id, workbook, was["sheet"], "read from another place of its sheet"))
            continue
        how = [
            f"{n.replace('_', ' ')}: {_said(was.get(n))} -> {_said(now.get(n))}"
            for n in _FACTS
            if was.get(n) != now.get(n)
        ]
        codes = _codes(before, survey_id) ^ _codes(after, survey_id)
        how += [f"{'no longer ' if code in _codes(before, survey_id) else ''}{code}" for code in sorted(codes)]
        if how or _readings(before, survey_id) != _readings(after, survey_id):
            found.append(Changed(survey_id, workbook, was["sheet"], ", ".join(how) or "other readings"))
    return found


def _said(value: object) -> str:
    return "unknown" if value is None else str(value)


def _codes(rows: Rows, survey_id: str) -> set[str]:
    return {p[6] for p in rows.problems if p[0] == survey_id}


def _readings(rows: Rows, survey_id: str) -> list[tuple]:
    return [r[4:] for r in rows.readings if r[0] == survey_id]
