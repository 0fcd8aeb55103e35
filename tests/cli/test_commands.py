"""The commands as a person or a script types them: words in, text or one JSON document out, an exit status."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from auditor.cli import main
from tests.intake.forms import REGISTER, form, workbook


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with a register and two workbooks, one of them doubtful."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOODAUDIT_TODAY", "2026-11-16")
    monkeypatch.delenv("HOODAUDIT_STORE", raising=False)
    REGISTER.to_csv("hoods.csv", index=False)
    Path("in").mkdir()
    Path("in/good.xlsx").write_bytes(workbook(form("H-1")))
    Path("in/doubtful.xlsx").write_bytes(workbook(form("H-2", grid=[[90, 91, 92], [93, 94, 95]], Average=88)))
    Path("in/notes.txt").write_text("not a workbook")
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(list(words))
    out, err = capsys.readouterr()
    return status, out, err


def test_the_way_in_and_out(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "register", "load", "hoods.csv")[0] == 0
    status, out, err = run(capsys, "intake", "in", "--json")
    document = json.loads(out)
    assert status == 1  # something is held
    assert list(document) == ["workbooks", "surveys", "discrepancies", "totals"]
    assert (document["totals"]["accepted"], document["totals"]["held"]) == (1, 1)
    assert "notes.txt" in err
    held = next(s for s in document["surveys"] if s["status"] == "held")
    assert held["verdict"] is None
    assert held["surveyed_on"] == "2026-04-01"

    status, out, _ = run(
        capsys, "release", held["survey_id"], "--reason", "typed from last year", "--by", "K. L.", "--json"
    )
    assert status == 0
    assert json.loads(out)["surveys"][0]["status"] == "accepted"

    for table in ("register", "workbooks", "surveys", "readings", "discrepancies", "findings", "verdicts"):
        status, out, _ = run(capsys, "export", table, "--format", "json")
        assert status == 0
        assert json.loads(out)
    for name in ("s.csv", "s.json", "s.parquet", "s.xlsx"):
        assert run(capsys, "export", "surveys", "-o", name)[0] == 0
        assert Path(name).stat().st_size > 100

    status, out, _ = run(capsys, "verify", "--json")
    assert (status, json.loads(out)["unbroken"]) == (0, True)
    status, out, _ = run(capsys, "due", "--json")
    assert status == 0
    assert {row["hood_id"] for row in json.loads(out)} == {f"H-{n}" for n in range(3, 25)}  # never surveyed


def test_a_clean_batch_ends_with_0_and_a_readable_account(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "register", "load", "hoods.csv")
    status, out, _ = run(capsys, "intake", "in/good.xlsx")
    assert status == 0
    assert "1 workbook read. 1 survey: 1 accepted, 0 held." in out
    assert "does not prove" in out


def test_check_leaves_no_record(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "intake", "in/good.xlsx", "--check", "--json")
    assert json.loads(out)["surveys"]
    assert not Path("hood-surveys.db").exists()
    assert status == 1  # without a register the hood is not known


def test_explain_shows_cells(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "explain", "in/good.xlsx")
    assert status == 0
    assert "B21" in out
    assert "2 x 3" in out
    status, out, _ = run(capsys, "explain", "in/good.xlsx", "--json")
    assert json.loads(out)["sheets"][0]["surveys"][0]["grid_rows"] == 2


def test_criteria_says_what_common_practice_is(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "criteria", "--json")
    profiles = {p["name"]: p for p in json.loads(out)}
    assert status == 0
    assert len(profiles) > 12
    limits = profiles["common-practice"]["limits"]
    assert {"value", "unit", "source", "mark"} <= set(limits[0])
    assert {(x["value"], x["unit"]) for x in limits if x["criterion"] == "face-point-low"} == {(60.0, "ft/min")}


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (["export", "surveys", "--store", "nowhere/none.db"], 3, "none.db"),
        (["intake", "nowhere.xlsx"], 3, "nowhere.xlsx"),
        (["criteria", "no-such"], 2, "no-such"),
        (["release", "x", "--reason", "y", "--by", "z"], 2, "no such survey"),
        (["tag", "H-404", "--posted", "--by", "z"], 2, "H-404"),
    ],
)
def test_a_failure_is_one_line_and_a_status(here, capsys, words: list[str], status: int, says: str) -> None:
    run(capsys, "register", "load", "hoods.csv")
    got, _, err = run(capsys, *words)
    assert got == status
    assert says in err
    assert len(err.strip().splitlines()) == 1


def test_wrong_words_end_with_2(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["intake"], ["export", "nonsense"], ["intake", "x", "--campaign", "2026"]):
        with pytest.raises(SystemExit) as stop:
            main(words)
        assert stop.value.code == 2


def test_help_loads_nothing_heavy() -> None:
    script = (
        "import sys\nfrom auditor.cli import main\ntry:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'pandas', 'numpy', 'openpyxl', 'great_expectations', 'streamlit', 'sqlalchemy', 'rich', 'lxml'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, env=os.environ, check=True)
    assert done.stderr.strip() == "[]"


def test_every_command_is_documented() -> None:
    """The README or the contract names every command, and the contract names no command that is not there."""
    import re

    from auditor.cli.parser import build_parser

    parser = build_parser()
    commands = set(next(a for a in parser._actions if a.dest == "command").choices)
    root = Path(__file__).resolve().parents[2]
    text = (root / "README.md").read_text() + (root / "auditor/CONTRACT.md").read_text()
    assert commands <= set(re.findall(r"hoodaudit ([a-z]+)", text))


@pytest.mark.parametrize("words", [[], ["register"], ["intake"], ["remeasure"], ["review"], ["labels"], ["sheets"]])
def test_help_answers(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main([*words, "--help"])
    assert stop.value.code == 0
    assert "does not prove" in " ".join(capsys.readouterr().out.split()) or words
