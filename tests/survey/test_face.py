"""The figures of a grid against printed traverses, reference data sets and an independent computation."""

import statistics

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.survey.frames import group_mean, group_sd
from tests.criteria.builders import frames, readings_of, survey

G1 = "300 450 300 450 450 600 300 450 300"  # NAVFAC MO-114 vol. 3 ch. 2, Q2-2: an 18 in square duct, ft/min


def figures(*args, register=None, **kw):
    wide, _ = frames(survey(*args, **kw), register=register)
    return wide.iloc[0]


def test_e03_g1_nine_point_traverse():
    s = figures(G1, sash=18.0, width=18.0)
    assert s["face_points"] == 9
    assert s["face_mean_fpm"] == 400
    assert s["face_sd_fpm"] == pytest.approx(106.0660, abs=1e-4)
    assert (s["face_min_fpm"], s["face_max_fpm"]) == (300, 600)
    assert s["face_cv"] == pytest.approx(0.265, abs=0.0005)
    assert s["airflow_cfm"] == pytest.approx(900)
    assert s["face_uneven_points"] == 1  # 600 is 50 % above; 300 is exactly 25 % below, which is within


def test_e04_g2_duct_of_18_by_20_in():
    s = figures("9x400", sash=18.0, width=20.0)  # the same manual, Q2-3 and Q2-4
    assert s["opening_area_ft2"] == 2.5
    assert s["airflow_cfm"] == 1000


def test_e07_velocity_and_airflow():
    # Q1: a public worked example; 600 cfm through 6 x 2.5 ft
    assert figures("1x40", sash=30.0, width=72.0)["airflow_cfm"] == pytest.approx(600)
    # Q2: the same; 0.5 m3/s through 1.2 x 0.8 m
    s = figures("1x0.5208333", unit="m/s", sash=800.0, width=1200.0, sash_height_unit="mm", opening_width_unit="mm")
    assert s["airflow_cfm"] * 0.0004719474432 == pytest.approx(0.5, rel=1e-6)
    # Q4: practice set, 2300 cfm through 3 x 7 ft, answer 110
    assert 2300 / figures("1x100", sash=36.0, width=84.0)["opening_area_ft2"] == pytest.approx(109.5238, abs=1e-4)


def test_q3_a_source_that_rounds_its_area():
    s = figures("1x100", sash=12.0, width=22.0)
    assert s["airflow_cfm"] == pytest.approx(183.333, abs=0.001)  # the source rounds to 1.8 ft2 and prints 180


def reference(values):
    of = np.zeros(len(values), dtype=int)
    values = np.array(values, dtype=float)
    return group_mean(of, values, 1)[0], group_sd(of, values, 1)[0]


def test_e29_numacc1():
    assert reference([10000001, 10000003, 10000002]) == (10000002, 1)  # NIST StRD univariate, NumAcc1


@pytest.mark.parametrize(("middle", "tolerance"), [(1.2, 1e-13), (1000000.2, 1e-9), (10000000.2, 1e-8)])
def test_g7_numacc_2_to_4(middle, tolerance):
    # NIST StRD NumAcc2-4: 1001 values, the mean, then 500 times 0.1 below and 0.1 above it; s = 0.1 (from memory)
    mean, sd = reference([middle] + [middle - 0.1, middle + 0.1] * 500)
    assert mean == pytest.approx(middle, rel=1e-14)
    assert sd == pytest.approx(0.1, rel=tolerance)


MICHELSON = """850 740 900 1070 930 850 950 980 980 880 1000 980 930 650 760 810 1000 1000 960 960 960 940 960 940
880 800 850 880 900 840 830 790 810 880 880 830 800 790 760 800 880 880 880 860 720 720 620 860 970
950 880 910 850 870 840 840 850 840 840 840 890 810 810 820 800 770 760 740 750 760 910 920 890 860
880 720 840 850 850 780 890 840 780 810 760 810 790 810 820 850 870 870 810 740 810 940 950 800 810
870"""


def test_g6_michelso():
    # NIST StRD Michelso, speed of light in 1000 km/s: certified mean and s; the data are from memory and meet both
    mean, sd = reference([299 + int(v) / 1000 for v in MICHELSON.split()])
    assert mean == pytest.approx(299.852400000000, abs=1e-11)
    assert sd == pytest.approx(0.0790105478190518, rel=1e-9)


MAVRO = """2.0018 2.0017 2.0018 2.0019 2.0018 2.0017 2.0015 2.0014 2.0015 2.0015 2.0017 2.0018 2.0018 2.0019 2.0019
2.0021 2.0020 2.0016 2.0014 2.0013 2.0013 2.0015 2.0015 2.0016 2.0015 2.0014 2.0013 2.0014 2.0015 2.0014 2.0015 2.0016
2.0015 2.0016 2.0019 2.0020 2.0020 2.0021 2.0022 2.0023 2.0024 2.0025 2.0027 2.0026 2.0026 2.0026 2.0027 2.0026 2.0025
2.0024"""


def test_g7_mavro():
    # NIST StRD Mavro, filter transmittance, n = 50: certified mean and s; the data are from memory and meet both
    mean, sd = reference([float(v) for v in MAVRO.split()])
    assert mean == pytest.approx(2.001856, abs=1e-12)
    assert sd == pytest.approx(0.000429, abs=5e-7)


def test_e14_gum_table_1():
    # GUM (JCGM 100) Table 1, 20 temperatures; the data are from memory
    data = """96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07
    100.33 100.42 100.68 100.95 101.11 101.20 101.57 101.84 102.36 102.72"""
    mean, sd = reference([float(v) for v in data.split()])
    assert mean == pytest.approx(100.145, abs=1e-5)
    assert sd == pytest.approx(1.48884, abs=1e-5)
    assert sd / np.sqrt(20) == pytest.approx(0.33292, abs=1e-5)


