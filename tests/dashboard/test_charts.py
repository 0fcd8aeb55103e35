"""Charts by their specification: what is drawn, in which shape, with which numbers."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from dashboard.charts.grid import change_map, draft_bars, grid_map, opening_shape
from dashboard.charts.plan import floor_plan
from dashboard.charts.rates import pass_rates, share_matrix
from dashboard.charts.style import styled
from dashboard.charts.trend import limit_labels, trend_line
from dashboard.units import FPM, MPS


def marks(spec: dict[str, Any]) -> list[str]:
    return [layer["mark"] if isinstance(layer["mark"], str) else layer["mark"]["type"] for layer in spec["layer"]]


def rows(spec: dict[str, Any]) -> list[dict[str, Any]]:
    return [row for data in spec["datasets"].values() for row in data]


RATES = pd.DataFrame(
    {
        "group": ["Alder", "Birch"], "rate": [0.9, 0.5], "low": [0.6, 0.3], "high": [0.98, 0.7], "judged": [10, 20],
        "rate_before": [0.8, None], "low_before": [0.5, None], "high_before": [0.95, None], "judged_before": [10, None],
    }
)  # fmt: skip


def test_pass_rates_show_the_interval_the_number_of_hoods_and_the_year_before() -> None:
    spec = pass_rates(RATES, 2026).to_dict()
    assert marks(spec) == ["rule", "point", "text"]
    said = {(row["group"], row["year"]): row["said"] for row in rows(spec)}
    assert said == {
        ("Alder", "2026"): "90 % of 10 hoods",
        ("Birch", "2026"): "50 % of 20 hoods",
        ("Alder", "2025"): "80 % of 10 hoods",
    }
    assert spec["layer"][0]["encoding"]["x"]["field"] == "low"
    assert spec["layer"][0]["encoding"]["x2"]["field"] == "high"
    assert spec["layer"][1]["encoding"]["shape"]["scale"]["range"] == ["circle", "diamond"]
    assert spec["layer"][1]["encoding"]["x"]["scale"]["domain"] == [0, 1]


def test_a_matrix_writes_failures_of_surveys_into_every_field() -> None:
    frame = pd.DataFrame(
        {"group": ["R1", "R1"], "year": [2025, 2026], "surveys": [4, 5], "failures": [1, 4], "share": [0.25, 0.8]}
    )
    spec = share_matrix(frame, "Room").to_dict()
    assert marks(spec) == ["rect", "text"]
    assert {row["said"] for row in rows(spec)} == {"1 of 4", "4 of 5"}


READINGS = pd.DataFrame(
    {
        "kind": ["face"] * 4 + ["cross-draft"], "row": [1, 1, 2, 2, None], "column": [1, 2, 1, 2, None],
        "velocity_fpm": [100.0, 55.0, 98.0, None, 25.0], "written": ["100", "55", "98", "n/a", "25"],
        "cell": ["B2", "C2", "B3", "C3", "B5"],
        "beyond": ["", "below the lowest point allowed", "", "", "above the cross-draft limit"],
        "deviation_percent": [18.6, -34.8, 16.2, None, None], "position": [None, None, None, None, "left"],
        "direction": [None, None, None, None, "parallel"],
    }
)  # fmt: skip
ABOUT = {"opening_width_in": 60.0, "sash_height_in": 20.0, "opening_height_in": 28.0, "grid_rows": 2, "grid_columns": 2}


def test_the_grid_has_the_shape_of_the_opening_and_its_numbers_written_in() -> None:
    spec = grid_map(READINGS, ABOUT, FPM).to_dict()
    assert spec["width"] / spec["height"] == pytest.approx(60 / 20, rel=0.01)
    said = {row["cell"]: row["said"] for row in rows(spec)}
    assert said == {"B2": "100", "C2": "▼ 55", "B3": "98", "C3": "? n/a"}
    edge = next(layer for layer in spec["layer"] if layer["encoding"].get("stroke"))
    assert edge["transform"] == [{"filter": "datum.broken"}]
    assert [row["cell"] for row in rows(spec) if row["broken"]] == ["C2"]


def test_the_grid_in_metres_per_second_is_the_same_grid() -> None:
    said = {row["cell"]: row["said"] for row in rows(grid_map(READINGS, ABOUT, MPS).to_dict())}
    assert said == {"B2": "0.51", "C2": "▼ 0.28", "B3": "0.50", "C3": "? n/a"}


def test_without_a_size_the_grid_has_the_shape_of_its_cells() -> None:
    width, height = opening_shape({"grid_rows": 2, "grid_columns": 4})
    assert width / height == pytest.approx(2, rel=0.01)


def test_cross_drafts_stand_beside_both_limits() -> None:
    limits = pd.DataFrame(
        {"criterion": ["cross-draft-absolute", "cross-draft-relative"], "grade": ["pass", "pass"],
         "value": [20.0, 20.0],
         "value_fpm": [20.0, 16.9]}
    )  # fmt: skip
    spec = draft_bars(READINGS, limits, FPM).to_dict()
    assert marks(spec) == ["bar", "text", "rule"]
    labels = [row["label"] for row in rows(spec) if "label" in row]
    assert labels == ["at most 20 ft/min", "at most 20 % of the mean, here 17 ft/min"]
    assert [row["said"] for row in rows(spec) if "said" in row] == ["▲ 25"]


def test_a_trend_has_a_shape_and_a_colour_per_verdict_and_its_limits_named() -> None:
    surveys = pd.DataFrame(
        {
            "surveyed_on": pd.to_datetime(["2025-03-01", "2026-03-01"]), "face_mean_fpm": [99.0, 70.0],
            "verdict": ["pass", "restricted"], "contractor": ["Amber", None],
        }
    )  # fmt: skip
    rows_of_profile = pd.DataFrame(
        {"criterion": ["face-mean-low", "face-mean-low", "face-mean-high", "face-point-low"],
         "grade": ["pass", "restricted", "pass", "pass"], "value_fpm": [80.0, 60.0, 150.0, 60.0]}
    )  # fmt: skip
    limits = limit_labels(rows_of_profile, FPM)
    assert limits["label"].tolist() == ["pass from 80", "fail below 60", "pass up to 150"]
    spec = trend_line(surveys, limits, FPM).to_dict()
    points = next(layer for layer in spec["layer"] if "shape" in layer["encoding"])
    assert points["encoding"]["shape"]["scale"] == {
        "domain": ["pass", "restricted"],
        "range": ["circle", "triangle-up"],
    }
    low, high = points["encoding"]["y"]["scale"]["domain"]
    assert low < 60 < 150 < high, "all limits are in the picture"


def test_every_chart_takes_the_common_look_in_light_and_dark() -> None:
    light, dark = (styled(pass_rates(RATES, 2026), on).to_dict()["config"] for on in (False, True))
    assert light["axis"]["labelFontSize"] >= 13
    assert light["axis"]["labelColor"] != dark["axis"]["labelColor"]


def test_a_change_is_written_with_its_sign() -> None:
    changes = pd.DataFrame(
        {"row": [1, 1], "column": [1, 2], "cell": ["B2", "C2"], "velocity_fpm": [100.0, 80.0],
         "before_fpm": [90.0, None], "change_fpm": [10.0, None]}
    )  # fmt: skip
    spec = change_map(changes, ABOUT, FPM).to_dict()
    assert [row["said"] for row in rows(spec)] == ["+10", "?"]
    low, middle, high = spec["layer"][0]["encoding"]["color"]["scale"]["domain"]
    assert low == -high
    assert middle == 0


def test_the_floor_plan_has_one_scale_and_says_where_the_draft_comes_from() -> None:
    hoods = pd.DataFrame(
        {"hood_id": ["A", "B"], "room": ["1", "1"], "x_ft": [0.0, 100.0], "y_ft": [0.0, 40.0], "failed": [True, False],
         "cross_draft_max_fpm": [38.0, 5.0], "position": ["left", None], "direction": [None, None]}
    )  # fmt: skip
    spec = floor_plan(hoods, FPM).to_dict()
    assert marks(spec) == ["point", "text", "text"]
    assert [row["said"] for row in rows(spec) if "said" in row] == ["◀ 38", ""]
    assert spec["layer"][0]["encoding"]["shape"]["scale"]["range"] == ["circle", "triangle-up"]
