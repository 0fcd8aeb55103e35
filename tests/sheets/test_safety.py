"""What must never happen: a value carried to another hood, a grid read smaller, a sheet lost, a crash."""

from __future__ import annotations

import datetime as dt
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.sheets import understand as door
from auditor.sheets.context import Context, Environment
from auditor.sheets.dates import DateOrder
from auditor.sheets.scene import look_at
from auditor.sheets.understand import account_of
from auditor.workbook.cells import Workbook
from tests.sheets.build import DAY, GRID, HEAD, codes, face, form, read, sheet

LATER = dt.datetime(2026, 6, 1)


def test_two_forms_of_which_one_lacks_its_hood_are_held_where_labels_stand_in_any_order() -> None:
    first = [["Hood", "Date", "Sash (in)", "Units"], ["H-1", DAY, 18, "fpm"], [], *GRID, []]
    second = [["Date", "Sash (in)"], [LATER, 16], [], ["Units"], ["fpm"], [], *GRID]
    [account] = read(sheet([*first, *second]))
    for one in account.surveys:
        hood = one.fields.get("hood")
        certain = hood is not None and not one.problems
        assert not certain or one.fields["surveyed_on"].value == dt.date(2026, 5, 12)


def test_two_hoods_over_one_grid() -> None:
    [account] = read(sheet([["Hood ID", "H-1"], *form(*GRID, head=[["Hood ID", "H-2"], *HEAD[1:]])]))
    assert all(one.problems for one in account.surveys)


def test_a_pass_that_is_named_and_not_found_holds() -> None:
    rows = form(["Face velocity"], ["Pass 1"], [None, 98, 97], [None, 99, 96], [], ["Pass 2"], ["not done"])
    [account] = read(sheet(rows))
    assert "layout-ambiguous" in codes(account.surveys[0])


def test_a_row_of_other_numbers_under_a_grid_is_not_dropped_in_silence() -> None:
    rows = form(["Face velocity"], [None, "L", "R"], ["Top", 98, 97], ["Blorp", 21, 22])
    [account] = read(sheet(rows))
    assert codes(account.surveys[0])


def test_a_hood_label_over_several_hoods_is_no_form() -> None:
    rows = [
        ["Hood", "Date", "Sash (in)", "Zlot"],
        ["H-1", DAY, 18, "x"],
        ["H-2", DAY, 18, "y"],
        [],
        ["Face velocity (fpm)"],
        [None, 98, 97],
        [None, 99, 96],
    ]
    [account] = read(sheet(rows))
    assert all(one.problems for one in account.surveys)


def test_opening_sizes_by_the_order_that_the_label_gives() -> None:
    [account] = read(sheet(form(*GRID, head=[*HEAD[:4], ["Opening (W x H)", "72 x 28 in"], []])))
    fields = account.surveys[0].fields
    assert (fields["opening_width"].value, fields["opening_height"].value) == (72.0, 28.0)
    [account] = read(sheet(form(*GRID, head=[*HEAD[:4], ["Opening size", "72 x 28 in"], []])))
    assert "opening_width" not in account.surveys[0].fields


def test_an_error_in_one_sheet_loses_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    def trip(scene, env):
        if scene.sheet.name == "bad":
            raise RuntimeError("tripped")
        return account_of(scene, env)

    monkeypatch.setattr(sys.modules["auditor.sheets.understand"], "account_of", trip)
    bad, good = read(sheet(form(*GRID), name="bad"), sheet(form(*GRID), name="good"))
    assert (bad.outcome, codes(bad)) == ("held", ["layout-not-recognised"])
    assert "tripped" in bad.problems[0].detail
    assert len(good.surveys) == 1


WORDS = [
    "Hood",
    "Hood ID",
    "H-1",
    "Date",
    "Sash height (in)",
    "Face velocity (fpm)",
    "Cross-draft",
    "Top",
    "L",
    "R",
    "1",
    "Average",
    "m/s",
    "fpm",
    "Pass 1",
    "18 in",
    "Last year",
    "2025",
    "06/07/2026",
    "<20",
    "",
    "  ",
    "N/A",
    "Row",
    "Hood: H-2 Date: 1 May 2026",
    "%",
    ":",
    "Sash at 6 in",
]
VALUES = st.one_of(
    st.none(),
    st.sampled_from(WORDS),
    st.integers(-5, 500),
    st.floats(allow_nan=True),
    st.just(DAY),
    st.booleans(),
    st.text(max_size=8),
)


@given(
    st.lists(st.lists(VALUES, max_size=7), max_size=12),
    st.lists(st.tuples(st.integers(1, 9), st.integers(1, 6)), max_size=3),
)
@settings(max_examples=250, deadline=None)
def test_no_sheet_whatever_trips_the_reader(rows: list[list], corners: list[tuple[int, int]]) -> None:
    page = sheet(rows, merged=[(r, c, r + 1, c + 1) for r, c in corners])
    first = account_of(look_at(page, DateOrder({})), Environment(Context(), DateOrder({})))
    again = account_of(look_at(page, DateOrder({})), Environment(Context(), DateOrder({})))
    assert first == again
    assert first.outcome in {"read", "set aside", "held"}
    assert first.reason or first.outcome != "set aside"
    places = [one.place for one in first.surveys]
    assert len(set(places)) == len(places)
    for one in first.surveys:
        cells = [r.cell for r in one.readings]
        assert len(set(cells)) == len(cells)


@given(st.permutations(range(3)))
def test_the_order_of_sheets_changes_no_survey(order: list[int]) -> None:
    sheets = [
        sheet(form(*GRID), name="a"),
        sheet(form(*GRID, head=[["Hood ID", "H-2"], *HEAD[1:]]), name="b"),
        sheet([["x"]], name="c"),
    ]
    whole = {a.sheet: a for a in door(Workbook("t", "xlsx", sheets))}
    mixed = {a.sheet: a for a in door(Workbook("t", "xlsx", [sheets[i] for i in order]))}
    assert whole == mixed


def test_rows_and_columns_left_blank_before_a_form_change_addresses_only() -> None:
    moved = [[], [], *[[None, None, *row] for row in form(*GRID)]]
    [account] = read(sheet(moved))
    assert {(r, c): v for r, c, v in face(account.surveys[0]).values()} == {
        (1, 1): 98,
        (1, 2): 97,
        (1, 3): 99,
        (2, 1): 101,
        (2, 2): 103,
        (2, 3): 96,
    }
    assert account.surveys[0].place == "C3:F10"
