"""A card is read strictly: whatever is wrong with it is told with its place and how to mend it."""

from __future__ import annotations

from importlib.resources import files

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from auditor.sheets.cards import CardError, load_card
from auditor.sheets.cards.lines import Line, new_card, with_line
from auditor.sheets.cards.writing import comment, quoted
from auditor.sheets.units import find_unit
from tests.sheets.cards.taught import LAYOUT, WORDS
from tests.sheets.cards.test_tables import TABLE


def refusal(text: str) -> str:
    with pytest.raises(CardError) as caught:
        load_card(text, "cobalt.toml")
    message = str(caught.value)
    assert message.startswith("cobalt.toml: ")
    assert "\n" not in message
    return message


def test_units_and_meanings_are_canonical():
    card = load_card(LAYOUT.replace("ft/min", "FPM").replace('unit = "in"', 'unit = "inches"'))
    [layout] = card.layouts
    assert (layout.unit, layout.fields[-1].unit) == ("ft/min", "in")
    assert {w.label: (w.means, w.unit) for w in load_card(WORDS).labels}["X"] == ("sash_height", "in")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("card = 1", "", "card: is missing; write card = 1"),
        ("card = 1", "card = 7", "7 is not a version"),
        ('contractor = "Cobalt"', "", "contractor: is missing"),
        ('contractor = "Cobalt"', 'contractor = "?"', "the draft left this open"),
        ('contractor = "Cobalt"', "contractor = 7", "'7' does not fit; write a text"),
        ('contractor = "Cobalt"', 'contractor = "Cobalt"\nunits = "fpm"', "units: is not known here; did you mean"),
        ('shape = "form"', 'shape = "grid"', "layout 1 ('Q form'), shape: 'grid' is not known here"),
        ('unit = "ft/min"', 'unit = "knots"', "'knots' is not a unit of velocity that is known"),
        ('unit = "ft/min"', 'unit = "inch"', "'inch' is not a unit of velocity"),
        ('"dmy"', '"ymd"', "date_order: 'ymd' is not known here; it is one of: dmy, mdy"),
        ('mark.cells.A1 = "Q form"', "", "mark: is missing"),
        ('mark.cells.A1 = "Q form"', "mark.cells = {}", "it marks nothing"),
        ('mark.cells.A1 = "Q form"', 'mark.cells.A1 = ""', "it marks nothing"),
        ('mark.cells.A1 = "Q form"', 'mark.cells.1A = "Q"', "'1A' is not a cell; write one such as B7"),
        ('cell = "B2"', 'cell = "B0"', "fields, hood, cell: 'B0' is not a cell"),
        ('cell = "B2"', 'cell = "XFE2"', "'XFE2' is not a cell"),
        ('cell = "B2", label = "F1"', 'label = "F1"', "give either its cell, or its label's words and where"),
        ('cell = "B2"', 'cell = "B2", stands = "right"', "give either its cell"),
        ("hood =", "hod =", "fields, hod: is not known here; did you mean 'hood'?"),
        ('label = "F1"', 'lable = "F1"', "hood, lable: is not known here; did you mean 'label'?"),
        ('label = "F1"', 'unit = "in"', "this field has no unit"),
        ('label = "X", unit = "in"', 'label = "X", unit = "fpm"', "'fpm' is not a unit of length"),
        ('range = "B7:D8"', "", "grid 1, range: is missing"),
        ('range = "B7:D8"', 'range = "?"', "the draft left this open; write the range"),
        ('range = "B7:D8"', 'range = "D8:B7"', "runs backwards"),
        ('range = "B7:D8"', 'range = "B7-D8"', "is not a range; write one such as B10:F12"),
        ('range = "B7:D8"', 'range = "B7:ZZ9999"', "at most 2,000"),
        ('range = "B7:D8"', 'range = "B7:D8"\nrows = "up"', "rows: 'up' is not known here"),
        ('range = "B7:D8"', "points.B7 = [1]", "write its row and column"),
        ('range = "B7:D8"', "points.B7 = [1, 1]\npoints.B8 = [1, 1]", "stands there twice"),
        ('range = "B10:D10"', 'range = "D8:F8"', "stands in two of its ranges"),
        ('[[layout.grid]]\nrange = "B7:D8"', "", "grid: is missing"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_layout_is_told_with_its_place(old, new, said):
    assert old in LAYOUT
    assert said in refusal(LAYOUT.replace(old, new, 1))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"F1" = "hood"', '"F1" = "hoods"', "labels, 'F1', means: 'hoods' is not known here; did you mean 'hood'?"),
        ('"F1" = "hood"', '"F1" = { means = "hood", unit = "in" }', "'hood' has no unit"),
        ('"F1" = "hood"', '"F1" = { means = "row" }', "number: is missing"),
        ('"F1" = "hood"', '"F1" = 7', "a table of settings is wanted"),
        ('mark.texts = ["Q form"]', "mark.texts = [7]", "each must be a text"),
        ("[labels]", '[unit_words]\n"fpmm" = "ft"\n[labels]', "'ft' is not a unit of velocity"),
        ("[labels]", '[unit_words]\n"m/s" = "ft/min"\n[labels]', "this already means m/s"),
    ],
)
def test_what_is_wrong_with_words_is_told(old, new, said):
    assert old in WORDS
    assert said in refusal(WORDS.replace(old, new, 1))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("header = 2", "", "header: is missing"),
        ("header = 2", "header = 0", "0 does not fit"),
        ("header = 2", "header = true", "does not fit; write a whole number"),
        ('A = { means = "hood", heading = "Q1" }', "", "none of them is the hood"),
        ('B = "surveyed_on"', 'b = "surveyed_on"', "'b' is not a column; write its letter"),
        ('B = "surveyed_on"', 'B = "?"', "the draft left this open"),
        ("row = 2, column = 2", "column = 2", "some points have a row or column"),
        ('B = "surveyed_on"', 'B = { means = "surveyed_on", row = 1 }', "has no place on the opening"),
        ("row = 2, column = 2", 'row = 2, column = 2, sash = "18"', "not a length with its unit"),
    ],
)
def test_what_is_wrong_with_a_table_is_told(old, new, said):
    assert old in TABLE
    assert said in refusal(TABLE.replace(old, new, 1))


