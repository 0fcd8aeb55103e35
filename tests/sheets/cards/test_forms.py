"""A form whose labels mean nothing, read through a layout or through the firm's words; and every contradiction held."""

from __future__ import annotations

import datetime as dt
import pickle

import pytest

from auditor.sheets.cards import load_card
from tests.sheets.build import cell, cross, error, face, sheet
from tests.sheets.cards.taught import LAYOUT, ROWS, WORDS, accounts, changed, holds, needed, read

BOTH = pytest.mark.parametrize("card", [LAYOUT, WORDS], ids=["layout", "words"])
SAID = {
    "hood": ("B-214", None),
    "surveyed_on": (dt.date(2026, 7, 6), None),
    "sash_height": (18.0, "in"),
    "unit": ("ft/min", "ft/min"),
}
GRID = {"B7": (1, 1, 98.0), "C7": (1, 2, 97.0), "D7": (1, 3, 99.0), "B8": (2, 1, 101.0), "C8": (2, 2, 103.0),
        "D8": (2, 3, 96.0)}  # fmt: skip


def test_without_a_card_nothing_of_it_is_read():
    [account] = accounts([sheet(ROWS)])
    assert (account.outcome, account.surveys) == ("set aside", [])


@BOTH
def test_labels_that_mean_nothing_are_read_through_a_card(card):
    survey = read(ROWS, card)
    assert needed(survey) == SAID
    assert face(survey) == GRID
    assert (survey.grid_rows, survey.grid_columns) == (2, 3)
    assert {r.unit for r in survey.readings} == {"ft/min"}
    assert cross(survey) == {"B10": 8.0, "C10": 9.0, "D10": 7.0}
    assert survey.problems == []
    assert survey.fields["hood"].cell == "B2"


@BOTH
def test_the_account_says_which_card_was_used(card):
    [account] = accounts([sheet(ROWS)], card)
    assert "the card of Cobalt (" in account.reason
    assert account.card in account.reason


@BOTH
def test_a_sheet_without_the_mark_is_not_touched(card):
    [account] = accounts([sheet(changed("A1", "Another form"))], card)
    assert (account.outcome, account.surveys, account.card) == ("set aside", [], "")


@BOTH
@pytest.mark.parametrize(
    ("where", "what"),
    [
        ("C6", "All velocities in m/s"),  # a note
        ("B8", "101 m/s"),  # the cell itself
        ("A12", "Readings in m/s unless noted"),
    ],
)
def test_another_unit_on_the_sheet_holds(card, where, what):
    assert "unit-mismatch" in holds(read(changed(where, what), card))


def test_a_unit_in_the_label_against_the_card_holds():
    assert "unit-mismatch" in holds(read(changed("A4", "X (mm)"), LAYOUT))
    [account] = accounts([sheet(changed("A4", "X (mm)"))], WORDS)
    assert "unit-mismatch" in holds(account.surveys[0])


@BOTH
def test_a_unit_in_the_value_against_the_card_holds(card):
    assert "unit-mismatch" in holds(read(changed("B4", "457 mm"), card))


@BOTH
def test_the_unit_that_the_sheet_writes_is_the_one_where_both_agree(card):
    survey = read(changed("C6", "All velocities in ft/min"), card)
    assert (survey.fields["unit"].cell, holds(survey)) == ("C6", [])


@BOTH
@pytest.mark.parametrize("text", ["06/25/2026", "7/31/2026"])
def test_a_date_that_cannot_be_in_the_cards_order_holds(card, text):
    survey = read(changed("B3", text), card)
    assert holds(survey) == ["date-ambiguous"]
    assert survey.fields["surveyed_on"].value is None


@BOTH
def test_another_date_of_the_workbook_against_the_cards_order_holds(card):
    assert holds(read(changed("F12", "12/25/2025"), card)) == ["date-ambiguous"]


@BOTH
@pytest.mark.parametrize("date", [dt.datetime(2026, 7, 6), "2026-07-06", "6 July 2026", "06/07/2026"])
def test_dates_that_are_certain_stay_so(card, date):
    survey = read(changed("B3", date), card)
    assert survey.fields["surveyed_on"].value == dt.date(2026, 7, 6)
    assert holds(survey) == []


@pytest.mark.parametrize(
    ("where", "label"), [("A2", "Sash height"), ("A4", "Room"), ("A4", "Design sash height"), ("A2", "Building")]
)
def test_a_label_that_says_something_else_holds(where, label):
    """The card finds the field by its cell; the label beside it contradicts."""
    card = LAYOUT.replace(', label = "F1"', "").replace(', label = "X"', "")
    assert "layout-ambiguous" in holds(read(changed(where, label), card))


@pytest.mark.parametrize("where", ["A2", "A4"])
def test_a_label_that_is_not_the_cards_holds(where):
    assert "layout-ambiguous" in holds(read(changed(where, "Z9"), LAYOUT))


def test_a_word_that_the_trade_uses_otherwise_keeps_its_own_meaning():
    card = WORDS.replace('"F1" = "hood"', '"Room" = "hood"')
    survey = read(changed("A2", "Room"), card)
    assert "layout-ambiguous" in holds(survey)
    assert "hood" not in survey.fields


