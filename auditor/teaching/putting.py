"""Cards handed in with an intake: kept under their contractors, and what is to be said of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from auditor.sheets.cards import Card
from auditor.teaching.kept import TaughtCard, cards_of
from auditor.teaching.past import would_change

if TYPE_CHECKING:
    from auditor.store.store import Store


def teach(store: Store, given: Sequence[TaughtCard], by: str = "") -> tuple[tuple[Card, ...], list[str]]:
    """Keeps the cards given under their contractors. The cards that hold now, and what is to be said of them: which
    held surveys of the record they would have read otherwise."""
    before, notes = cards_of(store)
    after, _ = cards_of(store, given)
    for one in given:
        if store.add_card(one.card.contractor, one.text, by):
            changed, unread = would_change(store, before, after, one.card.contractor)
            notes += [f"{one.card.name} would have changed {c.workbook}, {c.sheet}: {c.how}" for c in changed[:20]]
            more = len(changed) - 20
            notes += [f"... and {more} more held surveys"] if more > 0 else []
            notes += [f"{unread} more workbooks with held surveys were not looked at"] if unread else []
    return after, notes


def unused(cards: Sequence[TaughtCard], notes: Sequence[str]) -> list[str]:
    """A line on each card given that no note says was used."""
    idle = [one.card for one in cards if not any(note.endswith(f"read by {one.card.name}") for note in notes)]
    return [f"{card.name} was used on no sheet; look at its mark, or whether the files are new" for card in idle]
