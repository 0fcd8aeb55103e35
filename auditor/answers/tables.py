"""The contract's tables: those that the store keeps, and those that follow from them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING

import pandas as pd

from auditor.answers.record import slim_findings, slim_surveys

if TYPE_CHECKING:
    from auditor.store.store import Store

KEPT = ("register", "workbooks", "surveys", "readings", "discrepancies", "findings", "verdicts")
DERIVED = ("rates", "trends", "clusters")
RATED = (
    "survey_id", "hood_id", "building", "floor", "room", "surveyed_on", "contractor", "status", "verdict",
)  # fmt: skip


def table(store: Store, name: str, *, today: dt.date) -> pd.DataFrame:
    """A table of the contract, columns in the contract's order. ValueError for a name that it does not have."""
    if name in KEPT:
        return store.table(name)
    if name not in DERIVED:
        raise ValueError(f"there is no table '{name}'; there are: {', '.join(KEPT + DERIVED)}")
    derived = {"rates": rates, "trends": trends, "clusters": clusters}
    return derived[name](store)


def rates(
    store: Store, *, count: str = "surveys", by: str | None = None, years: Sequence[int] | None = None
) -> pd.DataFrame:
    """`auditor.history.rates.rates` over the record, or over the surveys of some calendar years."""
    from auditor.history.rates import rates as derive

    return derive(slim_surveys(store, RATED, years), store.register(), by=by, count=count)


def trends(store: Store) -> pd.DataFrame:
    """`auditor.history.trends.trends` over the record, against each hood's own limits."""
    from auditor.answers.limits import mean_limits
    from auditor.history.trends import trends as derive

    surveys, register = slim_surveys(store), store.register()
    low, high = mean_limits(register)
    return derive(surveys, register, low_limit_fpm=low, high_limit_fpm=high, events=store.events())


def clusters(store: Store) -> pd.DataFrame:
    """`auditor.history.drafts.clusters.clusters` over the record."""
    from auditor.history.drafts.clusters import clusters as derive
    from auditor.history.drafts.failures import CRITERIA

    surveys, findings = slim_surveys(store), slim_findings(store, CRITERIA)
    return derive(surveys, findings, store.register(), draft_readings(store))


def draft_readings(store: Store) -> pd.DataFrame:
    """The cross-draft readings of surveys that a cross-draft criterion finds wanting: those that tell a direction."""
    return store.query(
        'SELECT r."survey_id", r."cell", r."kind", r."position", r."direction", r."written", r."unit", '
        'r."velocity_fpm" FROM readings r '
        'WHERE r."kind" = \'cross-draft\' AND r."survey_id" IN (SELECT f."survey_id" FROM findings f '
        "WHERE f.\"criterion\" IN ('cross-draft-absolute', 'cross-draft-relative') "
        "AND f.\"outcome\" IN ('restricted', 'fail'))"
    )
