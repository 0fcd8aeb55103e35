"""The work register: what is wrong, since when, and what a later survey settles; keys that stay."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from auditor.answers.record import open_record
from auditor.answers.work import WORK, work
from auditor.audit import Terms
from auditor.cli import main
from auditor.criteria import load_profiles
from auditor.documents.figures import UNITS
from auditor.documents.work import in_unit, work_file
from auditor.files import Source
from auditor.intake import take_in
from auditor.store import open_store
from auditor.store.store import Store
from tests.intake.forms import REGISTER, form, workbook

TODAY = dt.date(2026, 11, 25)
LOW = [[101, 98, 104], [97, 52, 95]]  # a point below 60 ft/min
MIDDLING = [[79, 78, 77], [76, 75, 77]]  # a mean below 80 ft/min


@pytest.fixture(scope="module")
def register(demo_store: Path) -> pd.DataFrame:
    with open_record(str(demo_store)) as store:
        return work(store, TODAY)


@pytest.fixture
def store(tmp_path: Path):
    with open_store(str(tmp_path / "record.db")) as opened:
        opened.load_register(REGISTER, dt.date(2026, 1, 1))
        yield opened


def hand_in(store: Store, *surveys: dict) -> None:
    terms = Terms(TODAY, load_profiles())
    take_in([Source(f"{n}.xlsx", "", workbook(one)) for n, one in enumerate(surveys)], store, terms)


def survey(hood: str, month: int, **changes) -> dict:
    return form(hood, Date=dt.date(2026, month, 2), **changes)


def of(store: Store, hood: str, criterion: str = "face-point-low") -> list[dict]:
    table = work(store, TODAY)
    return table[table["hood_id"].eq(hood) & table["criterion"].eq(criterion)].to_dict("records")


def test_a_retest_that_passes_closes_the_row_under_the_same_key(store: Store):
    hand_in(store, survey("H-1", 2, grid=LOW))
    [opened] = of(store, "H-1")
    assert (opened["status"], opened["priority"], opened["outcome"]) == ("open", 1, "fail")
    assert (opened["measured"], opened["limit"], opened["unit"]) == (52, 60, "ft/min")
    assert (opened["room"], opened["air_handler"], opened["cell"]) == ("101", "AHU-1", "C22")
    assert opened["action"].startswith("Do not use")

    hand_in(store, survey("H-1", 3, grid=[[101, 98, 104], [97, 51, 96]]))
    [still] = of(store, "H-1")
    assert (still["work_key"], still["opened_on"], still["last_seen_on"]) == (
        opened["work_key"], pd.Timestamp("2026-02-02"), pd.Timestamp("2026-03-02"),
    )  # fmt: skip

    hand_in(store, survey("H-1", 4), survey("H-1", 5, grid=[[102, 98, 104], [97, 50, 96]]))
    now, done = of(store, "H-1")  # a new spell, a new key; open ones first
    assert (done["work_key"], done["status"]) == (opened["work_key"], "done")
    assert (done["closed_on"], done["updated_on"]) == (pd.Timestamp("2026-04-02"),) * 2
    assert now["status"] == "open"
    assert now["work_key"] != opened["work_key"]
    since = set(work(store, TODAY, since=dt.date(2026, 5, 1))["work_key"])
    assert now["work_key"] in since
    assert done["work_key"] not in since


def test_what_closes_nothing(store: Store):
    """A survey that does not judge the criterion; a restricted one after a failure; a held one; and a hood that is out
    of service needs no work."""
    hand_in(
        store,
        survey("H-2", 2, grid=[[91, 98, 94], [97, 92, 95]], **{"Smoke (tube)": "escaped"}),
        survey("H-2", 3, grid=[[96, 93, 99], [90, 94, 98]], **{"Smoke (tube)": None}),
        survey("H-3", 2, grid=[[55, 58, 57], [56, 55, 57]]), survey("H-3", 3, grid=MIDDLING),
        survey("H-4", 2, grid=[[101, 98, None], [97, 52, 95]]),
        survey("H-5", 2, grid=[[103, 99, 104], [97, 53, 95]]),
    )  # fmt: skip
    assert [row["status"] for row in of(store, "H-2", "smoke-local")] == ["open"]
    [row] = of(store, "H-3", "face-mean-low")
    assert (row["outcome"], row["priority"], row["status"]) == ("restricted", 1, "open")
    [row] = of(store, "H-4")
    assert (row["status"], row["priority"]) == ("to be settled", 1)
    assert [row["status"] for row in of(store, "H-5")] == ["open"]
    store.load_register(REGISTER.assign(in_service=REGISTER["hood_id"].ne("H-5")), dt.date(2026, 6, 1))
    assert [row["status"] for row in of(store, "H-5")] == ["withdrawn"]


def test_a_record_without_surveys_has_only_hoods_to_survey(store: Store):
    table = work(store, TODAY)
    assert table["criterion"].eq("overdue").all()
    assert set(table["priority"]) == {3}
    assert len(table) == len(REGISTER)


def test_spells_counted_one_by_one(register: pd.DataFrame, demo_store: Path):
    """The demo's findings walked through in plain Python, day by day."""
    with open_record(str(demo_store)) as store:
        findings, surveys = store.table("findings"), store.table("surveys").set_index("survey_id")
    days: dict[tuple, dict] = {}
    for row in findings.to_dict("records"):
        about = surveys.loc[row["survey_id"]]
        if about["status"] != "accepted" or row["outcome"] == "not judged":
            continue
        rank = (about["occasion"] == "retest", ["pass", "restricted", "fail"].index(row["outcome"]))
        each = days.setdefault((row["hood_id"], row["criterion"]), {})
        each[about["surveyed_on"]] = max(each.get(about["surveyed_on"], (False, 0)), rank)
    wanted = []
    for (hood, criterion), each in days.items():
        began = None
        for day in sorted(each):
            if each[day][1] and began is None:
                began = day
            elif not each[day][1] and began is not None:
                wanted.append((hood, criterion, began, day))
                began = None
        if began is not None:
            wanted.append((hood, criterion, began, pd.NaT))
    got = register[register["status"].isin(["open", "done", "withdrawn"]) & register["criterion"].ne("overdue")]
    rows = got[["hood_id", "criterion", "opened_on", "closed_on"]].itertuples(index=False, name=None)
    assert sorted(map(str, rows)) == sorted(map(str, wanted))
    assert len(wanted) > 100
    assert {"open", "done"} <= set(got["status"])


