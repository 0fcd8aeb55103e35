"""Hundreds of random layouts, the planted faults and the hand-made hard sheets: read right or held, never wrong.

`python -m tests.layouts.run` names the seeds of failures; `--count 5000` goes further than this test does.
"""

from __future__ import annotations

import pytest

from tests.layouts.faults import ONLY_CAUTION
from tests.layouts.generator import FAULTS
from tests.layouts.hard_cases import hard_cases
from tests.layouts.run import Tally, random_cases, run

SOUND, PER_FAULT = 300, 8


def _told(tally: Tally, kinds: set[str]) -> str:
    named = [f"{label} [{o.sheet}] {o.kind}: {o.detail}" for label, _, o in tally.failures if o.kind in kinds]
    return "\n".join([tally.summary(), *named[:20]])


def test_sound_layouts_are_read_and_never_misread(capsys: pytest.CaptureFixture[str]) -> None:
    tally = run(random_cases(SOUND, 0, None))
    with capsys.disabled():
        print(f"\n{SOUND} random sound workbooks: {tally.summary()}")
    assert tally.bad == 0, _told(tally, {"wrong", "invented", "missed", "crash"})
    share = tally.kinds["read right"] / tally.sound
    assert share >= 0.95, f"{share:.1%} read\n" + _told(tally, {"held though sound", "lost"})


def test_every_planted_fault_is_held_or_named(capsys: pytest.CaptureFixture[str]) -> None:
    whole = Tally()
    for fault in FAULTS:
        tally = run(random_cases(PER_FAULT, 0, fault))
        assert tally.bad == 0, fault + ": " + _told(tally, {"wrong", "invented", "missed", "crash"})
        if fault not in ONLY_CAUTION:
            assert tally.kinds["held right"] + tally.kinds["later"] + tally.kinds["held, other code"] >= PER_FAULT, (
                fault
            )
        whole.kinds += tally.kinds
        whole.codes_due += tally.codes_due
        whole.codes_lost += tally.codes_lost
        whole.layouts += tally.layouts
        whole.layouts_whole += tally.layouts_whole
        whole.failures += tally.failures
    with capsys.disabled():
        print(f"\n{PER_FAULT} random workbooks for each of {len(FAULTS)} faults: {whole.summary()}")
    assert whole.codes_lost <= 0.05 * whole.codes_due, _told(whole, {"held, other code", "held though sound"})


def test_hard_sheets_are_read_or_held(capsys: pytest.CaptureFixture[str]) -> None:
    cases = hard_cases()
    tally = run((case.name, case) for case in cases)
    with capsys.disabled():
        print(f"\n{len(cases)} hand-made hard workbooks: {tally.summary()}")
    assert tally.bad == 0, _told(tally, {"wrong", "invented", "missed", "crash"})
    share = tally.kinds["read right"] / tally.sound
    assert share >= 0.9, f"{share:.1%} read\n" + _told(tally, {"held though sound", "lost"})
    assert tally.kinds["held, other code"] <= 3, _told(tally, {"held, other code"})
