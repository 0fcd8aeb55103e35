"""Tracer-gas ratings in their usual notations (form of ANSI/ASHRAE 110, as shown in the LBNL design guide)."""

import pandas as pd
import pytest

from auditor.survey.tracer import Tracer, parse_tracer, tracer_columns


@pytest.mark.parametrize(
    ("text", "due"),
    [
        ("4.0-AM-0.05", Tracer(4.0, "AM", 0.05)),
        ("4 AI 0.1", Tracer(4.0, "AI", 0.1)),
        ("4.0AU0.10", Tracer(4.0, "AU", 0.1)),
        ("4.0 au .05 ppm", Tracer(4.0, "AU", 0.05)),
        ("4 L/min AI 0.02", Tracer(4.0, "AI", 0.02)),
        ("4 AM ND", Tracer(4.0, "AM", not_detected=True)),
        ("4 AM <0.01", Tracer(4.0, "AM", None, 0.01)),
        ("4.0 AM 050", Tracer(4.0, "AM", 0.05)),  # three digits with a leading zero are ppb
        ("4.0 AI 100 ppb", Tracer(4.0, "AI", 0.1)),
        ("4.0 AI 100", Tracer(4.0, "AI")),  # ppm or ppb: it does not say
        ("0.05 ppm", Tracer(ppm=0.05)),
        ("ND", Tracer(not_detected=True)),
        ("see report", Tracer()),
        ("", Tracer()),
        (None, Tracer()),
    ],
)
def test_notations(text, due):
    assert parse_tracer(text) == due


def test_columns():
    out = tracer_columns(pd.DataFrame({"tracer": ["4.0-AM-0.05", None]}, index=[7, 9]))
    assert out.loc[7].tolist() == [4.0, "AM", 0.05, pytest.approx(float("nan"), nan_ok=True)]
    assert out.loc[9].isna().all()
