"""A hood's state from the chain of its surveys: what frees it, what does not, and when it is due."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from auditor.criteria.intervals import next_due
from auditor.criteria.states import COLUMNS, STATES, hood_states

TODAY = dt.date(2026, 11, 16)


def states(*surveys, events=(), tags=(), today=TODAY, earlier=None, **register):
    """Surveys as (day, status, verdict or provisional verdict[, occasion])."""
    hood = {"hood_id": "H-1", "building": "Wren Hall", "floor": "1", "room": "12", "air_handler": "AHU-1", **register}
    rows = [
        {
            "survey_id": f"s{i}", "hood_id": "H-1", "surveyed_on": pd.Timestamp(day) if day else pd.NaT,
            "status": status, "verdict": None if status == "held" else verdict,
            "provisional_verdict": verdict if status == "held" else None, "occasion": (*more, "annual")[0],
        }
        for i, (day, status, verdict, *more) in enumerate(surveys)
    ]  # fmt: skip
    columns = ["survey_id", "hood_id", "surveyed_on", "status", "verdict", "provisional_verdict", "occasion"]
    wide = pd.DataFrame(rows, columns=columns)
    said = pd.DataFrame({"survey_id": wide["survey_id"], "reason": [f"why {s}" for s in wide["survey_id"]]})
    happened = pd.DataFrame(
        list(events), columns=["happened_on", "event", "hood_id", "air_handler", "building", "room"]
    )
    log = pd.DataFrame(list(tags), columns=["hood_id", "action", "notice", "work_order", "made_at"])
    out = hood_states(pd.DataFrame([hood]), wide, said, happened, log, today, earlier=earlier)
    assert out.columns.tolist() == COLUMNS
    assert out["state"].isin(STATES).all()
    return out.iloc[0]


def event(day, what, hood=None, air_handler=None, building=None, room=None):
    return (pd.Timestamp(day), what, hood, air_handler, building, room)


def test_a_passing_survey_within_its_interval():
    s = states(("2026-03-02", "accepted", "pass"))
    assert (s["state"], s["next_due"], s["overdue_days"]) == ("in service", pd.Timestamp("2027-03-02"), 0)
    assert (s["last_survey_id"], s["verdict"], s["awaiting_retest"]) == ("s0", "pass", False)


def test_overdue_the_day_after_and_not_on_the_day():
    assert states(("2025-11-16", "accepted", "pass"))["state"] == "in service"
    s = states(("2025-11-15", "accepted", "pass"))
    assert (s["state"], s["overdue_days"]) == ("overdue", 1)


def test_intervals_of_the_register_the_type_and_the_profile():
    may = ("2026-05-01", "accepted", "pass")
    assert states(may, interval_months=6)["state"] == "overdue"
    assert states(may, hood_type="radioisotope")["next_due"] == pd.Timestamp(
        "2026-11-01"
    )  # half a year, common practice
    assert states(may, hood_type="radioisotope", interval_months=12)["state"] == "in service"
    assert states(may, profile="uk-practice-0.5pm10")["next_due"] == pd.Timestamp("2027-07-01")  # 14 months, COSHH


@pytest.mark.parametrize(
    ("last", "months", "month_end", "due"),
    [
        ("2025-03-10", 12, False, "2026-03-10"), ("2025-03-10", 12, True, "2026-03-31"),
        ("2024-02-29", 12, False, "2025-02-28"), ("2025-08-31", 6, False, "2026-02-28"),
        ("2025-12-31", 14, False, "2027-02-28"), ("2025-01-31", 1, True, "2025-02-28"),
    ],
)  # fmt: skip
def test_next_due(last, months, month_end, due):
    got = next_due(np.array([last], dtype="datetime64[s]"), np.array([months]), np.array([month_end]))
    assert str(got.astype("datetime64[D]")[0]) == due


def test_never_surveyed():
    s = states()
    assert (s["state"], s["overdue_days"]) == ("never surveyed", None)
    assert states(("2026-03-02", "held", "pass"))["state"] == "never surveyed"


def test_a_held_survey_renews_no_interval():
    s = states(("2025-03-02", "accepted", "pass"), ("2026-03-02", "held", "pass"))
    assert (s["state"], s["last_surveyed_on"]) == ("overdue", pd.Timestamp("2025-03-02"))


def test_held_but_dangerous_stands_first_until_a_later_survey_passes():
    held = ("2026-03-02", "held", "fail")
    s = states(("2025-03-02", "accepted", "fail"), held)
    assert (s["state"], s["held_survey_id"], s["provisional_verdict"]) == ("do not use until settled", "s1", "fail")
    assert "why s1" in s["reason"]
    assert states(held, ("2026-03-02", "accepted", "pass"))["state"] == "do not use until settled"
    assert states(held, ("2026-04-02", "accepted", "restricted"))["state"] == "do not use until settled"
    assert states(held, ("2026-04-02", "accepted", "pass"))["state"] == "in service"
    assert states((None, "held", "fail"), ("2026-04-02", "accepted", "pass"))["state"] == "do not use until settled"


def test_a_failed_hood_stays_so_until_a_retest_passes():
    fail = ("2026-03-02", "accepted", "fail")
    s = states(("2025-03-02", "accepted", "pass"), fail)
    assert (s["state"], s["since"], s["awaiting_retest"]) == ("do not use", pd.Timestamp("2026-03-02"), True)
    for later in ("restricted", "not judged", "fail"):
        s = states(fail, ("2026-05-02", "accepted", later, "retest"))
        assert (s["state"], s["since"]) == ("do not use", pd.Timestamp("2026-03-02"))
    assert states(fail, ("2026-05-02", "held", "pass", "retest"))["state"] == "do not use"
    assert states(fail, ("2026-05-02", "accepted", "pass", "retest"))["state"] == "in service"


def test_the_order_of_the_rows_does_not_matter():
    fail, retest = ("2026-03-02", "accepted", "fail"), ("2026-05-02", "accepted", "pass", "retest")
    assert states(retest, fail)["state"] == "in service"


def test_of_two_surveys_of_one_day_the_worse_counts_but_a_retest_comes_last():
    fail, passed = ("2026-03-02", "accepted", "fail"), ("2026-03-02", "accepted", "pass")
    assert states(fail, passed)["state"] == states(passed, fail)["state"] == "do not use"
    assert states((*passed, "retest"), fail)["state"] == "in service"


def test_a_superseded_survey_counts_for_nothing():
    assert states(("2026-03-02", "superseded", "fail"))["state"] == "never surveyed"


def test_restricted_and_repaired():
    restricted = ("2026-03-02", "accepted", "restricted")
    s = states(restricted)
    assert (s["state"], s["awaiting_retest"]) == ("restricted", True)
    s = states(restricted, events=[event("2026-04-01", "repaired", hood="H-1")])
    assert (s["state"], s["since"]) == ("awaiting retest", pd.Timestamp("2026-04-01"))
    assert states(restricted, ("2026-05-01", "accepted", "pass"))["state"] == "in service"


def test_a_repair_does_not_free_a_failed_hood():
    s = states(("2026-03-02", "accepted", "fail"), events=[event("2026-04-01", "repaired", hood="H-1")])
    assert s["state"] == "do not use"
    assert "retested before it is used" in s["reason"]


def test_a_survey_that_could_not_be_judged_awaits_its_retest_unless_the_device_is_routed():
    unjudged = ("2026-03-02", "accepted", "not judged")
    assert states(unjudged)["state"] == "awaiting retest"
    assert states(unjudged, hood_type="particulate cabinet")["state"] == "in service"


@pytest.mark.parametrize(
    ("scope", "hit"),
    [
        ({"hood": "H-1"}, True), ({"air_handler": "AHU-1"}, True), ({"air_handler": "AHU-2"}, False),
        ({"building": "Wren Hall", "room": "12"}, True), ({"building": "Wren Hall", "room": "13"}, False),
        ({"building": "Wren Hall", "air_handler": "AHU-1"}, True), ({"hood": "H-2", "building": "Wren Hall"}, False),
        ({"hood": "H-1", "building": "moved since"}, True), ({}, False),
    ],
)  # fmt: skip
def test_a_change_of_ventilation_makes_the_hoods_it_concerns_due(scope, hit):
    s = states(("2026-03-02", "accepted", "pass"), events=[event("2026-06-01", "rebalanced", **scope)])
    assert (s["state"] == "overdue") is hit
    if hit:
        assert (s["next_due"], s["overdue_days"]) == (pd.Timestamp("2026-06-01"), 168)


def test_a_change_is_answered_by_a_survey_after_it_and_one_to_come_changes_nothing():
    change = event("2026-06-01", "fan changed", air_handler="AHU-1")
    assert states(("2026-06-02", "accepted", "pass", "after change"), events=[change])["state"] == "in service"
    assert (
        states(("2026-03-02", "accepted", "pass"), events=[event("2026-12-01", "moved", hood="H-1")])["state"]
        == "in service"
    )


def test_a_hood_replaced_under_the_same_tag_is_another_hood():
    fail = ("2025-03-02", "accepted", "fail")
    assert states(fail, installed_on=pd.Timestamp("2025-06-01"))["state"] == "never surveyed"
    assert states(fail, installed_on=pd.Timestamp("2020-06-01"))["state"] == "do not use"


@pytest.mark.parametrize("word", [False, "no", 0, "False"])
def test_out_of_service(word):
    s = states(("2020-03-02", "accepted", "fail"), in_service=word)
    assert (s["state"], s["overdue_days"], s["awaiting_retest"]) == ("out of service", None, False)


@pytest.mark.parametrize("word", [True, "yes", None, 1])
def test_in_service(word):
    assert states(("2026-03-02", "accepted", "pass"), in_service=word)["state"] == "in service"


def test_a_notice_holds_until_it_is_removed_or_a_later_survey_passes():
    passed = ("2026-03-02", "accepted", "pass")
    posted = ("H-1", "posted", "do not use", "4711", "2026-05-01T09:00:00+00:00")
    s = states(passed, tags=[posted])
    assert (s["state"], s["work_order"], s["notice_posted_on"]) == ("do not use", "4711", pd.Timestamp("2026-05-01"))
    assert (
        states(passed, tags=[posted, ("H-1", "removed", "do not use", None, "2026-05-02T09:00:00")])["state"]
        == "in service"
    )
    after = states(("2026-05-20", "accepted", "pass"), tags=[posted])
    assert (after["state"], after["notice"]) == ("in service", "do not use")  # the paper still hangs there
    assert states(passed, tags=[("H-1", "posted", "restricted", None, "2026-05-01")])["state"] == "restricted"


def test_removing_a_notice_does_not_free_a_failed_hood():
    tags = [("H-1", "posted", "do not use", None, "2026-03-02"), ("H-1", "removed", "do not use", None, "2026-03-05")]
    assert states(("2026-03-02", "accepted", "fail"), tags=tags)["state"] == "do not use"


def test_withdrawing_the_only_evidence_of_a_failure_frees_no_hood():
    before = pd.DataFrame({"hood_id": ["H-1"], "state": ["do not use"], "since": [pd.Timestamp("2026-03-02")]})
    withdrawn = ("2026-03-02", "held", "not judged")
    s = states(("2025-12-02", "accepted", "pass"), withdrawn, earlier=before)
    assert (s["state"], s["since"]) == ("do not use", pd.Timestamp("2026-03-02"))
    assert states(withdrawn, ("2026-04-02", "accepted", "pass"), earlier=before)["state"] == "in service"


def test_what_lies_in_the_future_is_not_counted_yet():
    assert states(("2026-12-01", "accepted", "pass"))["state"] == "never surveyed"


def test_a_survey_of_an_unknown_hood_is_nobodys():
    wide = pd.DataFrame(
        {
            "survey_id": ["s"],
            "hood_id": ["X"],
            "surveyed_on": [pd.Timestamp("2026-01-01")],
            "status": ["accepted"],
            "verdict": ["fail"],
        }
    )
    register = pd.DataFrame({"hood_id": ["H-1"], "building": ["b"], "room": ["1"]})
    nothing = pd.DataFrame()
    out = hood_states(register, wide, nothing, nothing, nothing, TODAY)
    assert out["state"].tolist() == ["never surveyed"]


def test_a_large_campus_is_quick_enough_to_ask_often():
    hoods = [f"H-{i}" for i in range(3000)]
    register = pd.DataFrame({"hood_id": hoods, "building": "b", "room": "1"})
    n = len(hoods) * 4
    wide = pd.DataFrame({
        "survey_id": range(n), "hood_id": hoods * 4, "status": "accepted", "verdict": "pass",
        "surveyed_on": pd.to_datetime(["2023-05-01", "2024-05-01", "2025-05-01", "2026-05-01"]).repeat(len(hoods)),
    })  # fmt: skip
    out = hood_states(register, wide, pd.DataFrame(), pd.DataFrame(), pd.DataFrame(), TODAY)
    assert out["state"].eq("in service").all()
