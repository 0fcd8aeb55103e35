"""Judgements can be derived again: replaced per survey, with what people decided still in force."""

from __future__ import annotations

import pandas as pd
import pytest

from auditor.store import Batch
from tests.store import samples


@pytest.fixture
def held(store):
    """A survey held for its unit, with a caution beside; and one that is accepted."""
    batch = samples.batch()
    first = batch.surveys.iloc[0]
    batch.surveys["status"] = ["held", "accepted"]
    batch.discrepancies = pd.DataFrame(
        [
            samples.discrepancy(first, "unit-missing", field="unit", cell="B10:D11"),
            samples.discrepancy(first, "smoke-missing", severity="caution"),
            samples.discrepancy(batch.surveys.iloc[1], "instrument-missing", severity="caution"),
        ]
    )
    batch.readings.loc[batch.readings["survey_id"] == first["survey_id"], ["unit", "velocity_fpm", "bound_fpm"]] = None
    store.record(batch)
    return store, batch, first["survey_id"]


def again(batch: Batch, survey_id: str, **more) -> Batch:
    """The batch's judgement of one survey alone."""
    frames = {
        name: getattr(batch, name)[getattr(batch, name)["survey_id"] == survey_id]
        for name in ("surveys", "readings", "discrepancies", "findings", "verdicts")
    }
    return Batch(**{**frames, **more})


def test_ids_of_discrepancies_do_not_change_when_derived_again(held):
    store, batch, survey = held
    before = samples.values(store.table("discrepancies"))
    store.replace_judgements(again(batch, survey))
    assert samples.values(store.table("discrepancies")) == before
    assert len({row[0] for row in before}) == 3


def test_two_discrepancies_that_agree_in_everything_have_ids_of_their_own(held):
    store, batch, survey = held
    twice = pd.concat([batch.discrepancies.head(1)] * 2, ignore_index=True)
    store.replace_judgements(again(batch, survey, discrepancies=twice), vanished="drop")
    assert store.table("discrepancies", survey_id=survey)["discrepancy_id"].nunique() == 2


def test_a_settled_unit_stands_in_the_readings_and_what_was_written_stays_in_the_facts(held):
    store, batch, survey = held
    store.settle(survey, {"unit": "m/s"}, "the firm's letter of 3 March", "analyst")
    chosen = again(batch, survey)
    chosen.readings = chosen.readings.assign(unit="m/s", velocity_fpm=chosen.readings["value"] / 0.00508)
    chosen.surveys = chosen.surveys.assign(status="accepted", unit="m/s")
    chosen.discrepancies = chosen.discrepancies[chosen.discrepancies["code"] != "unit-missing"]
    store.replace_judgements(chosen)
    shown = store.table("readings", survey_id=survey, kind="face")
    assert set(shown["unit"]) == {"m/s"}
    assert shown["velocity_fpm"].tolist() == pytest.approx([v / 0.00508 for v in shown["written"].astype(float)])
    _, facts = store.facts([survey])
    assert facts["unit"].isna().all()
    states = store.table("discrepancies", survey_id=survey).set_index("code")["state"]
    assert states.to_dict() == {"unit-missing": "corrected", "smoke-missing": "open"}
    assert store.verify() == []


def test_other_surveys_are_left_as_they_were(held):
    store, batch, survey = held
    other = batch.surveys["survey_id"][1]
    before = {name: samples.values(store.table(name, survey_id=other)) for name in ("surveys", "readings", "findings")}
    store.replace_judgements(again(batch, survey, findings=None, verdicts=None))
    assert {name: samples.values(store.table(name, survey_id=other)) for name in before} == before
    assert store.table("findings", survey_id=survey).empty


def test_a_release_holds_when_the_survey_is_judged_again(held):
    store, batch, survey = held
    store.release([survey], "seen with the surveyor", "analyst")
    assert set(store.table("discrepancies", survey_id=survey)["state"]) == {"released"}
    new = samples.discrepancy(batch.surveys.iloc[0], "sash-missing")
    more = pd.concat([batch.discrepancies.head(2), pd.DataFrame([new])], ignore_index=True)
    store.replace_judgements(again(batch, survey, discrepancies=more))
    states = store.table("discrepancies", survey_id=survey).set_index("code")["state"]
    assert states.to_dict() == {"unit-missing": "released", "smoke-missing": "released", "sash-missing": "open"}


def test_a_new_workbook_may_change_what_is_thought_of_an_earlier_survey(held):
    store, batch, survey = held
    other = batch.surveys["survey_id"][1]
    second = samples.batch("later.xlsx", ["B-7"])
    earlier = batch.surveys.iloc[[1]].assign(status="held")
    found = samples.discrepancy(earlier.iloc[0], "survey-repeated")
    second.surveys = pd.concat([second.surveys, earlier], ignore_index=True)
    second.discrepancies = pd.DataFrame([found])
    store.record(second)
    assert store.table("surveys", survey_id=other)["status"].tolist() == ["held"]
    # Derived outright: a caution that is no longer found leaves no trace, so that order of arrival leaves none either.
    assert store.table("discrepancies", survey_id=other)["code"].tolist() == ["survey-repeated"]
    assert store.table("surveys", survey_id=survey)["status"].tolist() == ["held"]
    assert len(store.table("readings", survey_id=other)) == 7
    assert store.verify() == []


def test_states_can_be_marked_when_a_corrected_copy_comes(held):
    store, _, survey = held
    ids = store.table("discrepancies", survey_id=survey)["discrepancy_id"]
    store.mark(ids, "corrected")
    assert set(store.table("discrepancies", survey_id=survey)["state"]) == {"corrected"}
    with pytest.raises(ValueError, match="open, released or corrected"):
        store.mark(ids, "gone")


def test_a_survey_that_is_not_in_the_record_cannot_be_judged(held):
    store, batch, survey = held
    with pytest.raises(ValueError, match="not in the record"):
        store.replace_judgements(again(batch, survey, surveys=batch.surveys.assign(survey_id="x")))


def test_readings_that_were_never_recorded_cannot_be_converted(held):
    store, batch, survey = held
    more = pd.concat([batch.readings, batch.readings], ignore_index=True)
    with pytest.raises(ValueError, match="more readings than were recorded"):
        store.replace_judgements(again(batch, survey, readings=more))
