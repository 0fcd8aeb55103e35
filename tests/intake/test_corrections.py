"""A corrected copy that comes back settles what had been questioned, and both versions stay in the record."""

from __future__ import annotations

from tests.intake.forms import form, workbook

OTHER = [[88, 93, 91], [96, 90, 87]]


def standing(store) -> list[tuple[str, str]]:
    surveys = store.table("surveys").sort_values("workbook")
    return list(zip(surveys["workbook"], surveys["status"], strict=True))


def test_a_missing_point_supplied(intake, store) -> None:
    intake(a=workbook(form(grid=[[101, None, 104], [97, 102, 95]])))
    intake(b=workbook(form()))
    assert standing(store) == [("a.xlsx", "superseded"), ("b.xlsx", "accepted")]
    assert set(store.table("discrepancies", code="grid-incomplete")["state"]) == {"corrected"}
    assert store.verify() == []


def test_a_missing_sash_height_supplied(intake, store) -> None:
    # a row more in the sheet moves nothing here: the label is there, its value is not
    intake(a=workbook(form(**{"Sash height (in)": "?"})))
    intake(b=workbook(form()))
    assert standing(store) == [("a.xlsx", "superseded"), ("b.xlsx", "accepted")]


def test_the_order_of_arrival_plays_no_part(intake, store) -> None:
    intake(b=workbook(form()))
    intake(a=workbook(form(grid=[[101, None, 104], [97, 102, 95]])))
    assert standing(store) == [("a.xlsx", "superseded"), ("b.xlsx", "accepted")]


def test_a_copy_that_also_changes_what_nobody_questioned_is_no_correction(intake, store) -> None:
    intake(a=workbook(form(grid=[[101, None, 104], [97, 102, 95]])))
    intake(b=workbook(form(grid=[[101, 98, 104], [97, 102, 120]])))
    assert standing(store) == [("a.xlsx", "held"), ("b.xlsx", "held")]
    assert set(store.table("discrepancies", severity="hold")["code"]) == {"grid-incomplete", "survey-repeated"}


def test_another_hood_is_no_correction(intake, store) -> None:
    intake(a=workbook(form(grid=[[101, None, 104], [97, 102, 95]])))
    intake(b=workbook(form("H-2", grid=OTHER)))
    assert standing(store) == [("a.xlsx", "held"), ("b.xlsx", "accepted")]


def test_a_copy_that_is_still_faulty_takes_the_place_of_the_worse_one(intake, store) -> None:
    intake(a=workbook(form(grid=[[101, None, 104], [97, 102, 99], [90, "n/a", 93]])))
    intake(b=workbook(form(grid=[[101, 98, 104], [97, 102, 99], [90, "n/a", 93]])))
    assert standing(store) == [("a.xlsx", "superseded"), ("b.xlsx", "held")]


def test_a_slip_in_the_tag_is_corrected_and_a_strange_tag_is_not(intake, store) -> None:
    intake(a=workbook(form("H-177")))
    intake(b=workbook(form("H-17")))
    assert standing(store) == [("a.xlsx", "superseded"), ("b.xlsx", "accepted")]


def test_a_sheet_copied_under_a_strange_tag_stays_held(intake, store) -> None:
    intake(a=workbook(form("QX-7731")))
    intake(b=workbook(form("H-1")))
    assert standing(store) == [("a.xlsx", "held"), ("b.xlsx", "accepted")]
