"""What observations say of the wash-down and of the monitor's alarm."""

import pytest

from auditor.survey.observed import observed_grade


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("Wash-down works", "works"), ("washdown tested OK", "works"), ("Wash down operational.", "works"),
        ("wash-down not working", "fails"), ("No water at washdown", "fails"), ("washdown nozzle blocked", "fails"),
        ("wash-down not tested", None), ("washdown n/a", None), ("clean inside", None), ("", None), (None, None),
        ("wash-down works, wash-down valve leaks", "fails"), ("no storage; wash-down works", "works"),
        ("washdown seen", None),
    ],
)  # fmt: skip
def test_washdown(text, grade):
    assert observed_grade(text, "washdown") == grade


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("alarm sounds at 78 fpm", "works"),
        ("low-flow alarm silent", "fails"),
        ("alarm muted", "fails"),
        ("alarm", None),
    ],
)
def test_alarm(text, grade):
    assert observed_grade(text, "monitor_alarm") == grade
