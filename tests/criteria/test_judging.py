"""Verdicts, reasons and remarks: what is told, and which profile judges."""

import numpy as np
import pandas as pd
import pytest

from auditor.criteria import judge, load_profiles
from auditor.survey.columns import FINDINGS, VERDICTS
from tests.criteria.builders import PROFILES, frames, judged, outcomes, survey, verdict


def reason(*args, register=None, profile="common-practice", **kw):
    return judged(survey(*args, **kw), register=register, profile=profile).verdicts["reason"].iloc[0]


def test_columns_and_one_row_per_survey_and_criterion():
    j = judged(survey(survey_id="b"), survey(survey_id="a"))
    assert j.findings.columns.tolist() == FINDINGS
    assert j.verdicts.columns.tolist() == VERDICTS
    assert j.verdicts["survey_id"].tolist() == ["b", "a"]
    assert not j.findings.duplicated(["survey_id", "criterion"]).any()
    assert j.findings["survey_id"].tolist() == ["b"] * 8 + ["a"] * 8


def test_the_reason_names_the_figure_the_limit_and_the_cell():
    assert reason("8x100 38").startswith("a point (B9) at 38 ft/min is below 60 ft/min")
    assert reason("9x70") == "the mean face velocity of 70 ft/min is below 80 ft/min"
    assert reason("9x79.96") == "the mean face velocity of 79.96 ft/min is below 80 ft/min"
    assert reason("9x100", "10 24") == (
        "a cross-draft of 24 ft/min (H2) is above 20 ft/min; "
        "a cross-draft (H2) is 24 % of the mean face velocity, above 20 %"
    )
    assert (
        reason("9x100", smoke="escape at sill") == "smoke from the small source (B30): it was not captured, or escaped"
    )


def test_the_reason_says_what_is_missing():
    assert reason("9x100", "") == "not judged: no cross-draft was measured"
    assert reason("9x100", smoke=None) == "not judged: no smoke test with a small source was recorded"
    assert "do not say whether the smoke was captured" in reason("9x100", smoke="Y")
    assert reason("8x100 blank") == "not judged: the grid has places without a number"
    assert "the sash stood at 12 in, below the working height of 18 in" in reason(
        sash=12.0, register={"working_sash_in": 18.0}
    )
    assert "setback" in reason(operating_mode="night setback")
    assert "route it to its certifier" in reason(register={"hood_type": "Biosafety cabinet"})
    assert "the sash height at the test is not known" in reason(sash=None)


def test_a_fail_also_says_what_was_not_judged():
    said = reason("8x100 38", "")
    assert "38 ft/min" in said
    assert said.endswith("not judged: no cross-draft was measured")


@pytest.mark.parametrize("name", sorted(n for n, p in PROFILES.items() if p.enabled and not p.overlay))
def test_no_profile_passes_without_smoke_or_cross_draft_or_readings(name):
    mode = PROFILES[name].mode
    good = {"operating_mode": mode, "tracer": "4.0 AI 0.01", "sash": 19.7}  # 500 mm, the highest that a profile names
    register = {"design_face_velocity_fpm": 100.0}
    # a velocity that each profile passes
    face = next(
        f"9x{v}"
        for v in (100, 110, 125, 62, 130)
        if verdict(f"9x{v}", "5", register=register, profile=name, **good) == "pass"
    )
    assert verdict(face, "", register=register, profile=name, **good) == "not judged"
    assert verdict(face, "5", None, register=register, profile=name, **good) == "not judged"
    assert verdict("", "5", register=register, profile=name, **good) == "not judged"
    assert verdict("", "", None, register=register, profile=name, **good) == "not judged"


@pytest.mark.parametrize(
    "kind",
    [
        "particulate cabinet",
        "Biological Safety Cabinet",
        "BSC Class II",
        "recirculating",
        "ductless hood",
        "canopy hood",
        "snorkel",
        "glove box",
        "laminar flow clean bench",
        "downdraft table",
    ],
)
def test_devices_that_a_face_velocity_does_not_judge_are_routed(kind):
    j = judged(survey("9x100"), register={"hood_type": kind})
    assert j.verdicts["verdict"].tolist() == ["not judged"]
    assert set(j.findings["outcome"]) == {"not judged"}
    assert judged(survey("9x30"), register={"hood_type": kind}).verdicts["verdict"].tolist() == ["not judged"]


@pytest.mark.parametrize(
    "kind", ["general chemical", "perchloric acid", "radioisotope", "walk-in", "low-flow", "variable volume", None]
)
def test_fume_hoods_are_judged(kind):
    assert verdict("9x100", register={"hood_type": kind}) == "pass"


def test_the_registers_type_goes_before_the_sheets():
    assert verdict("9x100", hood_type="BSC", register={"hood_type": "general chemical"}) == "pass"
    assert verdict("9x100", hood_type="BSC", register={"hood_type": None}) == "not judged"


