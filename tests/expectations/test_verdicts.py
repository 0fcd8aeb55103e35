"""The sheet's own verdict against ours."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from expectations import CheckNotRun, check_verdicts
from expectations.verdicts import meant


def survey(reported: Any, verdict: Any, provisional: Any = None) -> dict[str, Any]:
    return {"survey_id": "s1", "workbook": "amber.xlsx", "workbook_sha256": "ab" * 32, "sheet": "Hood",
            "reported_verdict": reported, "reported_verdict_written": reported, "reported_verdict_cell": "B18",
            "verdict": verdict, "provisional_verdict": provisional}  # fmt: skip


@pytest.mark.parametrize(
    ("reported", "verdict", "provisional", "severity"),
    [
        ("FAIL", "pass", None, "hold"),
        ("Failed - see notes", None, "pass", "hold"),
        ("Not acceptable", "pass", None, "hold"),
        ("Pass", "fail", None, "caution"),
        ("Satisfactory", "", "fail", "caution"),
        ("Pass", "pass", None, None),
        ("fail", "fail", None, None),
        ("fail", "restricted", None, None),
        ("pass", "restricted", None, None),
        ("fail", "not judged", None, None),
        ("pass", "not judged", None, None),
        ("blue", "pass", None, None),
        (None, "fail", None, None),
        ("fail", None, None, None),
        ("fail", "fail", "pass", None),
    ],
)
def test_only_a_contradiction_is_reported(reported: Any, verdict: Any, provisional: Any, severity: str | None) -> None:
    found = check_verdicts(pd.DataFrame([survey(reported, verdict, provisional)]))
    assert found["severity"].tolist() == ([severity] if severity else [])
    if severity:
        row = found.iloc[0]
        assert (row["code"], row["field"], row["cell"]) == ("reported-verdict-differs", "reported_verdict", "B18")
        assert reported in row["message"]


@pytest.mark.parametrize(
    ("written", "verdict"),
    [
        ("Pass", "pass"), ("PASSED", "pass"), ("OK", "pass"), ("acceptable", "pass"), ("accepted.", "pass"),
        ("Fail", "fail"), ("FAILED!", "fail"), ("not passed", "fail"), ("did not pass", "fail"),
        ("unacceptable", "fail"), ("non-compliant", "fail"), ("not satisfactory", "fail"), ("do not use", "fail"),
        ("pass / fail", "fail"), ("passage", ""), ("failsafe", ""), ("", ""), ("see report", ""), ("broken", ""),
    ],
)  # fmt: skip
def test_words_of_a_verdict(written: str, verdict: str) -> None:
    assert meant(written) == verdict


def test_severities_of_both_directions_can_be_changed() -> None:
    both = pd.DataFrame([survey("fail", "pass"), survey("pass", "fail")])
    changed = {"reported-verdict-differs": "caution", "reported-verdict-differs/sheet-passes": "hold"}
    assert check_verdicts(both, severities=changed)["severity"].tolist() == ["caution", "hold"]


def test_nothing_to_compare_gives_nothing_and_an_absent_column_is_said() -> None:
    frame = pd.DataFrame([survey("fail", "pass")])
    assert check_verdicts(frame.iloc[:0]).empty
    for column in ("reported_verdict", "survey_id"):
        with pytest.raises(CheckNotRun, match=column):
            check_verdicts(frame.drop(columns=column))
    with pytest.raises(CheckNotRun, match="verdict"):
        check_verdicts(frame.drop(columns=["verdict", "provisional_verdict"]))
