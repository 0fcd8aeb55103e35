"""Likely causes from the shape of the grid, drafts, smoke and airflow: given only where the data point to one."""

import pytest

from auditor.criteria.features import features, rules
from auditor.criteria.loading import criteria
from auditor.criteria.measures import Evidence
from tests.criteria.builders import frames, judged, survey

# a grid of 3 x 6, and what is slow in it
GRIDS = {
    "low_left": "70 70 100 100 100 100 " * 3,
    "low_right": "100 100 100 100 70 70 " * 3,
    "low_top": "70 70 70 70 70 70 " + "100 100 100 100 100 100 " * 2,
    "low_bottom": "100 100 100 100 100 100 " * 2 + "70 70 70 70 70 70",
    "low_centre": "100 100 100 100 100 100 100 70 70 70 70 100 100 100 100 100 100 100",
    "low_edge": "75 75 75 75 75 75 75 110 110 110 110 75 75 75 75 75 75 75",
    "one_low_cell": "100 100 100 100 100 100 100 100 50 100 100 100 100 100 100 100 100 100",
    "one_high_cell": "100 100 100 100 100 100 100 100 160 100 100 100 100 100 100 100 100 100",
    "low_throughout": "70 72 68 70 71 69 " * 3,
}
SHAPES = list(GRIDS)


@pytest.mark.parametrize("shape", SHAPES)
def test_each_shape_is_seen_and_no_other(shape):
    flags, _ = features(Evidence(*frames(survey(GRIDS[shape], shape=(3, 6)))))
    assert [s for s in SHAPES if flags[s].iloc[0]] == [shape]


@pytest.mark.parametrize("scale", [0.6, 1.4])
def test_a_shape_does_not_depend_on_the_speed(scale):
    for shape in SHAPES:
        grid = " ".join(f"{float(v) * scale:.2f}" for v in GRIDS[shape].split())
        flags, _ = features(Evidence(*frames(survey(grid, shape=(3, 6)))))
        assert flags[shape].iloc[0]


def told(criterion, *args, register=None, **kw):
    f = judged(survey(*args, **kw), register=register).findings.set_index("criterion")
    return f.loc[criterion, "causes"], f.loc[criterion, "action"]


def test_a_pass_has_neither_cause_nor_action():
    f = judged(survey()).findings
    assert set(f["causes"]) == {""}
    assert set(f["action"]) == {""}


def test_low_throughout_needs_the_airflow_to_tell_its_cause():
    low = GRIDS["low_throughout"]  # 60 x 18 in: 7.5 ft2, 525 cfm
    asked, action = told("face-mean-low", low)
    assert asked.startswith("the readings do not tell the cause. Next:")
    assert "measure the exhaust airflow" in asked
    assert action.startswith("Correct it and retest.")
    weak, action = told("face-mean-low", low, register={"design_airflow_cfm": 750.0})
    assert (
        weak
        == "1. the exhaust draws less than its design (all points are low alike; 525 cfm against 750 cfm by design)"
    )
    assert "inspect filter, belt, damper and fan" in action
    small, _ = told("face-mean-low", low, register={"design_airflow_cfm": 525.0})
    assert "design airflow is too little" in small
    high, action = told(
        "face-mean-low", low, sash=24.0, register={"working_sash_in": 18.0, "design_airflow_cfm": 750.0}
    )
    assert high.startswith("1. the sash stood above its working height")
    assert "set the sash at its working height" in action
    lost, _ = told("face-mean-low", low, previous_face_mean_fpm=95.0, register={"design_airflow_cfm": 750.0})
    assert "2." not in lost  # it says more than 'draws less than its design', and stands for it
    assert "lost volume since the survey before" in lost
    assert "95 ft/min before" in lost


def test_a_slow_side_is_a_draft_or_equipment_only_where_something_else_says_so():
    left = GRIDS["low_left"].replace("70", "60")
    asked, _ = told("face-point-spread", left, shape=(3, 6))
    assert "by an obstruction, the baffle or a draft" in asked
    places = [("left", "parallel"), ("right", "parallel")]
    draft, _ = told("face-point-spread", left, "30 5", shape=(3, 6), places=places)
    assert draft.startswith("1. a cross-draft disturbs the left side")
    assert "30 ft/min" in draft
    other, _ = told("face-point-spread", left, "5 30", shape=(3, 6), places=places)
    assert other.startswith("the readings do not tell the cause")
    gear, action = told("face-point-spread", left, shape=(3, 6), observations="large oven on the left")
    assert gear.startswith("1. equipment or storage")
    assert "1. take out what is stored" in action


def test_a_single_slow_point_is_measured_again_first():
    asked, action = told("face-point-low", GRIDS["one_low_cell"], shape=(3, 6))
    assert "only the point in B9 is slow: measure it again" in asked
    assert action.startswith(
        "Do not use the hood until a retest passes. The airflow is adjusted before the hood is used again."
    )


def test_points_without_a_place_show_no_pattern():
    asked, _ = told("face-point-spread", "60 61 100 100 140 141")
    assert "does not say where its points lie" in asked


