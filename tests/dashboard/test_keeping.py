"""Answers are worked out once, shared, dropped when they are too many, and never kept when they failed."""

from __future__ import annotations

import threading

import pytest

from dashboard.keeping import Keeper


def test_one_who_asks_while_another_works_it_out_waits_for_that_answer() -> None:
    keeper, begun, go, calls = Keeper(), threading.Event(), threading.Event(), []

    def slow() -> str:
        calls.append(1)
        begun.set()
        assert go.wait(10)
        return "answer"

    found: list[str] = []
    threads = [threading.Thread(target=lambda: found.append(keeper.ask("k", slow))) for _ in range(4)]
    threads[0].start()
    assert begun.wait(10)
    for thread in threads[1:]:
        thread.start()
    assert keeper.ask_later("k", slow, wait_s=0.01) is None
    go.set()
    for thread in threads:
        thread.join(10)
    assert found == ["answer"] * 4
    assert len(calls) == 1


def test_trouble_is_told_and_asked_again_next_time() -> None:
    keeper = Keeper()

    def trouble() -> None:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        keeper.ask("k", trouble)
    assert keeper.ask("k", lambda: 3) == 3
    with pytest.raises(ValueError, match="no"):
        keeper.ask_later("other", trouble, wait_s=10)


def test_the_least_used_go_first() -> None:
    keeper = Keeper(max_entries=2)
    for key in ("a", "b"):
        keeper.ask(key, lambda key=key: key)
    keeper.ask("a", lambda: "anew")
    keeper.ask("c", lambda: "c")
    assert keeper.ask("a", lambda: "anew") == "a"
    assert keeper.ask("b", lambda: "anew") == "anew"
