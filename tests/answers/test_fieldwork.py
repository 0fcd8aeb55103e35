"""Who is due, in which book and order; and the two commands that write workbooks for contractors."""

from __future__ import annotations

import datetime as dt
import io
import json
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from auditor.answers.fieldwork import field_books, hoods_due, limits_of, natural, rounds
from auditor.audit import Terms
from auditor.cli import main
from auditor.criteria import load_profiles
from auditor.files import Source
from auditor.intake import take_in
from auditor.store import open_store
from tests.intake.forms import form, workbook

TODAY = dt.date(2026, 11, 16)
GRIDS = {
    "H-1": [[101, 98, 104], [97, 102, 95]],
    "H-2": [[91, 88, 94], [97, 92, 85]],
    "H-3": [[40, 38, 44], [41, 42, 45]],
}
COLUMNS = [
    "hood_id", "building", "floor", "room", "hood_type", "opening_width_in", "opening_height_in", "working_sash_in",
    "sash_type", "interval_months", "in_service", "x_ft", "y_ft",
]  # fmt: skip
ROWS = [
    ("H-1", "Alder", "1", "2", "general", 48.0, 30.0, 18.0, "vertical", 12, True, 0.0, 0.0),  # surveyed, in order
    ("H-2", "Alder", "1", "10", "general", 48.0, 30.0, 18.0, "vertical", 6, True, 30.0, 0.0),  # overdue
    ("H-3", "Birch", "2", "1", "general", 48.0, 30.0, 18.0, "vertical", 12, True, None, None),  # failed
    ("H-4", "Alder", "1", "3", "general", 96.0, 30.0, 18.0, "vertical", 12, True, 10.0, 0.0),  # never surveyed
    ("H-5", "Alder", "1", "4", "general", None, 30.0, 18.0, "vertical", 12, True, None, None),  # no opening
    ("H-6", "Alder", "2", "1", "particulate cabinet", 48.0, 10.0, None, "none", 12, True, 0.0, 0.0),  # not ours
    ("H-7", "Alder", "2", "2", "general", 48.0, 30.0, 18.0, "vertical", 12, False, 0.0, 5.0),  # out of service
    ("H-8", "Alder", "1", "1", "general", 72.0, 30.0, 18.0, "vertical", 12, True, 29.0, 1.0),  # never surveyed
]


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    with open_store(str(tmp_path_factory.mktemp("due") / "record.db")) as opened:
        opened.load_register(pd.DataFrame(ROWS, columns=COLUMNS), dt.date(2026, 1, 1))
        forms = [form(tag, grid=grid, Contractor="Amber") for tag, grid in GRIDS.items()]
        take_in([Source("a.xlsx", "a.xlsx", workbook(*forms))], opened, Terms(TODAY, load_profiles()))
        yield opened


def order(made) -> dict[str, list[str]]:
    return {book.title: [hood.hood_id for hood in book.hoods] for _, book in made.books}


def test_who_is_due_and_why(store) -> None:
    due = hoods_due(store, TODAY).set_index("hood_id")
    assert set(due.index) >= {"H-2", "H-4", "H-5", "H-8"}
    assert not {"H-1", "H-7"} & set(due.index)
    assert due.loc["H-2", "why"] == "overdue, due 2026-10-01"  # surveyed on 2026-04-01, every 6 months
    assert due.loc["H-4", ["why", "occasion"]].tolist() == ["never surveyed", "initial"]
    ahead = set(hoods_due(store, TODAY, within_days=200)["hood_id"])
    assert "H-1" in ahead  # falls due on 2027-04-01


def test_what_has_no_sheet_is_told_with_the_reason(store) -> None:
    left_out = rounds(store, TODAY).left_out
    assert "register does not say how large" in left_out["H-5"]
    assert "certifier" in left_out["H-6"]


def test_one_book_to_each_group(store) -> None:
    assert set(order(rounds(store, TODAY, by="building"))) >= {"Alder"}
    assert "Alder, floor 1" in order(rounds(store, TODAY, by="route"))
    by_firm = order(rounds(store, TODAY, by="contractor"))
    assert "H-2" in by_firm["Amber"]
    assert {"H-4", "H-8"} <= set(by_firm["no contractor yet"])
    with pytest.raises(ValueError, match="building, contractor, route"):
        rounds(store, TODAY, by="colour")


def test_the_round_walks_from_hood_to_nearest_hood(store) -> None:
    # by room: 1 (at 29 ft), 3 (at 10 ft), 10 (at 30 ft); from room 1 the nearest is room 10
    assert order(rounds(store, TODAY, by="route"))["Alder, floor 1"] == ["H-8", "H-2", "H-4"]
    assert sorted(["Room 10", "Room 2", "room 1"], key=natural) == ["room 1", "Room 2", "Room 10"]


def test_sheets_carry_the_last_survey_and_the_hoods_limits(store) -> None:
    made = rounds(store, TODAY, unit="m/s")
    hood = next(h for _, book in made.books for h in book.hoods if h.hood_id == "H-2")
    assert hood.previous.surveyed_on == dt.date(2026, 4, 1)
    assert hood.previous.mean_fpm == pytest.approx(sum(map(sum, GRIDS["H-2"])) / 6)
    assert hood.previous.lowest_fpm == 85
    # common practice: a point below 60 ft/min, 25 % from the mean, a mean of 80 to 150, a draft of 20 ft/min or 20 %
    assert tuple(vars(hood.limits).values()) == (60, 25, 80, 150, 20, 20, 1.0)
    assert limits_of("california-100-70").point_low_fpm == 70
    for book in field_books(made):
        assert openpyxl.load_workbook(io.BytesIO(book.data)).sheetnames[1:] == list(book.hoods)


def test_the_commands(store, tmp_path, capsys, monkeypatch) -> None:
    monkeypatch.setenv("HOODAUDIT_TODAY", TODAY.isoformat())
    url = str(store.url)
    words = ["sheets", "-o", str(tmp_path / "out"), "--by", "route", "--paper", "letter", "--unit", "m/s"]
    assert main([*words, "--store", url, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {Path(one["file"]).name for one in told["files"]} >= {"field-alder-floor-1.xlsx"}
    assert set(told["left_out"]) == {"H-5", "H-6"}
    for one in told["files"]:
        book = openpyxl.load_workbook(one["file"])
        assert book.sheetnames == ["Cover", *one["hoods"]]
        assert book["Cover"]["B4"].value == "m/s"
        assert book.worksheets[1].page_setup.paperSize == 1
    assert main([*words, "--store", url]) == 0
    assert "no sheet for H-5" in " ".join(capsys.readouterr().out.split())

    assert main(["returns", "-o", str(tmp_path / "back"), "--store", url, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    for one in told["files"]:
        assert Path(one["file"]).is_file()
        assert one["marked"]
    assert main(["returns", "-o", str(tmp_path / "back"), "--store", url, "--contractor", "Nobody"]) == 0
    assert "nothing to send back" in capsys.readouterr().out

    (tmp_path / "file").write_text("")
    assert main(["sheets", "-o", str(tmp_path / "file"), "--store", url]) == 3
    assert "is a file" in capsys.readouterr().err
    with pytest.raises(SystemExit) as stopped:
        main(["sheets", "-o", str(tmp_path), "--within", "soon"])
    assert stopped.value.code == 2
