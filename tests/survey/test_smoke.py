"""What words about smoke say: the grades, negations, and what does not say."""

import pandas as pd
import pytest

from auditor.survey.smoke import smoke_columns, smoke_grade

WORDS = {
    "good": [
        "captured", "drawn in", "Drawn straight to the exhaust", "good capture", "No visible escape, drawn in",
        "no escape", "escape: none", "Escape? No", "smoke did not escape", "no reverse flow or escape", "contained",
        "captured, no leakage", "Pass", "satisfactory", "inward flow across whole face", "cleared quickly",
        "All smoke captured.", "No turbulence", "drawn to rear slots", "no loss of containment",
        "Captured/no escape", "Nothing escaped", "escape: none seen", "flows into hood", "inflow at all points",
    ],
    "lazy": [
        "lazy at left edge", "slow but captured", "eddies, none escape", "turbulent inside, contained",
        "rolling behind sash", "captured with some eddies",
    ],
    "reverse": ["reverse flow at lower left", "captured except reversal at right", "back flow near sill", "poor"],
    "escape": [
        "escape at sill", "escaped", "not captured", "Not all smoke captured", "some smoke drawn back out at left",
        "Fail", "captured, but slight escape at the right", "lazy; some escape", "leaks at airfoil", "dangerous",
        "blown out into room", "possible escape at left", "not contained", "loss of containment at sill",
        "capture lost at left", "Captured: N", "drawn toward operator", "smoke seen outside the hood",
        "pushed out at lower right", "no inward flow", "Captured? no", "failed to capture", "smoke drifts into lab",
        "could not be captured", "outward flow at bottom",
    ],
    "unclear": [
        "OK", "Y", "yes", "✓", "done", "see note 3", "captured?", "mostly captured", "no issues", "white",
        "appears contained", "captured except at left corner", "80 % captured", "captured only at centre",
        "weak inward flow", "some smoke captured", "no adverse flow",
    ],
    None: [None, "", "  ", "n/a", "N/A", "not tested", "-", "Not done", "Pass / Fail", "Yes/No", "Y / N"],
}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "grade"),
    [(text, grade) for grade, texts in WORDS.items() for text in texts],
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


@pytest.mark.parametrize("capture", WORDS["good"])
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