def test_the_hoods_own_profile_then_its_types_then_the_default():
    wide, readings = frames(
        survey("9x95", survey_id="own"), survey("9x95", survey_id="type"), survey("9x95", survey_id="default"),
        register=[{"profile": "california-100-70"}, {"hood_type": "low-flow"}, {}],
    )  # fmt: skip
    v = judge(wide, readings, PROFILES, by_type={"low-flow": "range-80-125"}).verdicts
    assert v["profile"].tolist() == ["california-100-70", "range-80-125", "common-practice"]
    assert v["verdict"].tolist() == ["fail", "pass", "pass"]


@pytest.mark.parametrize(
    ("profile", "why"),
    [("nothing", "is not known"), ("california-carcinogen", "switched off"), ("draft-30pct", "only a part")],
)
def test_a_profile_that_cannot_be_used_judges_nothing(profile, why):
    j = judged(survey("9x100"), register={"profile": profile})
    assert j.verdicts["verdict"].tolist() == ["not judged"]
    assert why in j.verdicts["reason"].iloc[0]


def test_an_unknown_default_is_an_error():
    with pytest.raises(KeyError, match="default profile 'nothing'"):
        judged(survey(), profile="nothing")


def test_no_surveys():
    wide, readings = frames(survey())
    j = judge(wide.iloc[:0], readings, PROFILES)
    assert not len(j.findings)
    assert not len(j.verdicts)
    assert j.findings.columns.tolist() == FINDINGS


def remarks(*args, profile="common-practice", register=None, **kw):
    return judged(survey(*args, **kw), profile=profile, register=register).remarks["remark"].tolist()


def test_remarks_do_not_change_the_verdict():
    assert any("lazily" in r for r in remarks(smoke="lazy at left edge"))
    assert any("more brings no gain" in r for r in remarks("9x120"))
    assert any("above the working height" in r for r in remarks(sash=24.0, register={"working_sash_in": 18.0}))
    assert not remarks("9x95")
    assert reason(smoke="lazy at left edge").startswith("remark: the smoke moved lazily")
    assert reason("9x160").startswith("the mean face velocity of 160 ft/min is above 150 ft/min; remark: 80 to 100")


def test_p2_integer_bands_say_where_rounding_would_change_them():
    # Southern Illinois University prints 70-79 and 80-120: 79.6 lies between; unrounded it is restricted
    [said] = remarks("9x79.6", profile="three-grade-80-120")
    assert "steps of 1 ft/min" in said
    assert not remarks("9x79.4", profile="three-grade-80-120")


def test_a_verdict_that_the_printed_rounding_of_units_would_turn_says_so():
    # NFPA 45-2004 prints 0.4 m/s as 80 ft/min, and it is 78.74
    [said] = remarks("9x79", profile="fire-code-advice")
    assert "prints 80 ft/min for 0.4 m/s, which is 78.74 ft/min" in said
    assert not remarks("9x81", profile="fire-code-advice")
    assert not remarks("9x78", profile="fire-code-advice")


def test_x1_below_half_but_not_ideal():
    # Z9.5-2003 note to 6.3.5 (printed as 6.3.6): 29 ideal, 30 not ideal, 49 acceptable, 50 significant
    for draft, told in ((29, False), (30, True), (49, True)):
        assert any("aimed at" in r for r in remarks("9x100", str(draft), profile="general-80-120")) is told


def test_washdown_concerns_perchloric_hoods_alone():
    assert "washdown" not in outcomes(judged(survey()))
    perchloric = {"hood_type": "perchloric acid"}
    assert outcomes(judged(survey(), register=perchloric))["washdown"] == "not judged"
    works = judged(survey(washdown_grade="works"), register=perchloric)
    assert outcomes(works)["washdown"] == "pass"
    assert works.verdicts["verdict"].tolist() == ["pass"]
    assert judged(survey(washdown_grade="fails"), register=perchloric).verdicts["verdict"].tolist() == ["restricted"]


def test_measured_limit_and_margin_stand_in_the_unit_of_the_source():
    f = judged(survey("9x0.5", "0.05", unit="m/s"), profile="canada-bands").findings.set_index("criterion")
    low = f.loc["face-mean-low"]
    assert (low["measured"], low["limit"], low["unit"]) == (pytest.approx(0.5, abs=1e-12), 0.4, "m/s")
    assert low["margin"] == pytest.approx(0.1)
    assert low["source"] == "CSA Z316.5-15 (seen second-hand)"


def test_the_worst_place_is_named():
    f = judged(survey("100 100 72 100 120 100", "5 14 9")).findings.set_index("criterion")["cell"]
    assert f["face-point-low"] == "B3"
    assert f["face-mean-low"] == "B3"
    assert f["face-mean-high"] == "B5"
    assert f["face-point-spread"] == "B3"
    assert f["cross-draft-absolute"] == "H2"


def test_the_readings_given_are_judged_and_not_the_surveys_own_figures():
    wide, readings = frames(survey("9x100"))
    doubted = readings.copy()
    doubted.loc[doubted["kind"] == "face", "velocity_fpm"] = np.nan
    assert judge(wide, doubted, PROFILES).verdicts["verdict"].tolist() == ["not judged"]


