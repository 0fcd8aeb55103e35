"""Workbooks in, an audited record out: what is accepted, what is held, what is never lost."""

from __future__ import annotations

import datetime as dt
import itertools

import pandas as pd
import pytest

from auditor.files import Source
from auditor.intake import take_in
from auditor.store import open_store
from tests.intake.forms import GRID, REGISTER, form, workbook


def status(outcome) -> dict[str, str]:
    return dict(zip(outcome.surveys["hood_id"], outcome.surveys["status"], strict=True))


def codes(outcome, severity: str = "hold") -> set[tuple[str, str]]:
    rows = outcome.discrepancies[outcome.discrepancies["severity"].eq(severity)]
    return set(zip(rows["code"], rows["cell"].fillna(""), strict=True))


def test_a_clean_survey_is_accepted_and_judged(intake) -> None:
    outcome = intake(a=workbook(form()))
    row = outcome.surveys.iloc[0]
    assert (row["status"], row["verdict"], row["hood_id"], row["room"]) == ("accepted", "pass", "H-1", "101")
    assert row["face_mean_fpm"] == pytest.approx(sum(map(sum, GRID)) / 6)
    assert row["airflow_cfm"] == pytest.approx(row["face_mean_fpm"] * 4 * 1.5)  # 48 in x 18 in at that mean
    assert outcome.clean
    assert set(outcome.discrepancies["severity"]) <= {"caution"}


def test_every_reading_is_traced_to_its_cell(intake, store) -> None:
    intake(a=workbook(form()))
    readings = store.table("readings", kind="face")
    cells = {f"{'BCD'[j]}{21 + i}": GRID[i][j] for i, j in itertools.product(range(2), range(3))}
    assert dict(zip(readings["cell"], readings["velocity_fpm"], strict=True)) == cells
    assert set(readings["workbook"]) == {"a.xlsx"}
    assert set(readings["sheet"]) == {"Hood 1"}


FAULTS: dict[str, tuple[dict, str, str | None]] = {
    "a missing point": ({"grid": [[101, None, 104], [97, 102, 95]]}, "grid-incomplete", "C21"),
    "a word": ({"grid": [[100, "blocked", 104], [97, 102, 95]]}, "reading-not-numeric", "C21"),
    "a tenfold reading": ({"grid": [[99, 980, 104], [97, 102, 95]]}, "reading-implausible", "C21"),
    "no unit": ({"Velocity unit": None, "grid": [[98, 91, 104], [97, 102, 95]]}, "unit-missing", "B21:D22"),
    "another unit": ({"Velocity unit": "m/s", "grid": [[96, 91, 99], [97, 102, 95]]}, "unit-mismatch", "B21:D22"),
    "no sash height": ({"Sash height (in)": None, "grid": [[95, 91, 99], [97, 102, 95]]}, "sash-missing", ""),
    "no date": ({"Date": None, "grid": [[94, 91, 99], [97, 102, 95]]}, "date-missing", ""),
    "day or month": ({"Date": "03/04/2026", "grid": [[93, 91, 99], [97, 102, 95]]}, "date-ambiguous", "B2"),
    "a hood nobody knows": ({"Hood ID": "H-99", "grid": [[92, 91, 99], [97, 102, 95]]}, "hood-unknown", "B1"),
    "a wrong average": ({"Average": 88, "grid": [[91, 92, 99], [97, 102, 95]]}, "reported-mean-differs", None),
    "failed by eye": ({"Result": "FAIL", "grid": [[90, 91, 99], [97, 102, 95]]}, "reported-verdict-differs", None),
    "a lapsed calibration": (
        {"Calibration due": pd.Timestamp("2026-03-01"), "grid": [[89, 91, 99], [97, 102, 95]]},
        "calibration-expired",
        "B8",
    ),
}


