"""The whole audit over a folder of random workbooks, sound and faulty together, as one campus would receive them."""

from __future__ import annotations

import pytest

from tests.layouts.generator import FAULTS, make_case
from tests.layouts.pipeline import exported_here, judge_tables


def test_a_mixed_batch_is_read_right_or_held(capsys: pytest.CaptureFixture[str]) -> None:
    """Cases share one store: their hoods differ by seed, so that none contradicts another."""
    cases = [make_case(seed) for seed in range(600, 640)]
    cases += [make_case(700 + 2 * i + k, fault) for i, fault in enumerate(FAULTS) for k in (0, 1)]
    tally = judge_tables(cases, exported_here(cases))
    with capsys.disabled():
        print(f"\n{len(cases)} random workbooks through the whole audit: {tally.summary()}")
    never = [f"{name} [{o.sheet}] {o.kind}: {o.detail}" for _, name, o in tally.failures if o.kind in
             ("wrong", "invented", "missed", "crash", "lost")]  # fmt: skip
    assert not never, "\n".join(never)
    assert tally.kinds["read right"] >= 0.9 * tally.sound, tally.summary()
    assert tally.codes_lost <= 0.05 * tally.codes_due, tally.summary()
