"""Which hood is meant: rules that cannot take one hood for another, and the register as it stood on the day."""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.survey.identity import match_hoods


def register(*tags, **columns):
    return pd.DataFrame({"hood_id": list(tags), "building": "Wren Hall", "room": "1", **columns})


def match(text, *tags, aliases=None, **columns):
    row = match_hoods(pd.DataFrame({"survey_id": ["s"], "hood": [text]}), register(*tags, **columns), aliases).iloc[0]
    return row["hood_id"], row["hood_match"]


@pytest.mark.parametrize(
    ("text", "tag", "rule"),
    [
        ("FH-214", "FH-214", "exact"), (" FH-214 ", "FH-214", "exact"), ("fh-214", "FH-214", "case"),
        ("FH 214", "FH-214", "marks"), ("fh214", "FH-214", "marks"), ("FH_214", "FH-214", "marks"),
        ("FH-0214", "FH-214", "zeros"), ("H9", "H-009", "zeros"), ("Hood #214", "FH-214", "prefix"),
        ("Fume Hood 214", "FH-214", "prefix"), ("214", "FH-214", "prefix"), ("Hood No. D-A1000", "D-A1000", "prefix"),
        ("ＦＨ－214", "FH-214", "case"),
    ],
)  # fmt: skip
def test_spellings_of_one_tag(text, tag, rule):
    assert match(text, "FH-214", "H-009", "D-A1000") == (tag, rule)


@pytest.mark.parametrize("text", ["B-21-4", "B214", "FH-215", "214A", "", None, "Hood", "B-2-14-1"])
def test_what_is_not_certain_is_not_matched(text):
    assert match(text, "B-2-14", "FH-214")[0] is None


def test_a_key_that_two_hoods_share_is_not_used():
    assert match("fh-1", "FH-1", "Fh-1") == (None, None)
    assert match("FH-1", "FH-1", "Fh-1") == ("FH-1", "exact")
    assert match("FH 01", "FH-1", "FH-001") == (None, None)
    assert match("214", "FH-214", "BSC-214") == (None, None)


def test_a_cabinet_is_not_taken_for_a_hood():
    assert match("BSC 214", "FH-214")[0] is None
    assert match("Hood 7", "BSC-7")[0] is None
    assert match("BSC 7", "BSC-007") == ("BSC-007", "zeros")
    assert match("Hood BSC-7", "BSC-7") == ("BSC-7", "prefix")
    assert match("BSC 31", "31", hood_type="particulate cabinet") == ("31", "prefix")


def test_aliases_of_the_register():
    assert match("old 12", "FH-214", aliases={"OLD 12": "FH-214"}) == ("FH-214", "alias")
    assert match("FH-214", "FH-214", "X-1", aliases={"FH-214": "X-1"}) == ("FH-214", "exact")


def test_the_nearest_tag_is_only_suggested():
    row = match_hoods(pd.DataFrame({"survey_id": ["s"], "hood": ["D-A1001"]}), register("D-A1000", "X-77")).iloc[0]
    assert (row["hood_id"], row["hood_suggestion"]) == (None, "D-A1000")


TAGS = st.text("ABab019-_ #", min_size=1, max_size=7)


@given(TAGS, st.lists(TAGS, min_size=1, max_size=6, unique=True), TAGS)
@settings(max_examples=150, deadline=None)
def test_one_more_hood_never_turns_a_match_into_another_hood(text, tags, more):
    before, _ = match(text, *tags)
    after, _ = match(text, *dict.fromkeys([*tags, more]))
    assert after in (before, None, more)


@given(st.lists(TAGS, min_size=1, max_size=6, unique=True))
@settings(max_examples=100, deadline=None)
def test_every_tag_of_the_register_finds_itself(tags):
    frame = pd.DataFrame({"survey_id": range(len(tags)), "hood": tags})
    got = match_hoods(frame, register(*tags))["hood_id"].tolist()
    stripped = [t.strip() for t in tags]
    assert all(
        g == t
        for g, t in zip(got, tags, strict=True)
        if t.strip() and stripped.count(t.strip()) == 1 and t == t.strip()
    )


def test_the_register_as_it_stood_on_the_day():
    dated = pd.DataFrame(
        {
            "hood_id": ["H-1", "H-1", "H-2"],
            "building": ["Old Hall", "New Hall", "Wren Hall"],
            "room": ["1", "2", "3"],
            "valid_from": pd.to_datetime([None, "2025-06-01", "2024-01-01"]),
            "valid_to": pd.to_datetime(["2025-06-01", None, None]),
        }
    ).iloc[[2, 1, 0]]
    days = ["2025-05-31", "2025-06-01", None, "2026-01-01", "2020-01-01"]
    surveys = pd.DataFrame(
        {"survey_id": range(5), "hood": ["H-1", "H-1", "H-1", "H-1", "H-2"], "surveyed_on": pd.to_datetime(days)}
    )
    out = match_hoods(surveys, dated)
    assert out["register_building"].tolist() == ["Old Hall", "New Hall", "New Hall", "New Hall", "Wren Hall"]


def test_an_empty_register_matches_nothing():
    out = match_hoods(pd.DataFrame({"survey_id": [1], "hood": ["H-1"]}), register())
    assert out["hood_id"].isna().all()
    assert out["register_building"].isna().all()