def test_drafts_by_place_and_direction():
    for direction, cause in (("vertical", "blows down"), ("perpendicular", "aimed at the face")):
        said, action = told(
            "cross-draft-absolute",
            cross="5 25 6",
            places=[("left", direction), ("centre", direction), ("right", direction)],
        )
        assert cause in said
        assert "re-aim or cap" in action
    along, _ = told(
        "cross-draft-absolute", cross="25 5 6", places=[(p, "parallel") for p in ("left", "centre", "right")]
    )
    assert "from its left end" in along
    everywhere, _ = told(
        "cross-draft-absolute", cross="25 24 26", places=[(p, "parallel") for p in ("left", "centre", "right")]
    )
    assert "as a whole" in everywhere
    door, _ = told(
        "cross-draft-absolute",
        cross="25 5 6",
        places=[(p, "parallel") for p in ("left", "centre", "right")],
        observations="Door open",
    )
    assert door.startswith("1. doors or people passing")
    assert "2." not in door


def test_a_draft_against_the_mean_begins_with_the_baffle():
    # common practice: the baffle first, then the room's ventilation
    _, action = told("cross-draft-relative", "9x90", "18.5")
    assert action.index("adjust the interior baffle") < action.index("have the room's supply")


def test_smoke_is_explained_by_what_else_was_measured():
    draft, _ = told("smoke-local", "9x100", "30", "escape at sill")
    assert "a cross-draft of 30 ft/min" in draft
    slow, _ = told("smoke-local", "9x70", "5", "escape at sill")
    assert "too slow" in slow
    fast, _ = told("smoke-local", "9x170", "5", "escape at sill")
    assert "tumbles" in fast
    asked, action = told("smoke-local", "9x100", "5", "escape at sill")
    assert asked.startswith("the readings do not tell the cause")
    # the trade's order: contents, supply inlets, baffle, volume of air, place of the hood, face velocity last
    order = [
        "take out what is stored",
        "re-aim or cap",
        "interior baffle",
        "balanced to its design",
        "move the hood",
        "raise the face velocity only last",
    ]
    assert [action.index(step) for step in order] == sorted(action.index(step) for step in order)


def test_every_action_says_what_to_retest_after_it_and_actions_go_by_cost():
    _, action = told("smoke-local", "9x70", "30", "escape", observations="crowded with equipment")
    steps = action.split("; ")
    assert all("(retest:" in step for step in steps)
    costs = {a["text"]: a["cost"] for a in rules()["actions"].values()}
    order = [next(c for t, c in costs.items() if t in step) for step in steps]
    assert order == sorted(order)


def test_the_rules_hang_together():
    data = rules()
    flags, figures = features(Evidence(*frames(survey())))
    known = set(criteria())
    for rule in [*data["cause"], *data["question"]]:
        assert set(rule["for"]) <= known
        assert set(rule["when"]) | set(rule.get("unless", ())) <= set(flags)
        rule.get("evidence", rule.get("ask", "")).format(**figures.iloc[0].to_dict())
        assert set(rule.get("actions", ())) <= set(data["actions"])
    used = {f for rule in [*data["cause"], *data["question"]] for f in [*rule["when"], *rule.get("unless", ())]}
    assert set(flags) == used  # nothing is looked for in vain
    assert set(data["follows"]) <= known
    assert {a for s in data["follows"].values() for a in s} <= set(data["actions"])
    # whatever breaks, somebody says what to do or to measure next
    always = {c for rule in data["question"] if not rule["when"] for c in rule["for"]}
    assert known - always - {"face-mean-low", "face-point-low", "face-point-spread"} == set()


def test_words_from_a_sheet_are_never_taken_for_a_template():
    said, _ = told("face-point-low", GRIDS["one_low_cell"], shape=(3, 6), observations="{mean} {0} equipment % crowded")
    assert said.startswith("1. an object stands before one point")


def test_smoke_at_one_side_is_explained_by_a_draft_on_that_side_alone():
    sides = [("left", "parallel"), ("right", "parallel")]
    same, _ = told("smoke-local", "9x100", "30 5", "escape at left edge", places=sides)
    assert same.startswith("1. a cross-draft draws the smoke out at the left")
    assert "2." not in same
    other, _ = told("smoke-local", "9x100", "5 30", "escape at left edge", places=sides)
    assert other.startswith("the readings do not tell the cause")


def test_a_monitor_that_disagrees_asks_for_a_second_instrument():
    asked, _ = told("face-mean-low", GRIDS["low_throughout"], monitor=100.0, monitor_unit="ft/min")
    assert "the monitor shows 100 ft/min where 70 was measured" in asked
    assert "second instrument" in asked
    asked, _ = told("face-mean-low", GRIDS["low_throughout"], monitor=72.0, monitor_unit="ft/min")
    assert "measure the exhaust airflow" in asked


def test_what_the_surveyor_wrote_names_the_cause():
    said, action = told("face-mean-low", GRIDS["low_throughout"], observations="belt slipping")
    assert (
        said == "1. a filter, belt or damper of the exhaust (all points are low alike, and the surveyor wrote of one)"
    )
    assert "inspect filter, belt, damper and fan" in action
