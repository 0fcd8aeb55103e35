"""The record behind the screens: opened once, asked through `auditor.answers`, answers kept until it changes."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import streamlit as st

from auditor.answers import record
from auditor.answers.record import StoreUnavailable

if TYPE_CHECKING:
    import pandas as pd

    from auditor.store.store import Store

__all__ = ["StoreUnavailable", "ask", "now", "read_only", "store", "today"]
Answer = TypeVar("Answer")


def address() -> str:
    return os.environ.get("HOODAUDIT_STORE", "")


@st.cache_resource(max_entries=4, show_spinner=False)
def _opened(address: str) -> Store:
    return record.open_record(address or None)


def store() -> Store:
    return _opened(address())


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
    name = f"{question.__module__}.{question.__qualname__}"
    return _asked(name, address(), now(), today().isoformat(), arguments, question)


@st.cache_data(max_entries=300, show_spinner=False)
def _asked(name: str, address: str, state: str, today: str, arguments: tuple, _question: Callable[..., Any]) -> Any:
    return _question(store(), *arguments)


def states() -> pd.DataFrame:
    """How every hood stands today."""
    from auditor.answers import hood_states

    return ask(hood_states, today())
