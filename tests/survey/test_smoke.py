"""What words about smoke say: the grades, negations, and what does not say."""

import pandas as pd
import pytest

from auditor.survey.smoke import smoke_columns, smoke_grade

GOOD = [
    "captured", "drawn in", "Drawn straight to the exhaust", "good capture", "No visible escape, drawn in", "no escape",
    "escape: none", "Escape? No", "smoke did not escape", "no reverse flow or escape", "captured, no leakage",
    "contained", "Pass", "satisfactory", "inward flow across whole face", "cleared quickly",
    "All smoke captured.", "No turbulence",
]  # fmt: skip
LAZY = [
    "lazy at left edge",
    "slow but captured",
    "eddies, none escape",
    "turbulent inside, contained",
    "rolling behind sash",
]
REVERSE = ["reverse flow at lower left", "captured except reversal at right", "back flow near sill", "poor"]
ESCAPE = [
    "escape at sill", "escaped", "not captured", "Not all smoke captured", "some smoke drawn back out at left", "Fail",
    "captured, but slight escape at the right", "lazy; some escape", "leaks at airfoil", "blown out into room",
    "dangerous", "possible escape at left", "not contained",
]  # fmt: skip
UNCLEAR = [
    "OK",
    "Y",
    "yes",
    "✓",
    "done",
    "see note 3",
    "captured?",
    "mostly captured",
    "no issues",
    "white",
    "appears contained",
]
NOTHING = [None, "", "  ", "n/a", "N/A", "not tested", "-", "Not done"]


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        (t, g)
        for g, texts in {
            "good": GOOD,
            "lazy": LAZY,
            "reverse": REVERSE,
            "escape": ESCAPE,
            "unclear": UNCLEAR,
            None: NOTHING,
        }.items()
        for t in texts
    ],
)
def test_words(text, grade):
    assert smoke_grade(text) == grade


@pytest.mark.parametrize(
    ("text", "question", "grade"),
    [
        ("Y", "Smoke captured?", "good"), ("No", "Smoke captured?", "escape"), ("✓", "Smoke drawn in (Y/N)", "good"),
        ("No", "Any escape?", "good"), ("Yes", "Smoke escape?", "escape"), ("x", "Reverse flow", "reverse"),
        ("OK", "Smoke captured?", "good"), ("Y", "Smoke test", "unclear"), ("yes", None, "unclear"),
        ("lazy at left", "Smoke captured?", "lazy"),
    ],
)  # fmt: skip
def test_a_tick_counts_under_a_question_that_says_what_it_means(text, question, grade):
    assert smoke_grade(text, question) == grade


@pytest.mark.parametrize("capture", GOOD)
@pytest.mark.parametrize("breach", ["escape at sill", "reverse flow at left"])
def test_the_worst_word_counts_wherever_it_stands(capture, breach):
    due = "escape" if "escape" in breach else "reverse"
    assert smoke_grade(f"{capture}; {breach}") == due
    assert smoke_grade(f"{breach}. {capture}") == due


def test_columns():
    frame = pd.DataFrame(
        {
            "smoke_local": ["captured", None, "Y"],
            "smoke_gross": [None, "escaped", None],
            "smoke_local_question": [None, None, "Captured?"],
        }
    )
    out = smoke_columns(frame)
    assert out["smoke_local_grade"].tolist() == ["good", None, "good"]
    assert out["smoke_gross_grade"].tolist() == [None, "escape", None]
