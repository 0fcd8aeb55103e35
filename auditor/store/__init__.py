"""The record: what was handed in, measured and decided is kept for ever; what follows from it can be derived again.

This module loads nothing heavy: SQLAlchemy and pandas come with `open_store`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from auditor.store.batch import Batch, FileRecord, Recorded, RegisterChange, StoreUnavailable

if TYPE_CHECKING:
    from auditor.store.store import Store

__all__ = ["Batch", "FileRecord", "Recorded", "RegisterChange", "StoreUnavailable", "open_store"]


def open_store(url: str | None = None, *, create: bool = True, read_only: bool = False) -> Store:
    """The store at `url`: a path (an SQLite file), an SQLAlchemy URL of SQLite or PostgreSQL, or None for
    HOODAUDIT_STORE and then `hood-surveys.db` in the working folder.

    With `create` a store that is not there yet is made; `read_only` never writes to it.
    Raises StoreUnavailable, whose message is one line that says why.
    """
    from auditor.store.store import Store

    return Store.open(url, create=create, read_only=read_only)
