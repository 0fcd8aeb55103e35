"""Profiles as data: what ships, what is refused and how, and how they are told to people."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.criteria import ProfileError, combine, describe, load_profiles
from auditor.criteria.grading import grade_numbers
from tests.criteria.builders import PROFILES

OWN = """
name = "tern-hill"
title = "Tern Hill"
version = "3"
source = "Tern Hill safety committee"
mark = "campus"
extends = ["common-practice"]

[[limit]]
criterion = "face-mean-low"
unit = "ft/min"
pass = { at_least = 90 }
beyond = "fail"
"""


def load(tmp_path, text):
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    return load_profiles([tmp_path])


def test_the_default_and_at_least_twelve_more_are_in_use():
    in_use = [p for p in PROFILES.values() if p.enabled and not p.overlay]
    assert "common-practice" in PROFILES
    assert len(in_use) >= 13


def test_every_limit_has_its_source_and_mark_and_what_is_from_memory_is_off():
    for profile in PROFILES.values():
        for limit in profile.limits:
            assert limit.source
            assert limit.mark
            assert limit.mark != "M" or not profile.enabled
        if profile.mark == "M":
            assert not profile.enabled
            assert "unconfirmed" in profile.label


def test_the_default_has_no_source_but_common_practice():
    assert {limit.source for limit in PROFILES["common-practice"].limits} == {"common practice"}


def test_common_practice_figures():
    rows = {(r["criterion"], r["grade"]): r["limit"] for r in describe(PROFILES["common-practice"])}
    assert rows["face-mean-low", "pass"] == "at least 80 ft/min, else restricted"
    assert rows["face-mean-low", "restricted"] == "at least 60 ft/min, else fail"
    assert rows["face-mean-high", "pass"] == "at most 150 ft/min, else restricted"
    assert rows["face-point-low", "pass"] == "at least 60 ft/min, else fail"
    assert rows["face-point-spread", "pass"] == "at most 25 % from the mean, else restricted"
    assert rows["cross-draft-absolute", "pass"] == "at most 20 ft/min, else restricted"
    assert rows["cross-draft-relative", "pass"] == "at most 20 %, else restricted"
    required = {r["criterion"] for r in describe(PROFILES["common-practice"]) if r["required"]}
    assert required == {
        "face-mean-low", "face-mean-high", "face-point-low", "face-point-spread", "cross-draft-absolute",
        "cross-draft-relative", "smoke-local",
    }  # fmt: skip


@given(st.sampled_from(sorted(PROFILES)), st.floats(-1e4, 1e4))
@settings(max_examples=200, deadline=None)
def test_the_grades_of_every_limit_cover_the_whole_line(name, value):
    import numpy as np

    for limit in PROFILES[name].limits:
        if limit.passes:
            near = [value, limit.passes.value, np.nextafter(limit.passes.value, np.inf)]
            near += [limit.restricted.value] if limit.restricted else []
            assert set(grade_numbers(limit, np.array(near))) <= {"pass", "restricted", "fail"}
        else:
            assert set(limit.outcomes.values()) <= {"pass", "restricted", "fail"}


@given(st.sampled_from(sorted(PROFILES)), st.floats(-300, 300), st.floats(0, 100))
@settings(max_examples=200, deadline=None)
def test_further_out_is_never_better(name, value, further):
    import numpy as np

    order = ["pass", "restricted", "fail"]
    for limit in PROFILES[name].limits:
        if limit.passes:
            out = value - further if limit.side == "low" else value + further
            a, b = grade_numbers(limit, np.array([value, out]))
            assert order.index(b) >= order.index(a)


def test_a_campus_extends_a_profile(tmp_path):
    own = load(tmp_path, OWN)["tern-hill"]
    lows = [limit for limit in own.limits if limit.criterion == "face-mean-low"]
    assert len(lows) == 1
    assert lows[0].passes.value == 90
    assert lows[0].restricted is None
    assert lows[0].cited == "Tern Hill safety committee"
    assert own.interval.by_type == {"radioisotope": 6}
    assert len(own.limits) == len(PROFILES["common-practice"].limits)


BROKEN = {
    "not a TOML file": 'name = "x',
    "title is missing": 'name = "x"',
    "'colour' is not understood": OWN + "\n[colour]\nred = 1\n",
    "'at_leest' is not|pass needs one of at_least": OWN.replace("at_least", "at_leest"),
    "pass needs one of at_least": OWN.replace("at_least", "at_most"),
    "unit is 'furlongs'": OWN.replace('"ft/min"', '"furlongs"'),
    "criterion is 'face-mean'": OWN.replace("face-mean-low", "face-mean"),
    "it extends 'nothing'": OWN.replace('"common-practice"', '"nothing"'),
    "already called 'common-practice'": OWN.replace('"tern-hill"', '"common-practice"'),
    "mark is 'Z'": OWN.replace('"campus"', '"Z"'),
    "needs 'enabled = false'": OWN.replace('"campus"', '"M"'),
    "should reach further out": OWN.replace('beyond = "fail"', 'restricted = { at_least = 95 }\nbeyond = "fail"'),
    "beyond it can only be 'fail'": OWN.replace(
        'beyond = "fail"', 'restricted = { at_least = 70 }\nbeyond = "restricted"'
    ),
    "no limits for smoke": OWN.replace('extends = ["common-practice"]', 'required = ["face-mean-low"]'),
    "for which it has no limit": OWN.replace("extends", 'required = ["tracer-gas"]\nextends'),
    "two limits for one criterion": OWN + OWN[OWN.index("[[limit]]") :],
    "drop names": OWN.replace("extends", 'drop = ["tracer-gas"]\nextends'),
    "should be a str": OWN.replace('version = "3"', "version = 3"),
    "months should lie between": OWN.replace("[[limit]]", "[interval]\nmonths = 0\n\n[[limit]]"),
    "by_type names the profile 'nothing'": OWN.replace("extends", 'by_type = { low-flow = "nothing" }\nextends'),
    "a type in by_type is 'odd'": OWN.replace("extends", 'by_type = { odd = "common-practice" }\nextends'),
    "may not hold": OWN.replace('"tern-hill"', '"a + b"'),
}


@pytest.mark.parametrize("message", BROKEN)
def test_a_broken_profile_is_refused_with_file_and_reason(tmp_path, message):
    with pytest.raises(ProfileError, match=rf"own\.toml.*(?:{message})"):
        load(tmp_path, BROKEN[message])


def test_a_profile_cannot_extend_itself(tmp_path):
    (tmp_path / "b.toml").write_text(OWN.replace('"tern-hill"', '"other"').replace('"common-practice"', '"tern-hill"'))
    with pytest.raises(ProfileError, match="cannot extend itself"):
        load(tmp_path, OWN.replace('"common-practice"', '"other"'))


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(ProfileError, match="no such folder"):
        load_profiles([tmp_path / "none"])


def test_profiles_are_joined_by_plus():
    joined = combine(PROFILES, "california-100-70 + draft-30pct")
    assert joined is not None
    assert joined.enabled
    assert not joined.overlay
    [relative] = [limit for limit in joined.limits if limit.criterion == "cross-draft-relative"]
    assert (relative.passes.value, relative.passes.strict) == (30, True)
    assert "cross-draft-relative" in joined.required
    assert combine(PROFILES, "california-100-70 + nothing") is None
    assert not combine(PROFILES, "common-practice + draft-30fpm").enabled


def test_a_description_names_value_unit_strictness_clause_source_and_mark():
    [low] = [r for r in describe(PROFILES["california-100-70"]) if r["criterion"] == "face-point-low"]
    assert (low["value"], low["unit"], low["strict"], low["beyond"]) == (70, "ft/min", False, "fail")
    assert (low["clause"], low["mark"]) == ("(c)(1)", "S")
    assert "5154.1" in low["source"]
    assert "within 1 in" in low["limit"]