def test_keys_are_one_to_a_row_and_follow_from_nothing_that_changes(register: pd.DataFrame, demo_store: Path):
    assert register["work_key"].is_unique
    assert register["work_key"].str.fullmatch(r"W-[0-9a-f]{12}").all()
    with open_record(str(demo_store)) as store:
        later = work(store, dt.date(2027, 11, 25))
    same = register[register["criterion"].ne("overdue")]["work_key"]
    assert set(same) <= set(later["work_key"])


def test_as_files(register: pd.DataFrame):
    rows = list(csv.DictReader(io.StringIO(work_file(register, "csv", TODAY).decode())))
    assert [row["work_key"] for row in rows] == register["work_key"].tolist()
    assert list(rows[0]) == WORK
    data = work_file(register, "xlsx", TODAY)
    assert data == work_file(register, "xlsx", TODAY)
    sheet = openpyxl.load_workbook(io.BytesIO(data)).active
    assert [row[0] for row in sheet.iter_rows(min_row=2, values_only=True)] == register["work_key"].tolist()
    nasty = register.head(1).assign(causes="=HYPERLINK(1)", hood_id="+1")
    [row] = csv.DictReader(io.StringIO(work_file(nasty, "csv", TODAY).decode()))
    assert (row["causes"], row["hood_id"]) == ("'=HYPERLINK(1)", "'+1")


def test_in_metres_a_second():
    table = pd.DataFrame({"measured": [48.0, 24.7, 0.4], "limit": [60.0, 20.0, 0.5], "unit": ["ft/min", "%", "m/s"]})
    made = in_unit(table, UNITS["m/s"])
    assert made["measured"].tolist() == [0.2438, 24.7, 0.4]  # 48 × 0.00508 = 0.24384
    assert made["limit"].tolist() == [0.3048, 20.0, 0.5]
    assert made["unit"].tolist() == ["m/s", "%", "m/s"]


def test_the_command(demo_store: Path, tmp_path: Path, capfdbinary, register: pd.DataFrame):
    words = ["--store", str(demo_store), "--as-of", TODAY.isoformat()]
    assert main(["work", "--json", *words]) == 0
    rows = json.loads(capfdbinary.readouterr().out)
    assert [row["work_key"] for row in rows] == register["work_key"].tolist()
    assert main(["work", "-o", str(tmp_path / "w.csv"), *words]) == 0
    assert b"open" in capfdbinary.readouterr().out
    assert (tmp_path / "w.csv").read_bytes() == work_file(register, "csv", TODAY)
    assert main(["work", "-o", str(tmp_path / "w.doc"), *words]) == 2
    assert main(["work", "-o", str(tmp_path / "none" / "w.csv"), *words]) == 3
