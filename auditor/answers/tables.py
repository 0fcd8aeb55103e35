"""The contract's tables: those that the store keeps, and those that follow from them."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from auditor.store.store import Store

KEPT = ("register", "workbooks", "surveys", "readings", "discrepancies", "findings", "verdicts")
DERIVED = ("rates", "trends", "clusters")


def table(store: Store, name: str, *, today: dt.date) -> pd.DataFrame:
    """A table of the contract, columns in the contract's order. ValueError for a name that it does not have."""
    if name in KEPT:
        return store.table(name)
    if name not in DERIVED:
        raise ValueError(f"there is no table '{name}'; there are: {', '.join(KEPT + DERIVED)}")
    from auditor import history

    surveys, register = store.table("surveys"), store.register()
    if name == "rates":
        ways = ("building", "floor", "department", "hood_type", "air_handler", "contractor", "year")
        return pd.concat([history.rates(surveys, register, by=by, today=today) for by in ways], ignore_index=True)
    if name == "trends":
        return history.trends(surveys)
    return history.clusters(surveys, store.table("findings"), store.table("readings"), register)
