"""What people decide: facts supplied, surveys released, a register that changes. Facts as written never change."""

from __future__ import annotations

import pytest

from auditor.intake import load_register, release, settle
from tests.intake.forms import form, workbook


def only(store):
    return store.table("surveys").iloc[0]


def test_a_settled_unit_lets_the_survey_count(intake, store, terms) -> None:
    intake(
        a=workbook(
            form(grid=[[0.51, 0.5, 0.53], [0.49, 0.52, 0.48]], drafts=[0.05, 0.04, 0.06], **{"Velocity unit": None})
        )
    )
    survey = only(store)["survey_id"]
    settle(store, survey, {"unit": "m/s"}, evidence="letter of 12 May", by="K. L.", terms=terms)
    row = only(store)
    assert (row["status"], row["unit"]) == ("accepted", "m/s")
    assert row["face_mean_fpm"] == pytest.approx(0.505 / 0.00508)
    assert store.table("readings", kind="face")["written"].iloc[0] == "0.51"
    assert set(store.table("discrepancies", code="unit-missing")["state"]) == {"corrected"}
    assert store.verify() == []


def test_a_settled_hood_date_and_sash(intake, store, terms) -> None:
    intake(a=workbook(form("H-99", Date="03/04/2026", **{"Sash height (in)": None})))
    survey = only(store)["survey_id"]
    values = {"hood": "H-3", "surveyed_on": "2026-04-03", "sash_height": "18 in"}
    settle(store, survey, values, evidence="telephone", by="K. L.", terms=terms)
    row = only(store)
    assert (row["status"], row["hood_id"], f"{row['surveyed_on']:%Y-%m-%d}", row["sash_height_in"]) == (
        "accepted", "H-3", "2026-04-03", 18.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    "values", [{"unit": "furlongs"}, {"surveyed_on": "03/04/2026"}, {"sash_height": "high"}, {"colour": "red"}]
)
def test_a_supplied_value_that_is_not_certain_is_refused(intake, store, terms, values) -> None:
    intake(a=workbook(form(**{"Velocity unit": None})))
    before = store.head()
    with pytest.raises(ValueError, match=next(iter(values))):
        settle(store, only(store)["survey_id"], values, evidence="x", by="K. L.", terms=terms)
    assert store.head() == before


def test_a_release_accepts_and_is_kept_for_ever(intake, store, terms) -> None:
    intake(a=workbook(form(Average=88)))
    survey = only(store)["survey_id"]
    release(store, [survey], reason="average typed from the old sheet", by="K. L.", terms=terms)
    assert (only(store)["status"], only(store)["verdict"]) == ("accepted", "pass")
    assert set(store.table("discrepancies", severity="hold")["state"]) == {"released"}
    decided = store.decisions([survey])
    assert list(decided["kind"]) == ["release"]
    assert decided["detail"].iloc[0]["reason"] == "average typed from the old sheet"


def test_a_release_is_refused_while_a_needed_value_is_unknown(intake, store, terms) -> None:
    intake(a=workbook(form(**{"Sash height (in)": None})))
    with pytest.raises(ValueError, match=r"sash.*settle"):
        release(store, [only(store)["survey_id"]], reason="x", by="K. L.", terms=terms)
    assert only(store)["status"] == "held"


def test_what_is_not_held_cannot_be_released(intake, store, terms) -> None:
    intake(a=workbook(form()))
    with pytest.raises(ValueError, match="not held"):
        release(store, [only(store)["survey_id"]], reason="x", by="K. L.", terms=terms)
    with pytest.raises(ValueError, match="no such survey"):
        release(store, ["nowhere"], reason="x", by="K. L.", terms=terms)


def test_a_release_does_not_cover_what_is_found_later(intake, store, terms) -> None:
    intake(a=workbook(form(Average=88)))
    release(store, [only(store)["survey_id"]], reason="stands", by="K. L.", terms=terms)
    intake(b=workbook(form(grid=[[88, 93, 91], [96, 90, 87]])))
    assert set(store.table("surveys")["status"]) == {"held"}


def test_a_hood_added_to_the_register_frees_its_survey(intake, store, terms) -> None:
    intake(a=workbook(form("H-99")))
    assert only(store)["status"] == "held"
    listed = "hood_id,building,room,opening_width_in,opening_height_in,working_sash_in\nH-99,Alder,199,48,30,18\n"
    loaded = load_register(store, listed.encode(), "hoods.csv", terms)
    assert loaded.change.added == ["H-99"]
    assert (only(store)["status"], only(store)["building"]) == ("accepted", "Alder")
