"""Uncertainty of a hood's mean and decisions that allow for it, against GUM, JCGM 106 and ILAC-G8 figures."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.criteria.uncertainty import (
    Instruments,
    combined,
    conformity_of,
    expanded,
    guarded,
    probability_of_conformity,
)
from tests.criteria.builders import judged, survey


def test_e15_uncertainty_of_a_hood_mean():
    # GUM: mean 100, s = 10, n = 9, instrument +-3 ft/min rectangular
    instrument = 3 / np.sqrt(3)
    assert instrument == pytest.approx(1.732, abs=0.0005)
    u = combined(instrument, 10, 9)
    assert u == pytest.approx(3.756, abs=0.005)
    assert expanded(u) == pytest.approx(7.51, abs=0.005)


def test_e12_jcgm_106_examples():
    # JCGM 106:2012 7.3.3, examples 1 and 2 (their data from memory; printed 0.92 and 0.99)
    assert probability_of_conformity(-5.47, 0.05, upper=-5.40) == pytest.approx(0.91924, abs=1e-5)
    assert probability_of_conformity(509.7, 8.6, lower=490) == pytest.approx(0.98901, abs=1e-5)


def test_e13_guard_band_about_80():
    # limit 80 ft/min, u = 1.5 (normal distribution)
    p = probability_of_conformity([80, 82.9, 83.3, 85], 1.5, lower=80)
    assert p == pytest.approx([0.5, 0.9734, 0.9861, 0.9996], abs=1e-4)
    # at the acceptance limit with w = U the risk that is left is 2.275 %, with w = 1.645 u it is 5 %
    assert 1 - probability_of_conformity(83, 1.5, lower=80) == pytest.approx(0.02275, abs=1e-5)
    assert 1 - probability_of_conformity(80 + 1.645 * 1.5, 1.5, lower=80) == pytest.approx(0.05, abs=1e-4)


def test_ilac_g8_grades():
    # ILAC-G8:09/2019, 4.2.3: non-binary statement with guard band w = U
    grades = guarded([3.1, 3.0, 2.9, 0, -0.1, -3.0, -3.1, np.nan], 3.0)
    assert grades.tolist() == [
        "pass", "pass", "conditional pass", "conditional pass", "conditional fail", "conditional fail", "fail",
        "not judged",
    ]  # fmt: skip


@given(st.floats(-100, 100), st.floats(0.1, 50), st.floats(0, 20))
def test_a_smaller_margin_is_never_a_better_grade(margin, uncertainty, less):
    order = ["pass", "conditional pass", "conditional fail", "fail"]
    before, after = guarded([margin, margin - less], uncertainty)
    assert order.index(after) >= order.index(before)


def instruments(kind=None, records=None, velocity=100.0, **fields):
    made = Instruments(pd.DataFrame({"survey_id": ["s"], "instrument_kind": [kind], **fields}), records)
    return made.standard(np.array([velocity]))[0] * np.sqrt(3), made.basis[0]


def test_statements_of_instruments():
    assert instruments("thermal", velocity=50.0)[0] == pytest.approx(3)  # the larger of 3 % and 3 ft/min
    assert instruments("thermal", velocity=200.0)[0] == pytest.approx(6)
    assert instruments("vane", velocity=100.0)[0] == pytest.approx(6)  # 2 % and 4 ft/min
    half_width, basis = instruments(None)
    assert half_width == pytest.approx(3)
    assert basis.startswith("kind of instrument not known")


def test_an_instruments_own_record_comes_first():
    records = pd.DataFrame(
        {
            "instrument_id": ["A-7"],
            "kind": ["vane"],
            "accuracy_percent": [1.0],
            "accuracy_fpm": [1.0],
            "accuracy_rule": ["sum"],
        }
    )
    assert instruments("thermal", records, instrument_id=["A-7"]) == (
        pytest.approx(2),
        "the instrument's own statement",
    )
    assert instruments("thermal", records, instrument_id=["B-1"])[0] == pytest.approx(3)
    kind_only = pd.DataFrame({"instrument_id": ["A-7"], "kind": ["vane"]})
    assert instruments(None, kind_only, instrument_id=["A-7"])[0] == pytest.approx(6)


def guarded_outcomes(face, **kw):
    f = judged(survey(face, **kw)).findings
    return dict(zip(f["criterion"], f["guarded_outcome"], strict=True))


def test_each_criterion_is_guarded_at_its_pass_grade_and_the_worst_counts():
    # thermal +-3 ft/min rectangular, resolution 1 ft/min: u = 1.756, U = 3.51 about 80
    for mean, grade in ((84, "pass"), (83, "conditional pass"), (79, "conditional fail"), (76, "fail")):
        assert guarded_outcomes(f"9x{mean}")["face-mean-low"] == grade
    verdicts = judged(survey("9x83", survey_id="a"), survey("9x79", survey_id="b")).verdicts
    assert verdicts["verdict"].tolist() == ["pass", "restricted"]
    assert verdicts["guarded_verdict"].tolist() == ["conditional pass", "conditional fail"]


def test_what_is_not_judged_has_no_guarded_grade():
    assert guarded_outcomes("8x100 blank")["face-mean-low"] == "not judged"
    assert judged(survey("9x100", "")).verdicts["guarded_verdict"].tolist() == ["not judged"]
    # but a breach of something else is told
    assert judged(survey("8x100 38", "")).verdicts["guarded_verdict"].tolist() == ["fail"]


def test_the_expanded_uncertainty_stands_in_the_limits_unit():
    f = judged(survey("9x0.5", "0.05", unit="m/s"), profile="canada-bands").findings.set_index("criterion")
    assert f.loc["face-mean-low", "unit"] == "m/s"
    # 98.4 ft/min: +-3 ft/min rectangular and 1 ft/min resolution, in m/s
    assert f.loc["face-mean-low", "expanded_uncertainty"] == pytest.approx(2 * np.sqrt(3 + 1 / 12) * 0.00508, rel=1e-6)


def test_the_probability_of_conformity_of_a_finding():
    f = judged(survey("9x80"), survey("9x100", survey_id="b")).findings
    low = f[f["criterion"] == "face-mean-low"]
    assert conformity_of(low).tolist() == [pytest.approx(0.5), pytest.approx(1, abs=1e-6)]
    assert np.isnan(conformity_of(f[f["criterion"] == "smoke-local"])).all()