@pytest.fixture(scope="module")
def faulty(tmp_path_factory, terms):
    """All of FAULTS in one intake, a workbook and a hood to each."""
    books = [
        Source(f"{name}.xlsx", name, workbook(form(**{"Hood ID": f"H-{number}"} | changes)))
        for number, (name, (changes, _, _)) in enumerate(FAULTS.items(), start=1)
    ]
    with open_store(str(tmp_path_factory.mktemp("faults") / "record.db")) as store:
        store.load_register(REGISTER, dt.date(2026, 1, 1))
        return take_in(books, store, terms)


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_held_with_its_cell_and_nothing_else_is(faulty, name: str) -> None:
    _, code, cell = FAULTS[name]
    survey = faulty.surveys[faulty.surveys["workbook"].eq(f"{name}.xlsx")]
    assert list(survey["status"]) == ["held"]
    assert pd.isna(survey["verdict"].iloc[0])
    mine = faulty.discrepancies[
        faulty.discrepancies["workbook"].eq(f"{name}.xlsx") & faulty.discrepancies["severity"].eq("hold")
    ]
    assert set(mine["code"]) == {code}
    assert cell is None or cell in set(mine["cell"].fillna(""))
    assert mine["remedy"].str.len().gt(10).all()


def test_a_held_sheet_does_not_hold_its_neighbour(intake) -> None:
    outcome = intake(a=workbook(form("H-1", **{"Velocity unit": None}), form("H-2", grid=[[90, 91, 92], [93, 94, 95]])))
    assert status(outcome) == {"H-1": "held", "H-2": "accepted"}


def test_a_held_sheet_that_hides_a_danger_says_so(intake) -> None:
    outcome = intake(a=workbook(form(grid=[[38, None, 104], [97, 102, 95]])))
    row = outcome.surveys.iloc[0]
    assert (row["status"], row["provisional_verdict"]) == ("held", "fail")


def test_a_number_in_doubt_never_makes_a_danger(intake) -> None:
    """0.5 called ft/min is a slip of the unit, not a hood without air; 980 is no reason to call the rest a failure."""
    slip = intake(a=workbook(form(grid=[[0.51, 0.52, 0.5], [0.49, 0.5, 0.53]])))
    tenfold = intake(b=workbook(form("H-2", grid=[[101, 980, 104], [97, 102, 95]])))
    assert slip.surveys["provisional_verdict"].iloc[0] != "fail"
    assert tenfold.surveys["provisional_verdict"].iloc[0] != "fail"


def test_an_unreadable_file_is_kept_and_named(intake, store) -> None:
    damaged = workbook(form())[:900]
    outcome = intake(a=damaged, b=workbook(form("H-2")))
    assert dict(zip(outcome.workbooks["workbook"], outcome.workbooks["status"], strict=True)) == {
        "a.xlsx": "unreadable", "b.xlsx": "read",
    }  # fmt: skip
    assert codes(outcome) == {("file-unreadable", "")}
    sha = outcome.workbooks.set_index("workbook")["sha256"]["a.xlsx"]
    assert store.workbook_bytes(sha) == damaged


def test_the_same_bytes_twice_change_nothing(intake, store) -> None:
    book = workbook(form())
    intake(a=book)
    before = store.table("surveys")
    again = intake(a=book, renamed=book)
    assert set(again.workbooks["status"]) == {"repeat"}
    pd.testing.assert_frame_equal(store.table("surveys"), before)
    assert len(store.table("readings")) == 9


def test_every_sheet_is_accounted_for(intake) -> None:
    import io

    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(workbook(form())))
    book.create_sheet("Cover")["B2"] = "Hood survey, contract year 2026"
    book.create_sheet("Empty")
    stream = io.BytesIO()
    book.save(stream)
    outcome = intake(a=stream.getvalue())
    accounts = dict(zip(outcome.sheets["sheet"], outcome.sheets["outcome"], strict=True))
    assert accounts == {"Hood 1": "read", "Cover": "set aside", "Empty": "set aside"}
    assert outcome.sheets.loc[outcome.sheets["outcome"].eq("set aside"), "reason"].str.len().gt(3).all()


