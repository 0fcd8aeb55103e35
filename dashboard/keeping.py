"""Answers kept in memory, each worked out once however many ask for it at the same time; the least used go first."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as TooLong
from typing import Any


class Keeper:
    """At most `max_entries` answers. Frames are shared between those who ask: nobody may change one."""

    def __init__(self, max_entries: int = 300) -> None:
        self._max = max_entries
        self._kept: OrderedDict[Hashable, Future] = OrderedDict()
        self._lock = threading.Lock()
        self._behind = ThreadPoolExecutor(max_workers=1, thread_name_prefix="answers")

    def ask(self, key: Hashable, work_out: Callable[[], Any]) -> Any:
        """The answer kept under `key`, else worked out now. What it raises is raised, and not kept."""
        future, mine = self._slot(key)
        if mine:
            self._fill(key, future, work_out)
        return future.result()

    def ask_later(self, key: Hashable, work_out: Callable[[], Any], wait_s: float) -> Any | None:
        """The same, worked out behind the scenes; None where it takes longer than `wait_s`."""
        future, mine = self._slot(key)
        if mine:
            self._behind.submit(self._fill, key, future, work_out)
        try:
            return future.result(timeout=wait_s)
        except TooLong:
            return None

    def _slot(self, key: Hashable) -> tuple[Future, bool]:
        """The future under `key`, and whether it is the caller's to fill."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key], False
            future: Future = Future()
            self._kept[key] = future
            while len(self._kept) > self._max:
                self._kept.popitem(last=False)
            return future, True

    def _fill(self, key: Hashable, future: Future, work_out: Callable[[], Any]) -> None:
        try:
            future.set_result(work_out())
        except BaseException as trouble:
            with self._lock:
                self._kept.pop(key, None)
            future.set_exception(trouble)
            if not isinstance(trouble, Exception):
                raise