GRIDS = st.lists(st.integers(20, 250), min_size=2, max_size=24)


@given(GRIDS)
@settings(max_examples=40, deadline=None)
def test_figures_agree_with_the_standard_library(values):
    s = figures(" ".join(map(str, values)))
    assert s["face_mean_fpm"] == pytest.approx(statistics.mean(values), rel=1e-12)
    assert s["face_sd_fpm"] == pytest.approx(statistics.stdev(values), rel=1e-9, abs=1e-9)
    uneven = sum(4 * abs(v * len(values) - sum(values)) > sum(values) for v in values)
    assert s["face_uneven_points"] == uneven


@given(GRIDS, st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_moving_points_about_leaves_mean_and_sd(values, random):
    moved = random.sample(values, len(values))
    a, b = (figures(" ".join(map(str, v))) for v in (values, moved))
    assert a["face_mean_fpm"] == pytest.approx(b["face_mean_fpm"], rel=1e-13)
    assert a["face_sd_fpm"] == pytest.approx(b["face_sd_fpm"], rel=1e-12, abs=1e-12)


def test_a_blank_or_a_word_leaves_the_mean_of_the_others_and_says_so():
    for odd in ("blank", "ERR"):
        s = figures(f"3x100 {odd} 2x90")
        assert (s["face_points"], s["face_mean_fpm"], s["face_complete"]) == (5, 96, False)
    assert figures("6x100")["face_complete"]


def test_a_grid_with_fewer_readings_than_places_is_not_complete():
    row, readings = survey("9x100", shape=(3, 3))
    wide, _ = frames((row, readings[:5] + readings[6:]))
    assert not wide["face_complete"].iloc[0]


def test_a_censored_reading_is_in_no_figure_and_leaves_no_mean():
    s = figures("8x100 <20")
    assert np.isnan(s["face_mean_fpm"])
    assert np.isnan(s["airflow_cfm"])
    assert np.isnan(s["cross_draft_ratio"])
    assert (s["face_points"], s["face_min_fpm"]) == (8, 100)


def test_replicate_passes_are_averaged_place_by_place_first():
    row, _ = survey(shape=(1, 2))
    first = readings_of("s1", "face", "80 120", shape=(1, 2))
    second = readings_of("s1", "face", "100 140", shape=(1, 2), pass_number=2)
    s = frames((row, first + second))[0].iloc[0]
    assert (s["face_points"], s["face_min_fpm"], s["face_max_fpm"], s["face_mean_fpm"]) == (2, 90, 130, 110)
    assert s["face_complete"]


def test_a_place_missing_from_one_pass_is_not_complete():
    row, _ = survey(shape=(1, 2))
    first = readings_of("s1", "face", "80 120", shape=(1, 2))
    second = readings_of("s1", "face", "100 blank", shape=(1, 2), pass_number=2)
    s = frames((row, first + second))[0].iloc[0]
    assert (s["face_points"], s["face_mean_fpm"], s["face_complete"]) == (2, 105, False)
    s = frames((row, first + second[:1]))[0].iloc[0]
    assert not s["face_complete"]


def test_passes_without_places_are_matched_by_their_order():
    row, _ = survey()
    s = frames((row, readings_of("s1", "face", "80 120") + readings_of("s1", "face", "100 140", pass_number=2)))[
        0
    ].iloc[0]
    assert (s["face_points"], s["face_min_fpm"], s["face_max_fpm"]) == (2, 90, 130)


def test_no_reading_gives_no_figure():
    s = figures("", "")
    assert (s["face_points"], s["face_complete"]) == (0, False)
    assert s[["face_mean_fpm", "face_min_fpm", "face_sd_fpm", "airflow_cfm", "cross_draft_max_fpm"]].isna().all()


def test_the_opening_is_the_sheets_else_the_registers():
    sheet = figures("1x100", width=60.0, register={"opening_width_in": 72.0})
    assert (sheet["opening_area_ft2"], sheet["opening_source"]) == (7.5, "sheet")
    register = figures("1x100", width=None, register={"opening_width_in": 72.0})
    assert (register["opening_area_ft2"], register["opening_source"]) == (9, "register")
    neither = figures("1x100", width=None)
    assert np.isnan(neither["airflow_cfm"])
    assert neither["opening_source"] is None


def test_cross_drafts():
    places = [("left", "parallel"), ("left", "perpendicular"), ("left", "vertical"), ("right", "parallel")]
    s = figures("9x100", "12 4 3 20", places=places)
    assert (s["cross_draft_max_fpm"], s["cross_draft_ratio"]) == (20, 0.2)
    assert s["cross_draft_resultant_fpm"] == 13  # 3-4-12-13; the right has one direction only


def test_a_place_may_be_named_with_its_direction():
    places = [(f"{d} {p}", d) for d in ("parallel", "perpendicular", "vertical") for p in ("left", "right")]
    s = figures("9x100", "12 1 4 1 3 1", places=places)
    assert s["cross_draft_resultant_fpm"] == 13


def test_the_index_and_the_order_of_surveys_are_kept():
    wide, readings = frames(survey("9x100", survey_id="a"), survey("9x90", survey_id="b"))
    from auditor.survey import compute

    again = compute(wide.iloc[::-1], readings)
    assert again.index.tolist() == [1, 0]
    assert again["face_mean_fpm"].tolist() == [90, 100]
    assert isinstance(again, pd.DataFrame)
    assert again.columns.is_unique
