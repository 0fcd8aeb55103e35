"""The cards that hold for an intake: those of the store, and those that were handed in with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from auditor.sheets.cards import Card, CardError, load_card
from auditor.sheets.cards.marks import firm_key

if TYPE_CHECKING:
    from auditor.store.store import Store


@dataclass(frozen=True)
class TaughtCard:
    """A card with the text that it was read from."""

    card: Card
    text: str


def read_card(data: bytes, name: str) -> TaughtCard:
    """The card in a file's bytes. CardError (a ValueError) says in one line what is amiss in it, and where."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CardError(f"{name}: a card is a text file in UTF-8; save it so") from None
    return TaughtCard(load_card(text, name), text)


def cards_of(store: Store, given: Sequence[TaughtCard] = ()) -> tuple[tuple[Card, ...], list[str]]:
    """The cards that hold: those given, and those of the store for other contractors; and a line on each card of the
    store that can no longer be read."""
    found = {firm_key(one.card.contractor): one.card for one in given}
    trouble: list[str] = []
    for contractor, body in store.cards()[["contractor", "body"]].itertuples(index=False):
        if firm_key(contractor) in found:
            continue
        try:
            found[firm_key(contractor)] = load_card(body, f"the stored card of {contractor}")
        except CardError as error:
            trouble.append(f"{error}; it is not used")
    return tuple(found.values()), trouble
