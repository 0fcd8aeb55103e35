"""A return copy that comes back: recognised, settled, its list ignored, both versions kept."""

from __future__ import annotations

import datetime as dt
import io
import re

import openpyxl
import pytest

from auditor.answers.returning import return_copies
from auditor.audit import Terms
from auditor.criteria import load_profiles
from auditor.files import Source
from auditor.intake import take_in
from auditor.store import open_store
from auditor.workbook.own_sheet import NAME, REASON
from tests.documents.patching import filled
from tests.documents.returns.workbooks import MISSING, rich_workbook
from tests.intake.forms import REGISTER, form, workbook

TODAY = dt.date(2026, 11, 16)
TERMS = Terms(TODAY, load_profiles())


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    """The record after a workbook with a point missing came in; and the one copy that goes back for it."""
    with open_store(str(tmp_path_factory.mktemp("story") / "record.db")) as store:
        store.load_register(REGISTER, dt.date(2026, 1, 1))
        take(store, "amber.xlsx", rich_workbook())
        (copy,) = return_copies(store, TODAY)
        yield store, copy


def take(store, name, data):
    return take_in([Source(name, name, data)], store, TERMS)


def standing(store) -> dict[tuple[str, str], str]:
    surveys = store.table("surveys")
    return dict(zip(zip(surveys["workbook"], surveys["sheet"], strict=True), surveys["status"], strict=True))


def test_the_copy_marks_what_is_open(story) -> None:
    _, copy = story
    assert (copy.name, copy.marked) == ("amber-return.xlsx", True)
    page = openpyxl.load_workbook(io.BytesIO(copy.data))["Hood 1"]
    assert page[MISSING].fill.fgColor.rgb == "FFFFC8CF"


def test_a_corrected_copy_takes_the_place_of_the_first(story) -> None:
    store, copy = story
    assert standing(store) == {("amber.xlsx", "Hood 1"): "held", ("amber.xlsx", "Hood 2"): "accepted"}
    outcome = take(store, "amber-return.xlsx", filled(copy.data, **{"Hood 1": {MISSING: 98}}))
    told = outcome.sheets.set_index("sheet")
    assert (told.loc[NAME, "outcome"], told.loc[NAME, "reason"]) == ("set aside", REASON)
    now = standing(store)
    assert now[("amber.xlsx", "Hood 1")] == "superseded"
    assert now[("amber-return.xlsx", "Hood 1")] == "accepted"
    assert sorted([now[("amber.xlsx", "Hood 2")], now[("amber-return.xlsx", "Hood 2")]]) == ["accepted", "superseded"]
    assert set(store.table("discrepancies", code="grid-incomplete")["state"]) == {"corrected"}
    assert set(store.table("surveys", status="held")["survey_id"]) == set()
    assert store.verify() == []
    assert len(store.table("workbooks")) == 2


def test_a_copy_whose_first_sheet_was_taken_out_is_recognised_too(tmp_path) -> None:
    with open_store(str(tmp_path / "record.db")) as store:
        store.load_register(REGISTER, dt.date(2026, 1, 1))
        take(store, "amber.xlsx", rich_workbook())
        (copy,) = return_copies(store, TODAY)
        book = openpyxl.load_workbook(io.BytesIO(copy.data))
        del book[NAME]
        book["Hood 1"][MISSING] = 98
        stream = io.BytesIO()
        book.save(stream)
        take(store, "amber-2.xlsx", stream.getvalue())
        assert standing(store)[("amber.xlsx", "Hood 1")] == "superseded"
        assert standing(store)[("amber-2.xlsx", "Hood 1")] == "accepted"


def test_a_workbook_that_merely_calls_a_sheet_so_is_read(tmp_path) -> None:
    """Nobody's survey is passed over for its sheet's name."""
    with open_store(str(tmp_path / "record.db")) as store:
        store.load_register(REGISTER, dt.date(2026, 1, 1))
        book = openpyxl.load_workbook(io.BytesIO(rich_workbook()))
        book["Hood 2"].title = NAME
        stream = io.BytesIO()
        book.save(stream)
        outcome = take(store, "amber.xlsx", stream.getvalue())
        assert set(outcome.surveys["sheet"]) == {"Hood 1", NAME}