def test_other_files_are_told_apart():
    assert "not written as TOML" in refusal("PK\x03\x04")
    assert "line 2" in refusal('card = 1\ncontractor "Cobalt"')
    assert "teaches nothing" in refusal(new_card("Cobalt"))
    assert "256 KB" in refusal("# " + "x" * 300_000)


@settings(deadline=None, max_examples=200)
@given(st.text(max_size=60))
def test_any_text_is_a_card_or_told_not_to_be(text):
    with pytest.raises(CardError):
        load_card("card = 1\n" + text)


@settings(deadline=None, max_examples=300)
@given(st.text(alphabet=st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40))
def test_what_a_sheet_says_is_inert_in_a_card(text):
    line = Line("unit_words", text, '"ft/min"')
    assume(find_unit(text) is None)
    card = load_card(with_line(new_card("Cobalt"), line))
    assert card.unit_words == ((text, "ft/min"),)
    assert len(comment(text).splitlines()) == 1
    assert len(quoted(text).splitlines()) == 1


def test_a_line_is_added_and_what_stands_there_stays():
    text = "# by K. L.\n" + WORDS.strip() + "\n"
    more = with_line(text, Line("labels", "Vel.", '{ means = "face", unit = "ft/min" }'))
    assert [one for one in more.splitlines() if "Vel." not in one] == text.splitlines()
    assert {w.label for w in load_card(more).labels} == {w.label for w in load_card(text).labels} | {"Vel."}
    assert load_card(with_line(more, Line("", "unit", '"m/s"'))).unit == "m/s"
    assert load_card(with_line(LAYOUT, Line("unit_words", "fpmm", '"ft/min"'))).layouts == load_card(LAYOUT).layouts
    assert with_line(more, Line("labels", "Vel.", '{ means = "face", unit = "ft/min" }')) == more


def test_a_line_never_changes_what_a_card_says():
    with pytest.raises(CardError, match="says otherwise of 'date_order'"):
        with_line(WORDS, Line("", "date_order", '"mdy"'))


def test_the_cards_of_the_documentation_are_sound():
    text = (files("auditor.sheets.cards") / "README.md").read_text(encoding="utf-8")
    head, form, table = [block.split("```")[0] for block in text.split("```toml\n")[1:]]
    assert {w.label for w in load_card(head).labels} == {"F1", "Vel.", "X", "Lvl 1"}
    assert [layout.name for layout in load_card(head + form + table).layouts] == ["hood form", "round"]
