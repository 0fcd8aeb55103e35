"""A hood that failed stays 'do not use' when the only evidence is withdrawn, until a survey passes."""

from __future__ import annotations

import datetime as dt

from auditor.answers import hood_states
from auditor.intake import settle
from tests.intake.forms import form, workbook

LOW = [[55, 52, 58], [56, 57, 54]]


def state(store, hood: str) -> str:
    states = hood_states(store, dt.date(2026, 11, 16))
    return states.set_index("hood_id")["state"][hood]


def test_moved_to_another_hood_the_first_still_waits_for_a_pass(intake, store, terms) -> None:
    intake(a=workbook(form(grid=LOW)))
    assert state(store, "H-1") == "do not use"
    survey = store.table("surveys")["survey_id"].iloc[0]
    settle(store, survey, {"hood": "H-2"}, evidence="wrong tag on the sheet", by="K. L.", terms=terms)
    assert state(store, "H-2") == "do not use"
    assert state(store, "H-1") == "do not use"
    intake(b=workbook(form("H-1", Date=dt.date(2026, 5, 6))))
    assert state(store, "H-1") == "in service"
    assert store.verify() == []
