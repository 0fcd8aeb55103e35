"""What a sheet reports beside the grid: smoke by a tick, the sash's movement, a variable-volume hood's response."""

from __future__ import annotations

import pytest

from tests.intake.forms import form, workbook


def test_a_yes_counts_only_under_a_question_that_says_what_it_means(intake, store) -> None:
    asked = form("H-1", **{"Smoke (tube)": None, "Was the smoke captured?": "Y"})
    unasked = form("H-2", grid=[[90, 91, 92], [93, 94, 95]], **{"Smoke (tube)": "Y"})
    outcome = intake(a=workbook(asked), b=workbook(unasked))
    verdicts = dict(zip(outcome.surveys["hood_id"], outcome.surveys["verdict"], strict=True))
    assert verdicts == {"H-1": "pass", "H-2": "not judged"}
    unclear = outcome.discrepancies[outcome.discrepancies["code"].eq("smoke-unclear")]
    assert list(unclear["workbook"]) == ["b.xlsx"]


def test_a_question_that_asks_for_escape_turns_the_answer_round(intake) -> None:
    outcome = intake(a=workbook(form("H-1", **{"Smoke (tube)": None, "Did smoke escape?": "Y"})))
    assert list(outcome.surveys["verdict"]) == ["fail"]


@pytest.mark.parametrize(("written", "kept"), [("0.02 ppm", 0.02), ("0.02", 0.02), ("about 0.02", None)])
def test_the_effect_of_moving_the_sash_is_read_from_a_plain_figure_only(written: str, kept: float | None) -> None:
    import pandas as pd

    from auditor.survey.extras import extra_columns

    found = extra_columns(pd.DataFrame({"sash_movement": [written]}))["sash_movement_ppm"].iloc[0]
    assert (None if pd.isna(found) else found) == kept