def test_a_label_that_stands_twice_holds():
    assert "layout-ambiguous" in holds(read(changed("A12", "F2"), LAYOUT))


def test_a_cards_label_does_not_push_aside_the_sheets_own():
    rows = [["Q form"], ["Hood ID", "H-1"], ["Date", dt.datetime(2026, 5, 12)], ["Sash height (in)", 18], ["F1", "H-2"],
            ["Face velocity (ft/min)"], [None, 98, 97, 99], [None, 101, 103, 96]]  # fmt: skip
    assert "layout-ambiguous" in holds(read(rows, WORDS))


def test_readings_beside_the_cards_range_hold():
    """The hood is wider than the one that the card was made for."""
    rows = changed("E8", 95, changed("E7", 94))
    survey = read(rows, LAYOUT)
    assert holds(survey) == ["layout-ambiguous"]
    assert any("E7" in p.detail for p in survey.problems)


def test_numbers_beside_the_range_may_be_ignored_or_explained():
    rows = changed("E8", 100.0, changed("E7", 98.0))
    ignoring = LAYOUT.replace("[layout.fields]", 'ignore = ["E7:E8"]\n[layout.fields]')
    assert holds(read(rows, ignoring)) == []
    assert holds(read(changed("E6", "Average", rows), LAYOUT)) == []
    numbered = changed("A8", 2, changed("A7", 1))
    assert holds(read(numbered, LAYOUT)) == []


def test_what_its_own_labels_say_of_the_places_holds_against_the_card():
    rows = [["Q form"], ["Hood ID", "B-214"], ["Date", dt.datetime(2026, 5, 12)], ["Sash height (in)", 18], [],
            ["Face velocity (ft/min)"], ["Bottom", 98, 97, 99], ["Top", 101, 103, 96]]  # fmt: skip
    card = LAYOUT.split("[layout.fields]")[0] + '[layout.fields]\nhood = "B2"\n[[layout.grid]]\nrange = "B7:D8"\n'
    assert holds(read(rows, card)) == ["layout-ambiguous"]
    right = card.replace('range = "B7:D8"', 'range = "B7:D8"\nrows = "bottom first"')
    survey = read(rows, right)
    assert (holds(survey), face(survey)["B8"]) == ([], (1, 1, 101.0))


@BOTH
@pytest.mark.parametrize(
    ("value", "outcome"), [(None, "blank"), ("n/a", "not-numeric"), ("<20", "censored"), ("98 fpm", "coerced"),
                           (error(), "not-numeric")],
)  # fmt: skip
def test_readings_obey_the_same_strict_parsers(card, value, outcome):
    rows = changed("C7", value)
    reading = {r.cell: r for r in read(rows, card).readings}["C7"]
    assert reading.outcome == outcome


def test_a_blank_form_is_no_survey():
    rows = [r[:1] for r in ROWS]
    [account] = accounts([sheet(rows)], LAYOUT)
    assert account.surveys == []


def test_a_form_whose_readings_are_missing_is_kept_with_its_blanks():
    rows = [r if i not in (6, 7) else [] for i, r in enumerate(ROWS)]
    survey = read(rows, LAYOUT)
    assert {r.outcome for r in survey.readings if r.kind == "face"} == {"blank"}


@pytest.mark.parametrize(
    ("how", "want"),
    [
        ("", {"B7": (1, 1), "D7": (1, 3), "B8": (2, 1)}),
        ('rows = "bottom first"', {"B7": (2, 1), "D8": (1, 3)}),
        ('columns = "right first"', {"B7": (1, 3), "D7": (1, 1)}),
        ("turned = true", {"B7": (1, 1), "D7": (3, 1), "B8": (1, 2)}),
        ('turned = true\nrows = "bottom first"', {"B7": (3, 1), "D7": (1, 1)}),
        ("unplaced = true", {"B7": (None, None)}),
    ],
)
def test_orientation_of_a_grid(how, want):
    survey = read(ROWS, LAYOUT.replace('range = "B7:D8"', f'range = "B7:D8"\n{how}'))
    assert want.items() <= {c: (r, k) for c, (r, k, _) in face(survey).items()}.items()
    assert holds(survey) == []


def test_passes_and_single_points():
    two = LAYOUT.replace('range = "B7:D8"', 'range = "B7:D7"\n[[layout.grid]]\nrange = "B8:D8"\npass = 2')
    assert {(r.cell[1], r.pass_number, r.row) for r in read(ROWS, two).readings if r.kind == "face"} == {
        ("7", 1, 1),
        ("8", 2, 1),
    }
    named = "points.B7 = [1, 1]\npoints.D7 = [1, 2]\npoints.B8 = [2, 1]\npoints.D8 = [2, 2]"
    points = LAYOUT.replace('range = "B7:D8"', named)
    points = points.replace("[layout.fields]", 'ignore = ["C7:C8"]\n[layout.fields]')
    survey = read(ROWS, points)
    assert {c: (r, k) for c, (r, k, _) in face(survey).items()} == {
        "B7": (1, 1), "D7": (1, 2), "B8": (2, 1), "D8": (2, 2),
    }  # fmt: skip