def test_what_cannot_be_marked_goes_back_as_a_list(tmp_path) -> None:
    with open_store(str(tmp_path / "record.db")) as store:
        store.load_register(REGISTER, dt.date(2026, 1, 1))
        text = "hood,date,sash height (in),unit,p1,p2,p3,p4\nH-1,2026-04-01,18,fpm,98,,95,97\n"
        take(store, "cobalt.csv", text.encode())
        (copy,) = return_copies(store, TODAY)
        assert (copy.name, copy.marked) == ("cobalt-return.xlsx", False)
        outcome = take(store, copy.name, copy.data)
        assert list(outcome.sheets["reason"]) == [REASON]
        assert outcome.surveys.empty
        assert outcome.discrepancies.empty


FAULTS = [  # what is wrong with a form, the code that says so, the cell that settles it on the copy
    ({"Velocity unit": "?"}, "unit-missing", {"B4": "fpm"}),
    ({"Sash height (in)": "?"}, "sash-missing", {"B3": 18}),
    ({"Hood ID": "H-999"}, "hood-unknown", {"B1": "H-3"}),
    ({"grid": [[91, "n/a", 94], [87, 92, 85]]}, "reading-not-numeric", {"C21": 88}),
    ({"Calibration due": dt.date(2026, 1, 12)}, "calibration-expired", {"B8": dt.date(2027, 1, 12)}),
]


def test_each_kind_of_point_can_be_settled_on_the_copy(tmp_path) -> None:
    grids = [[[100 + 3 * n, 98 - n, 104], [97, 102 + 2 * n, 95 + n]] for n in range(len(FAULTS))]
    forms = [
        form(f"H-{n}", **({"grid": grid, "drafts": [n + 3, 7, 11]} | fault))
        for n, (grid, (fault, _, _)) in enumerate(zip(grids, FAULTS, strict=True), start=1)
    ]
    with open_store(str(tmp_path / "record.db")) as store:
        store.load_register(REGISTER, dt.date(2026, 1, 1))
        first = take(store, "amber.xlsx", workbook(*forms))
        held = first.discrepancies[first.discrepancies["severity"].eq("hold")]
        assert {code for _, code, _ in FAULTS} <= set(held["code"])
        assert held["sheet"].nunique() == len(FAULTS)
        (copy,) = return_copies(store, TODAY, holds_only=True)
        mended = {f"Hood {n}": cells for n, (_, _, cells) in enumerate(FAULTS, start=1)}
        take(store, copy.name, filled(copy.data, **mended))
        assert {
            sheet: status for (book, sheet), status in standing(store).items() if book == copy.name
        } == dict.fromkeys(mended, "accepted")
        assert {status for (book, _), status in standing(store).items() if book == "amber.xlsx"} == {"superseded"}
        assert list(return_copies(store, TODAY, holds_only=True)) == []


def test_a_copy_sent_back_untouched_settles_nothing_and_raises_nothing(tmp_path) -> None:
    with open_store(str(tmp_path / "record.db")) as store:
        store.load_register(REGISTER, dt.date(2026, 1, 1))
        take(store, "amber.xlsx", rich_workbook())
        (copy,) = return_copies(store, TODAY)
        outcome = take(store, copy.name, copy.data)
        assert set(outcome.discrepancies["code"]) <= {"grid-incomplete"}
        held = store.table("surveys", status="held")
        assert set(held["hood_id"]) == {"H-1"}


def test_names_and_contractors(tmp_path) -> None:
    with open_store(str(tmp_path / "record.db")) as store:
        store.load_register(REGISTER, dt.date(2026, 1, 1))
        faulty = {"grid": [[101, None, 104], [97, 102, 95]]}
        for number, (name, firm) in enumerate([("a/form.xlsx", "Amber"), ("c/form.xlsx", "Cobalt")], start=1):
            data = workbook(form(f"H-{number}", Contractor=firm, **faulty))
            take_in([Source("form.xlsx", name, data)], store, TERMS)
        both = [copy.name for copy in return_copies(store, TODAY)]
        assert both[0] == "form-return.xlsx"
        assert re.fullmatch(r"form-return-[0-9a-f]{8}\.xlsx", both[1])
        (one,) = return_copies(store, TODAY, contractor="cobalt")
        assert store.table("surveys", workbook_sha256=one.sha256)["contractor"].tolist() == ["Cobalt"]
