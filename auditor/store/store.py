"""The store: one object with everything that the other rooms and the commands ask of the record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

import pandas as pd
from sqlalchemy.engine import URL, Connection, Engine

from auditor.store import cards, decisions, engine, judged, log, read, record, register, schema, told
from auditor.store import tables as t
from auditor.store.batch import Batch, Recorded, RegisterChange


class Store:
    """The record at one place. Every method is one transaction of its own, or part of the one that `transaction`
    holds open; every method may raise StoreUnavailable."""

    def __init__(self, url: URL, sql_engine: Engine, read_only: bool):
        self.url = url
        self.name = engine.shown(url)
        self.read_only = read_only
        self._engine = sql_engine
        self._open: ContextVar[Connection | None] = ContextVar("open_transaction", default=None)

    @classmethod
    def open(
        cls, url: str | None, *, create: bool = True, read_only: bool = False, busy_seconds: float = 60.0
    ) -> Store:
        """See `auditor.store.open_store`. `busy_seconds` is how long to wait for another program's writing."""
        parsed = engine.resolve(url)
        with engine.explained(parsed):
            sql_engine = engine.make_engine(parsed, create=create, read_only=read_only, busy_seconds=busy_seconds)
            try:
                schema.prepare(sql_engine, engine.shown(parsed), create=create, read_only=read_only)
            except BaseException:
                sql_engine.dispose()
                raise
        return cls(parsed, sql_engine, read_only)

    def close(self) -> None:
        self._engine.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_exc) -> None:
        self.close()

    @contextmanager
    def transaction(self) -> Iterator[Store]:
        """Everything done inside is kept whole or not at all, and nobody else writes meanwhile: what is read inside
        still holds when it is written. May be nested."""
        with self._connection(writing=True):
            yield self

    @contextmanager
    def _connection(self, *, writing: bool = False) -> Iterator[Connection]:
        current = self._open.get()
        if current is not None:
            yield current
            return
        with engine.explained(self.url), engine.begun(self._engine, writing=writing) as connection:
            token = self._open.set(connection) if writing else None
            try:
                yield connection
            finally:
                if token is not None:
                    self._open.reset(token)

    # --- recording ---------------------------------------------------------------------------------------------------
    def known(self, sha256s: Iterable[str]) -> set[str]:
        """Those of the files (by SHA-256) whose bytes are already in the record."""
        with self._connection() as connection:
            return set(record.file_numbers(connection, list(sha256s)))

    def record(self, batch: Batch) -> Recorded:
        """Adds everything of one intake in one transaction; bytes that are already there change nothing. Surveys of
        earlier files that the batch judges anew have their judgements replaced."""
        with self._connection(writing=True) as connection:
            return record.record(connection, batch, vanished="drop")

    def replace_judgements(self, batch: Batch, *, vanished: str = "corrected") -> None:
        """Replaces what was derived for the surveys in `batch.surveys`. Discrepancies that are no longer found stay,
        with the state 'corrected'; with vanished='drop' they go."""
        with self._connection(writing=True) as connection:
            judged.replace(connection, batch, leave_alone=set(), new=set(), vanished=vanished)

    def replace_codes(self, codes: Sequence[str], discrepancies: pd.DataFrame) -> None:
        """Replaces all discrepancies of these codes, over the whole record, by those given."""
        with self._connection(writing=True) as connection:
            judged.replace_codes(connection, codes, discrepancies)

    def mark(self, discrepancy_ids: Iterable[str], state: str) -> None:
        """Sets the state ('open', 'released', 'corrected') of discrepancies, as when a corrected copy came back."""
        with self._connection(writing=True) as connection:
            judged.mark(connection, discrepancy_ids, state)

    # --- the register ------------------------------------------------------------------------------------------------
    def load_register(
        self,
        rows: pd.DataFrame,
        loaded_on: dt.date,
        *,
        instruments: pd.DataFrame | None = None,
        events: pd.DataFrame | None = None,
        aliases: pd.DataFrame | None = None,
        by: str = "",
    ) -> RegisterChange:
        """Brings the register up to `rows` (see `auditor.store.register.load`), and adds what is new of the rest."""
        at = decisions.stamp(None)
        beside = ((t.register_instrument, t.INSTRUMENT, instruments), (t.register_event, t.EVENT, events),
                  (t.register_alias, t.ALIAS, aliases))  # fmt: skip
        with self._connection(writing=True) as connection:
            change = register.load(connection, rows, loaded_on, by, at)
            for table, kinds, frame in beside:
                if frame is not None and not frame.empty:
                    register.load_beside(connection, table, kinds, frame, by, at)
            return change

    def register(self, as_of: dt.date | None = None) -> pd.DataFrame:
        """The register now, or as it stood on `as_of`."""
        with self._connection() as connection:
            return register.rows(connection, as_of)

    def register_history(self) -> pd.DataFrame:
        """Every dated row, with valid_from and valid_to (exclusive; NaT for the row that holds now)."""
        with self._connection() as connection:
            return register.history(connection)

    def instruments(self) -> pd.DataFrame:
        with self._connection() as connection:
            return register.beside(connection, t.register_instrument, t.INSTRUMENT)

    def events(self) -> pd.DataFrame:
        """Events of the ventilation (rebalanced, fan changed, moved …), each with the air handler, hood or room."""
        with self._connection() as connection:
            return register.beside(connection, t.register_event, t.EVENT)

    def aliases(self) -> pd.DataFrame:
        """Other spellings of hood tags: alias, hood_id."""
        with self._connection() as connection:
            return register.beside(connection, t.register_alias, t.ALIAS)

    def add_alias(self, alias: str, hood_id: str, by: str) -> None:
        """Keeps another spelling of a hood's tag. ValueError where the hood is not known."""
        if hood_id not in set(self.register()["hood_id"]):
            raise ValueError(f"hood {hood_id!r} is not in the register")
        rows = pd.DataFrame([{"alias": alias, "hood_id": hood_id}])
        with self._connection(writing=True) as connection:
            register.load_beside(connection, t.register_alias, t.ALIAS, rows, by, decisions.stamp(None))

    # --- layout cards ------------------------------------------------------------------------------------------------
    def add_card(self, contractor: str, body: str, by: str = "", *, why: str = "") -> bool:
        """Keeps a layout card (TOML) as the one that now holds for its contractor; False where it did already."""
        with self._connection(writing=True) as connection:
            return cards.add(connection, contractor, body, by, decisions.stamp(None), why)

    def cards(self) -> pd.DataFrame:
        """The layout cards that hold now: contractor, body (TOML), made_by, made_at."""
        with self._connection() as connection:
            return cards.current(connection)

    # --- decisions ---------------------------------------------------------------------------------------------------
    def settle(
        self, survey_id: str, values: Mapping[str, str], evidence: str, by: str, at: dt.datetime | str | None = None
    ) -> None:
        """Keeps facts that a person supplied; the caller judges the survey again. ValueError says what is amiss."""
        with self._connection(writing=True) as connection:
            decisions.settle(connection, survey_id, values, evidence, by, decisions.stamp(at))

    def release(self, survey_ids: Sequence[str], reason: str, by: str, at: dt.datetime | str | None = None) -> None:
        """Keeps that a person accepted held surveys; the caller judges them again. ValueError says what is amiss."""
        with self._connection(writing=True) as connection:
            decisions.release(connection, survey_ids, reason, by, decisions.stamp(at))

    def tag(
        self,
        hood_id: str,
        action: str,
        by: str,
        at: dt.datetime | str | None = None,
        *,
        notice: str = "do not use",
        work_order: str = "",
        note: str = "",
    ) -> None:
        """Keeps that a notice ('do not use', 'restricted') was 'posted' or 'removed'."""
        with self._connection(writing=True) as connection:
            decisions.tag(
                connection, hood_id, action, by, decisions.stamp(at), notice=notice, work_order=work_order, note=note
            )

    def decisions(self, survey_ids: Sequence[str] | None = None) -> pd.DataFrame:
        with self._connection() as connection:
            return decisions.decisions(connection, survey_ids)

    def tags(self) -> pd.DataFrame:
        with self._connection() as connection:
            return decisions.tags(connection)

    def tell(self, failed: pd.DataFrame, by: str = "") -> None:
        """Keeps in the log that these hoods must not be used: hood_id, surveyed_on, survey_id of failed surveys."""
        with self._connection(writing=True) as connection:
            told.tell(connection, failed, by, decisions.stamp(None))

    def told(self) -> pd.DataFrame:
        """Every 'do not use' that was ever told: hood_id, state, since, survey_id."""
        with self._connection() as connection:
            return told.told(connection)

    def verify(self, expected_head: tuple[int, str] | None = None) -> list[str]:
        """What was altered, removed or added behind the log's back; empty when the record is unbroken."""
        with self._connection() as connection:
            return log.breaks(connection, expected_head)

    def head(self) -> tuple[int, str]:
        """Number and hash of the log's last entry, to be written down elsewhere and given to `verify` later."""
        with self._connection() as connection:
            return log.head(connection)

    # --- reading -----------------------------------------------------------------------------------------------------
    def table(self, name: str, **filters: Any) -> pd.DataFrame:
        """A public table, whole or filtered: table('surveys', status='held', building=['Alder', 'Birch'])."""
        with self._connection() as connection:
            return read.table(connection, name, filters)

    def query(self, statement: Any, parameters: Mapping[str, Any] | None = None) -> pd.DataFrame:
        """Rows of a SELECT over the public views or the tables behind them."""
        with self._connection() as connection:
            return read.query(connection, statement, parameters)

    def facts(self, survey_ids: Sequence[str] | None = None) -> tuple[pd.DataFrame, pd.DataFrame]:
        """(surveys, readings) exactly as written, to derive judgements from again."""
        with self._connection() as connection:
            return read.facts(connection, survey_ids)

    def face_readings(self) -> pd.DataFrame:
        """Every face reading that is a number: survey_id, kind, row, column, value, unit, velocity_fpm."""
        with self._connection() as connection:
            return read.face_readings(connection)

    def problems(self, survey_ids: Sequence[str] | None = None) -> pd.DataFrame:
        """What the sheets themselves showed to be wrong, as recorded."""
        with self._connection() as connection:
            return read.problems(connection, survey_ids)

    def sheets(self, sha256: str | None = None) -> pd.DataFrame:
        """What became of each sheet: workbook, sha256, sheet, outcome, reason."""
        with self._connection() as connection:
            return read.sheets(connection, sha256)

    def workbook_bytes(self, sha256: str) -> bytes | None:
        with self._connection() as connection:
            return read.workbook_bytes(connection, sha256)

    def grid_keys(self, fingerprints: Iterable[str]) -> pd.DataFrame:
        """Surveys whose grid has one of these fingerprints (columns: `auditor.store.read.OCCASION`)."""
        with self._connection() as connection:
            return read.grid_keys(connection, fingerprints)

    def occasions(self, keys: Iterable[tuple[str, dt.date]] | None = None) -> pd.DataFrame:
        with self._connection() as connection:
            return read.occasions(connection, keys)

    def copies_of(self, places: Iterable[tuple[str, str]]) -> list[str]:
        """Surveys that are held or superseded, or stand where one does, at one of these (sheet, place): what a
        corrected copy may have to do with."""
        with self._connection() as connection:
            return read.copies_of(connection, places)

    def state(self) -> str:
        """A text that changes whenever something was recorded or decided, for what screens keep in memory."""
        with self._connection() as connection:
            return read.fingerprint_of(connection)