def test_a_check_keeps_nothing(intake, store) -> None:
    outcome = intake(check=True, a=workbook(form()))
    assert status(outcome) == {"H-1": "accepted"}
    assert store.table("workbooks").empty
    assert store.table("surveys").empty


# --- what shows only beside other surveys ----------------------------------------------------------------------------
OTHER = [[88, 93, 91], [96, 90, 87]]


def test_a_survey_repeated_with_other_readings_holds_both_even_one_accepted_before(intake, store) -> None:
    intake(a=workbook(form()))
    intake(b=workbook(form(grid=OTHER)))
    assert list(store.table("surveys")["status"]) == ["held", "held"]
    assert set(store.table("discrepancies", severity="hold")["code"]) == {"survey-repeated"}


def test_the_same_survey_in_another_file_counts_once(intake, store) -> None:
    intake(a=workbook(form()))
    intake(b=workbook(form(), form("H-2", grid=OTHER)))
    surveys = store.table("surveys")
    assert sorted(surveys.loc[surveys["hood_id"].eq("H-1"), "status"]) == ["accepted", "superseded"]


def test_a_grid_copied_from_another_hood_holds_both(intake, store) -> None:
    grid = [[101, 98, 104, 93], [97, 102, 95, 99]]
    intake(a=workbook(form(grid=grid)))
    intake(b=workbook(form("H-2", grid=grid)))
    assert list(store.table("surveys")["status"]) == ["held", "held"]
    assert set(store.table("discrepancies", severity="hold")["code"]) == {"grid-copied"}


def test_neither_order_nor_grouping_changes_what_is_found(tmp_path, terms) -> None:
    grid = [[101, 98, 104, 93], [97, 102, 95, 99]]
    books = {
        "a": workbook(form(grid=grid)), "b": workbook(form("H-2", grid=grid)), "c": workbook(form("H-3", grid=OTHER)),
        "d": workbook(form("H-3")), "e": workbook(form("H-4", **{"Velocity unit": None})),
    }  # fmt: skip
    found = []
    groupings = [[list("abcde")], [list("edcba")], [["c"], ["a", "e"], ["d"], ["b"]]]
    for number, groups in enumerate(groupings):
        with open_store(str(tmp_path / f"{number}.db")) as store:
            store.load_register(REGISTER, dt.date(2026, 1, 1))
            for group in groups:
                take_in([Source(n, n, books[n]) for n in group], store, terms)
            surveys = store.table("surveys").set_index("survey_id").sort_index()
            doubts = store.table("discrepancies").sort_values("discrepancy_id", ignore_index=True)
        found.append((surveys, doubts))
    for surveys, doubts in found[1:]:
        pd.testing.assert_frame_equal(surveys, found[0][0])
        pd.testing.assert_frame_equal(doubts, found[0][1])


def test_a_row_in_another_unit_is_held_cell_by_cell_and_the_rest_still_warns(intake) -> None:
    outcome = intake(a=workbook(form(grid=[[101, 98, 38], [0.51, 0.49, 0.5], [90, 95, 99]])))
    row = outcome.surveys.iloc[0]
    assert codes(outcome) == {("unit-mismatch", "B22"), ("unit-mismatch", "C22"), ("unit-mismatch", "D22")}
    assert (row["status"], row["provisional_verdict"]) == ("held", "fail")  # for the 38 ft/min


def test_a_grid_with_a_constant_added_is_asked_about_and_not_held(intake, store) -> None:
    grid = [[101, 88, 104, 93], [97, 112, 95, 79], [84, 118, 106, 90]]
    intake(a=workbook(form(grid=grid)))
    shifted = [[v + 3 for v in row] for row in grid]
    outcome = intake(b=workbook(form("H-2", grid=shifted)))
    assert codes(outcome, "caution") >= {("grid-resembles", "")}
    assert set(store.table("surveys")["status"]) == {"accepted"}
