"""Helpers on frames: columns that may be absent, and sums over groups, against pandas."""

import datetime as dt

import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from auditor.survey.frames import at, days, flags, group_argmax, group_argmin, group_mean, group_sd, numbers, texts

VALUES = st.lists(st.tuples(st.integers(0, 4), st.integers(-50, 50)), max_size=30)


def test_dates_with_and_without_a_time_are_both_read():
    column = ["2026-03-02", "2026-03-02T10:30:00", dt.date(2026, 3, 2), None, "junk", "0001-01-01"]
    got = days(pd.DataFrame({"d": pd.Series(column, dtype=object)}), "d")
    assert [str(d) for d in got] == [
        "2026-03-02T00:00:00", "2026-03-02T10:30:00", "2026-03-02T00:00:00", "NaT", "NaT", "0001-01-01T00:00:00",
    ]  # fmt: skip


def test_a_column_that_is_not_there_is_missing_throughout():
    frame = pd.DataFrame({"x": [1, 2]})
    assert np.isnan(numbers(frame, "y")).all()
    assert texts(frame, "y").tolist() == [None, None]
    assert np.isnat(days(frame, "y")).all()
    assert flags(frame, "y", True).tolist() == [True, True]


@given(VALUES)
def test_groups_agree_with_pandas_in_any_order(pairs):
    codes, values = np.array([c for c, _ in pairs], dtype=int), np.array([v for _, v in pairs], dtype=float)
    grouped = pd.Series(values).groupby(codes)
    for mine, theirs in ((group_mean(codes, values, 5), grouped.mean()), (group_sd(codes, values, 5), grouped.std())):
        np.testing.assert_allclose(mine, theirs.reindex(range(5)).to_numpy(), rtol=1e-9, atol=1e-9)
    for mine, theirs in (
        (group_argmin(codes, values, 5), grouped.idxmin()),
        (group_argmax(codes, values, 5), grouped.idxmax()),
    ):
        assert mine.tolist() == theirs.reindex(range(5), fill_value=-1).tolist()  # the first of equals


def test_positions_that_are_missing():
    assert at(np.array([5.0, 6.0]), np.array([1, -1])).tolist()[0] == 6
    assert np.isnan(at(np.array([5.0, 6.0]), np.array([1, -1]))[1])
    assert at(np.array(["a", "b"], dtype=object), np.array([-1, 0]), None).tolist() == [None, "a"]
