"""Layout cards by contractor: each text that was ever taught is a row that never changes; the last one holds."""

from __future__ import annotations

import hashlib

import pandas as pd
import sqlalchemy as sa
from sqlalchemy.engine import Connection

from auditor.store import bulk, log
from auditor.store import tables as t
from auditor.store.frames import storable, typed_frame

CARD = {"contractor": "text", "body": "text", "made_by": "text", "made_at": "text"}
_NAMES = ("card_no", "contractor", "contractor_key", "body", "made_by", "made_at")


def key_of(contractor: str) -> str:
    """What two spellings of one contractor's name have in common: case and runs of blanks do not count."""
    return " ".join(contractor.casefold().split())


def add(connection: Connection, contractor: str, body: str, by: str, at: str, why: str) -> bool:
    """Keeps a card as the one that now holds for its contractor; False where just this text holds already."""
    if not contractor.strip() or not body.strip():
        raise ValueError("a card needs its contractor's name and a text")
    contractor, body = storable(contractor.strip()), storable(body)
    c = t.card.c
    same = sa.select(c.body).where(c.contractor_key == key_of(contractor)).order_by(c.card_no.desc()).limit(1)
    if connection.execute(same).scalar() == body:
        return False
    number = bulk.numbers(connection, t.card, "card_no")
    bulk.insert(connection, t.card, _NAMES, [(number, contractor, key_of(contractor), body, by, at)])
    detail = {"card_no": number, "digest": hashlib.sha256(body.encode()).hexdigest(), "why": storable(why)}
    log.append(connection, [("card", contractor, by, at, detail)])
    return True


def current(connection: Connection) -> pd.DataFrame:
    """The cards that hold now, one row to a contractor (CARD columns), by name."""
    c = t.card.c
    newest = sa.select(sa.func.max(c.card_no)).group_by(c.contractor_key)
    query = sa.select(*(c[name] for name in CARD)).where(c.card_no.in_(newest)).order_by(c.contractor_key)
    return typed_frame(connection.execute(query).all(), CARD)
