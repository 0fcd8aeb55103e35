"""Settle once, know for ever: layout cards kept by contractor, and what a person settled offered as a line of one."""

from auditor.teaching.kept import TaughtCard, cards_of, read_card
from auditor.teaching.offers import Offer, offers_for, remember
from auditor.teaching.past import Changed, would_change
from auditor.teaching.putting import teach, unused

__all__ = [
    "Changed",
    "Offer",
    "TaughtCard",
    "cards_of",
    "offers_for",
    "read_card",
    "remember",
    "teach",
    "unused",
    "would_change",
]
