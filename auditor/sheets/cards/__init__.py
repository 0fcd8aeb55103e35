"""Layout cards: what a contractor's sheets are taught where words do not suffice (see README.md here)."""

from auditor.sheets.cards.loading import load_card
from auditor.sheets.cards.schema import Card, CardError

__all__ = ["Card", "CardError", "load_card"]