def test_two_profiles_in_one_batch_keep_their_surveys_apart():
    wide, readings = frames(
        survey("9x105", survey_id="a"), survey("8x105 65", survey_id="b"), survey("9x99", survey_id="c"),
        register=[{"profile": "california-100-70"}, {}, {"profile": "california-100-70"}],
    )  # fmt: skip
    v = judge(wide, readings, PROFILES).verdicts
    assert v["verdict"].tolist() == ["pass", "restricted", "fail"]
    assert v["survey_id"].tolist() == ["a", "b", "c"]
    assert isinstance(v, pd.DataFrame)


def test_a_single_point_shows_no_spread():
    j = judged(survey("1x100"))
    assert outcomes(j)["face-point-spread"] == "not judged"
    assert j.verdicts["verdict"].tolist() == ["not judged"]
    assert "a single point shows no spread" in j.verdicts["reason"].iloc[0]
    assert verdict("1x38") == "fail"


OWN = """
name = "tern-hill"
title = "Tern Hill"
version = "1"
source = "Tern Hill safety committee"
mark = "campus"
extends = ["common-practice"]
by_type = { low-flow = "dual-60-pm20" }

[[limit]]
criterion = "cross-draft-absolute"
unit = "ft/min"
statistic = "place-mean"
pass = { below = 20 }
beyond = "restricted"
"""


@pytest.fixture
def own(tmp_path):
    (tmp_path / "own.toml").write_text(OWN, encoding="utf-8")
    return load_profiles([tmp_path])


def test_a_campus_names_the_profiles_of_its_hood_types(own):
    wide, readings = frames(
        survey("9x62", survey_id="a"), survey("9x62", survey_id="b"), register=[{"hood_type": "low-flow"}, {}]
    )
    v = judge(wide, readings, own, default="tern-hill").verdicts
    assert v["profile"].tolist() == ["dual-60-pm20", "tern-hill"]
    assert v["verdict"].tolist() == ["pass", "restricted"]


def test_a_cross_draft_by_the_mean_of_its_places(own):
    # left 30, 8 (mean 19), right 18, 18: the largest mean of a place is 19, the largest reading 30
    places = [("left", None), ("left", None), ("right", None), ("right", None)]
    wide, readings = frames(survey("9x160", "30 8 18 18", places=places))
    f = judge(wide, readings, own, default="tern-hill").findings.set_index("criterion")
    assert (f.loc["cross-draft-absolute", "measured"], f.loc["cross-draft-absolute", "outcome"]) == (19, "pass")
    assert (
        judged(survey("9x160", "30 8 18 18", places=places))
        .findings.set_index("criterion")
        .loc["cross-draft-absolute", "outcome"]
        == "restricted"
    )


def test_the_observations_tell_of_the_wash_down():
    said = {"observations": "wash-down not working"}
    assert judged(survey(**said), register={"hood_type": "perchloric acid"}).verdicts["verdict"].tolist() == [
        "restricted"
    ]
    assert verdict(**said) == "pass"  # it is no criterion of an ordinary hood


def test_a_campus_cannot_waive_smoke_or_cross_draft(tmp_path):
    waived = OWN.replace("extends", 'required = ["face-mean-low"]\nextends')
    (tmp_path / "own.toml").write_text(waived, encoding="utf-8")
    own = load_profiles([tmp_path])
    wide, readings = frames(
        survey(survey_id="a"), survey("9x100", "", survey_id="b"), survey(smoke=None, survey_id="c"),
        survey("9x100", "8 blank", survey_id="d"), survey(smoke=None, smoke_gross="drawn in", survey_id="e"),
    )  # fmt: skip
    v = judge(wide, readings, own, default="tern-hill").verdicts
    assert v["verdict"].tolist() == ["pass", "not judged", "not judged", "not judged", "pass"]
    assert v["reason"].tolist()[1:3] == [
        "not judged: no cross-draft was measured", "not judged: no smoke test with a small source was recorded",
    ]  # fmt: skip


def test_standard_velocities_whose_actual_ones_would_be_judged_otherwise():
    # 6000 ft, 70 F, 11.78 psia: actual = 1.2479 x standard
    air = {"air_temperature": 70.0, "air_temperature_unit": "°F", "air_pressure": 11.78, "air_pressure_unit": "psia"}
    [said] = remarks("9x70", velocity_basis="standard", **air)
    assert "the actual mean was 87.4 ft/min" in said
    assert verdict("9x70", velocity_basis="standard", **air) == "restricted"  # judged as written
    assert not remarks("9x70", **air)


def test_points_near_the_edge_of_a_fine_grid_are_exempt_by_its_geometry():
    # 18 rows over a sash of 18 in: the middle of the outer rows lies 0.5 in from the edge, of the next ones 1.5 in
    column = ["100"] * 18
    for row, due in ((0, "pass"), (17, "pass"), (1, "fail"), (9, "fail")):
        grid = " ".join("69" if i == row else v for i, v in enumerate(column))
        j = judged(survey(grid, shape=(18, 1), sash=18.0, width=60.0), profile="california-100-70")
        assert outcomes(j)["face-point-low"] == due
