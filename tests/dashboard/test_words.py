"""Text from sheets shows as it stands and does nothing; verdicts are word, shape and colour."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from dashboard.units import FPM, MPS
from dashboard.words import LOOKS, held_out, plain, safe, shaped


class _Text(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.text, self.tags = "", []

    def handle_data(self, data: str) -> None:
        self.text += data

    def handle_starttag(self, tag: str, attrs: list) -> None:
        self.tags.append(tag)


def rendered(markdown: str) -> _Text:
    """By CommonMark's reference port for Python, with HTML allowed, as the most dangerous reader would."""
    page = _Text()
    page.feed(MarkdownIt("commonmark", {"html": True}).render(f"x {markdown}"))
    return page


@given(st.text(alphabet=st.characters(codec="utf-8"), max_size=80))
def test_any_text_shows_as_it_stands(text: str) -> None:
    page = rendered(safe(text))
    assert set(page.tags) <= {"p"}
    assert page.text.replace("\u2060", "").strip().removeprefix("x").strip() == plain(text).strip()


@pytest.mark.parametrize(
    "text",
    ["<img src=x onerror=alert(1)>", "[press](javascript:alert(1))", "# Heading", "**98**", "![](http://a.example/x.png)",
     "$x^2$", ":red[98]", "http://a.example", "<http://a.example>", "- 98", "1. 98", "| a | b |", "~~98~~", "&lt;"],
)  # fmt: skip
def test_known_tricks_are_only_text(text: str) -> None:
    page = rendered(safe(text))
    assert set(page.tags) <= {"p"}
    assert page.text.strip() == f"x {text}"


def test_an_icon_name_stays_a_word() -> None:
    assert ":material/warning:" not in safe(":material/warning:").replace("\\", "")


def test_every_verdict_differs_in_word_shape_and_colour() -> None:
    grades = ["pass", "restricted", "fail", "not judged", "held"]
    assert len({LOOKS[grade][0] for grade in grades}) == len({LOOKS[grade][2] for grade in grades}) == len(grades)
    assert all(shaped(grade) == f"{LOOKS[grade][0]} {grade}" for grade in grades)


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 [M]."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("page", ["#fbfbf9", "#14191c"])
@pytest.mark.parametrize("word", sorted(LOOKS))
def test_marks_stand_out_from_a_light_and_a_dark_page(word: str, page: str) -> None:
    """WCAG 2.2, 1.4.11: graphical objects at least 3:1 against what is beside them [M]."""
    light, dark = sorted((luminance(LOOKS[word][2]), luminance(page)), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 3


def test_one_ft_per_min_is_0_00508_m_per_s_exactly() -> None:
    """Trade facts E01: by the definition of the foot, 0.3048 m."""
    assert MPS.value(1.0) == 0.3048 / 60 == 0.00508
    assert MPS.text(100.0) == "0.51 m/s"
    assert FPM.text(99.6) == "100 ft/min"
    assert FPM.text(float("nan")) == "–"


def test_what_is_left_out_is_said() -> None:
    assert held_out(0) == "No survey is held; nothing is left out."
    assert held_out(1) == "1 held survey left out of every figure here."
    assert held_out(20, 1) == "20 held surveys left out of every figure here (1 more without a date)."
