"""What a person does at the screen: settling, releasing, handing in workbooks, each through the command itself."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from auditor.answers.record import open_record
from dashboard import desk
from tests.dashboard.conftest import SAMPLES, TODAY


@pytest.fixture
def own_store(demo_store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo's record that may be written to."""
    path = tmp_path / "own.db"
    shutil.copy(demo_store, path)
    monkeypatch.setenv("HOODAUDIT_STORE", str(path))
    monkeypatch.setenv("HOODAUDIT_TODAY", TODAY)
    return path


def held_for(store: Path, code: str) -> str:
    """A survey that this code alone holds."""
    with open_record(str(store)) as record:
        holds = record.table("discrepancies", severity="hold", state="open")
    alone = holds.groupby("survey_id").filter(lambda part: len(part) == 1)
    return str(alone.loc[alone["code"].eq(code), "survey_id"].iloc[0])


def status_of(store: Path, survey_id: str) -> str:
    with open_record(str(store)) as record:
        return str(record.table("surveys", survey_id=survey_id)["status"].iloc[0])


def test_a_missing_sash_height_is_settled_and_the_survey_counts(screen, own_store: Path) -> None:
    survey = held_for(own_store, "sash-missing")
    test = screen(own_store, "held_survey", survey=survey)
    assert test.selectbox[0].value == "sash_height", "the field that is missing is offered first"
    button = next(b for b in test.button if b.label == "Settle")
    button.click().run()
    assert "all three are needed" in test.error[0].value
    assert status_of(own_store, survey) == "held"
    test.text_input[0].input("18 in")
    test.text_area[0].input("the surveyor's notes")
    next(field for field in test.text_input if field.label.startswith("By")).input("A. Analyst")
    next(b for b in test.button if b.label == "Settle").click().run()
    assert not test.exception
    assert "Settled: sash height is 18 in. The survey now counts" in test.success[0].value
    assert status_of(own_store, survey) == "accepted"
    with open_record(str(own_store)) as record:
        decided = record.decisions([survey])
    assert decided["made_by"].tolist() == ["A. Analyst"]
    assert decided["detail"].iloc[0]["evidence"] == "the surveyor's notes"


def test_a_fact_that_does_not_fit_is_refused_in_words(screen, own_store: Path) -> None:
    survey = held_for(own_store, "sash-missing")
    test = screen(own_store, "held_survey", survey=survey)
    test.text_input[0].input("--by=somebody")
    test.text_area[0].input("--help")
    next(field for field in test.text_input if field.label.startswith("By")).input("A. Analyst")
    next(b for b in test.button if b.label == "Settle").click().run()
    assert "That was not done" in test.error[0].value
    assert "Traceback" not in test.error[0].value
    assert status_of(own_store, survey) == "held"


def test_a_release_needs_a_reason_and_is_kept_with_it(screen, own_store: Path) -> None:
    survey = held_for(own_store, "reported-mean-differs")
    test = screen(own_store, "held_survey", survey=survey)
    reason = next(area for area in test.text_area if area.label == "Reason")
    next(b for b in test.button if b.label == "Release").click().run()
    assert "both are needed" in test.error[0].value
    reason = next(area for area in test.text_area if area.label == "Reason")
    reason.input("the average was typed by hand; the readings are right")
    [field for field in test.text_input if field.label.startswith("By")][-1].input("A. Analyst")
    next(b for b in test.button if b.label == "Release").click().run()
    assert "Released. The survey now counts" in test.success[0].value
    assert status_of(own_store, survey) == "accepted"


def test_a_dashboard_for_looking_only_offers_no_deed(screen, demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOODAUDIT_READ_ONLY", "1")
    test = screen(demo_store, "held_survey", survey=held_for(demo_store, "sash-missing"))
    assert not test.exception
    assert [button.label for button in test.button] == []
    assert "looking only" in test.info[0].value
    assert "Hand in workbooks" not in [header.value for header in screen(demo_store, "intake").header]


def test_workbooks_handed_in_are_audited_in_a_process_of_their_own(one_survey_store, tmp_path, monkeypatch) -> None:
    path = tmp_path / "own.db"
    shutil.copy(one_survey_store, path)
    monkeypatch.setenv("HOODAUDIT_STORE", str(path))
    monkeypatch.setenv("HOODAUDIT_TODAY", TODAY)
    good = SAMPLES / "2026" / "amber-2026-bittern-autumn.xlsx"
    ran = desk.take_in([(good.name, good.read_bytes()), ("../../torn.xlsx", b"PK\x03\x04 torn")], check=True)
    assert ran.done
    with open_record(str(path)) as record:
        assert len(record.table("workbooks")) == 1, "a check records nothing"
    ran = desk.take_in([(good.name, good.read_bytes()), ("../../torn.xlsx", b"PK\x03\x04 torn")], check=False)
    assert ran.done
    assert ran.document["totals"]["workbooks_unreadable"] == 1
    with open_record(str(path)) as record:
        assert set(record.table("workbooks")["workbook"]) >= {good.name, "torn.xlsx"}


def test_a_corrected_workbook_settles_what_the_faulty_one_left_held(tmp_path, monkeypatch) -> None:
    import io

    import openpyxl

    from auditor.cli import main

    path = tmp_path / "own.db"
    monkeypatch.setenv("HOODAUDIT_STORE", str(path))
    monkeypatch.setenv("HOODAUDIT_TODAY", TODAY)
    assert main(["register", "load", str(SAMPLES / "register.xlsx")]) in (0, 1)
    right = (SAMPLES / "2026" / "amber-2026-retests.xlsx").read_bytes()
    book = openpyxl.load_workbook(io.BytesIO(right))
    form = book[book.sheetnames[-1]]
    average = next(row[0].row for row in form.iter_rows(max_col=1) if row[0].value == "Average")
    form.cell(average, 2).value = 140.0
    wrong = io.BytesIO()
    book.save(wrong)
    first = desk.take_in([("amber-2026-retests.xlsx", wrong.getvalue())], check=False)
    assert [row["status"] for row in first.document["surveys"]] == ["held"]
    second = desk.take_in([("amber-2026-retests.xlsx", right)], check=False)
    assert [row["status"] for row in second.document["surveys"]] == ["accepted"]
    with open_record(str(path)) as record:
        standing = record.table("surveys").groupby("status").size().to_dict()
        assert standing == {"accepted": 1, "superseded": 1}
        assert set(record.table("discrepancies", code="reported-mean-differs")["state"]) == {"corrected"}


@pytest.mark.parametrize(
    ("given", "kept"),
    [("../../etc/passwd.xlsx", "passwd.xlsx"), ("C:\\x\\a.xls", "a.xls"), ("..", "workbook"), ("", "–"),
     ("a" * 300 + ".xlsx", "a" * 120 + ".xlsx"), ("a\nb.csv", "a b.csv")],
)  # fmt: skip
def test_an_uploaded_name_is_only_a_name(given: str, kept: str) -> None:
    assert desk.file_name(given) == kept
