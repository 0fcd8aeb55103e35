"""From units as written to ft/min and inches; nothing is guessed where a unit is missing."""

import numpy as np
import pandas as pd
import pytest

from auditor.survey import normalise
from auditor.survey.columns import NORMALISED, READINGS_NORMALISED
from tests.criteria.builders import readings_of, survey


def test_lengths_and_velocities():
    row, readings = survey(
        "0.5 <0.1 ERR",
        "",
        unit="m/s",
        sash=457.2,
        sash_height_unit="mm",
        reported_mean=0.508,
        monitor=100.0,
        monitor_unit="ft/min",
    )
    wide, read = normalise(pd.DataFrame([row]), pd.DataFrame(readings))
    s = wide.iloc[0]
    assert (s["sash_height_in"], s["reported_mean_fpm"], s["monitor_fpm"]) == (18, 100, 100)
    assert set(NORMALISED) <= set(wide)
    assert set(READINGS_NORMALISED) <= set(read)
    assert read["velocity_fpm"].tolist() == pytest.approx([98.4251969, np.nan, np.nan], nan_ok=True)
    assert read["bound_fpm"].tolist() == pytest.approx([np.nan, 19.68503937, np.nan], nan_ok=True)
    assert row["sash_height"] == 457.2  # what was written stays


def test_without_its_unit_a_quantity_is_missing():
    row, readings = survey("100", unit=None, sash_height_unit=None, monitor=95.0)
    wide, read = normalise(pd.DataFrame([row]), pd.DataFrame(readings))
    assert wide[["sash_height_in", "monitor_fpm", "reported_mean_fpm"]].isna().all(axis=None)
    assert read["velocity_fpm"].isna().all()


def test_a_number_that_was_not_read_with_certainty_gives_no_velocity():
    rows = readings_of("s", "face", "100 100")
    rows[1]["outcome"] = "not-numeric"
    _, read = normalise(pd.DataFrame([survey()[0]]), pd.DataFrame(rows))
    assert read["velocity_fpm"].isna().tolist() == [False, True]


def test_empty_frames():
    row, readings = survey()
    wide, read = normalise(pd.DataFrame([row]).iloc[:0], pd.DataFrame(readings).iloc[:0])
    assert not len(wide)
    assert not len(read)
    assert "velocity_fpm" in read