def test_parts_of_a_cell():
    rows = changed("B2", None, changed("A2", "F1: B-214; F3: 110"))
    parts = 'hood = { cell = "A2", after = "F1:", before = "F3" }\nroom = { cell = "A2", after = "F3:" }'
    card = LAYOUT.replace('hood = { cell = "B2", label = "F1" }', parts)
    survey = read(rows, card)
    assert (survey.fields["hood"].value, survey.fields["room"].value, holds(survey)) == ("B-214", "110", [])
    moved = read(changed("A2", "F9: B-214; F3: 110", rows), card)
    assert "layout-ambiguous" in holds(moved)


def test_two_layouts_that_take_the_same_readings_hold_both():
    [account] = accounts([sheet(ROWS)], LAYOUT + LAYOUT.split('contractor = "Cobalt"')[1])
    assert len(account.surveys) == 2
    assert all("layout-ambiguous" in holds(s) for s in account.surveys)


def test_two_cards_for_one_sheet_hold_it():
    [account] = accounts([sheet(ROWS)], LAYOUT, LAYOUT.replace("Cobalt", "Amber"))
    assert account.outcome == "held"
    assert "the card of Cobalt" in account.problems[-1].detail
    assert "the card of Amber" in account.problems[-1].detail


def test_a_hidden_place_is_remarked():
    survey = read(ROWS, LAYOUT, hidden_rows=frozenset({7}))
    assert [p.code for p in survey.problems] == ["row-hidden"]


def test_other_forms_of_the_sheet_are_not_lost():
    own = [["Hood ID", "H-9"], ["Date", dt.datetime(2026, 5, 12)], ["Sash height (in)", 18],
           ["Face velocity (ft/min)"], [None, 88, 87, 89], [None, 91, 93, 86]]  # fmt: skip
    [account] = accounts([sheet([*ROWS, [], [], *own])], LAYOUT)
    assert {s.fields["hood"].value for s in account.surveys} == {"B-214", "H-9"}


def test_texts_of_a_sheet_stay_inert():
    odd = '=HYPERLINK("x")\n[labels]\n"a" = "hood"'
    survey = read(changed("B2", odd), LAYOUT)
    assert survey.fields["hood"].written == odd


def test_number_formats_count_as_the_cells_own_unit():
    rows = changed("B8", cell(8, 2, 0.51, '0.00" m/s"'))
    assert "unit-mismatch" in holds(read(rows, LAYOUT))


def test_a_card_that_trips_the_program_holds_its_sheet_alone(monkeypatch):
    def trips(*_):
        raise RuntimeError("odd")

    monkeypatch.setattr("auditor.sheets.cards.applying.read_form", trips)
    own = [["Hood ID", "H-9"], ["Date", dt.datetime(2026, 5, 12)], ["Sash height (in)", 18],
           ["Face velocity (ft/min)"], [None, 88, 87, 89], [None, 91, 93, 86]]  # fmt: skip
    coded, plain = accounts([sheet(ROWS), sheet(own, name="Other")], LAYOUT)
    assert (coded.outcome, coded.problems[-1].code) == ("held", "layout-ambiguous")
    assert "RuntimeError" in coded.problems[-1].detail
    assert holds(plain.surveys[0]) == []


def test_cards_go_to_other_processes():
    card = load_card(LAYOUT)
    assert pickle.loads(pickle.dumps(card)) == card


def test_a_unit_over_the_readings_that_nobody_knows_holds():
    """The card's ft/min does not stand against 'knots'; the card may say what the firm means by its own word."""
    for text in ("Q7 (knots)", "Face velocity (knots)"):
        survey = read(changed("A6", text), LAYOUT)
        assert "unit-unknown" in holds(survey)
        assert {r.unit for r in survey.readings if r.kind == "face"} == {None}
    spelled = LAYOUT.replace("[[layout]]", '[unit_words]\nfpmm = "ft/min"\n[[layout]]')
    assert holds(read(changed("A6", "Q7 (fpmm)"), spelled)) == []


def test_what_a_card_does_not_speak_of_is_still_read_by_its_words():
    rows = changed("C12", "escaped", changed("A12", "Smoke test (local)"))
    rows = changed("C13", dt.datetime(2025, 1, 2), changed("A13", "Calibration due", rows))
    rows = changed("C14", "FAIL", changed("A14", "Result", rows))
    survey = read(rows, LAYOUT)
    assert survey.fields["smoke_local"].value == "escaped"
    assert survey.fields["calibration_due"].value == dt.date(2025, 1, 2)
    assert survey.fields["reported_verdict"].written == "FAIL"
    assert holds(survey) == []


def test_another_value_under_the_trades_own_label_holds():
    rows = changed("C12", "H-9", changed("A12", "Hood ID"))
    assert "layout-ambiguous" in holds(read(rows, LAYOUT))
