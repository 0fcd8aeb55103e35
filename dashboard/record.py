"""The record behind the screens: opened once, asked through `auditor.answers`, answers kept until it changes."""

from __future__ import annotations

import datetime as dt
import os
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import streamlit as st

from auditor.answers import record
from auditor.answers.record import StoreUnavailable
from dashboard.keeping import Keeper

if TYPE_CHECKING:
    import pandas as pd

    from auditor.answers.record import Store

__all__ = ["StoreUnavailable", "ask", "ask_later", "now", "read_only", "states", "store", "today", "warm"]
Answer = TypeVar("Answer")
PATIENCE_S = 10.0  # a page waits this long for what takes long, and then shows the rest

_answers = Keeper()
_stores: dict[str, Store] = {}
_opening = threading.Lock()


def address() -> str:
    return os.environ.get("HOODAUDIT_STORE", "")


def store() -> Store:
    with _opening:
        if address() not in _stores:
            _stores[address()] = record.open_record(address() or None)
        return _stores[address()]


def today() -> dt.date:
    return record.today()


def read_only() -> bool:
    """Whether this dashboard was served for looking only."""
    return bool(os.environ.get("HOODAUDIT_READ_ONLY"))


def now() -> str:
    """The record's state, asked once per run of a page (the app clears it)."""
    if "_record_state" not in st.session_state:
        st.session_state["_record_state"] = store().state()
    return st.session_state["_record_state"]


def ask(question: Callable[..., Answer], *arguments: Any) -> Answer:
    """`question(store, *arguments)`, kept for as long as the record does not change."""
    return _ask(now(), question, *arguments)


def ask_later(question: Callable[..., Answer], *arguments: Any) -> Answer | None:
    """The same for what may take long: None where it is still being worked out."""
    key = _key(now(), question, arguments)
    return _answers.ask_later(key, lambda: question(store(), *arguments), PATIENCE_S)


def _ask(state: str, question: Callable[..., Answer], *arguments: Any) -> Answer:
    return _answers.ask(_key(state, question, arguments), lambda: question(store(), *arguments))


def _key(state: str, question: Callable[..., Any], arguments: tuple) -> tuple:
    return question.__module__, question.__qualname__, address(), state, today(), arguments


def states() -> pd.DataFrame:
    """How every hood stands today."""
    from auditor.answers import hood_states

    return ask(hood_states, today())


def warm() -> None:
    """Asks what the first page shows, before anybody opens it; without a word where there is no record yet."""
    from auditor.answers import hood_states, tables, years

    try:
        state = store().state()
        _ask(state, hood_states, today())
        known = _ask(state, years.years, today())
        for year in known[:1]:
            for by in ("building", "year"):
                _ask(state, years.verdicts_by, by, year)
            _ask(state, years.totals, year)
            _ask(state, years.coverage, year)
            _ask(state, years.change, year)
            _ask(state, years.moves, year)
        if known:
            _ask(state, tables.trends)
            _ask(state, tables.clusters)
    except StoreUnavailable:
        return
