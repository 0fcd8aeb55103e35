"""The data package, judged by the validator of the open standard (frictionless, Data Package)."""

from __future__ import annotations

import csv
import hashlib
import json
from pathlib import Path

import frictionless
import pandas as pd
import pytest

from auditor.answers import table
from auditor.answers.record import open_record
from auditor.cli import main
from auditor.cli.parser import TABLES
from auditor.documents.package import DESCRIPTOR, meaning, resource, write_package

AS_OF = ["--as-of", "2026-11-25"]


@pytest.fixture(scope="module")
def folder(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("package") / "new"
    assert main(["export", "all", "-o", str(target), "--store", str(demo_store), *AS_OF]) == 0
    return target


@pytest.fixture(scope="module")
def described(folder: Path) -> dict:
    return json.loads((folder / DESCRIPTOR).read_text(encoding="utf-8"))


def test_it_is_valid(folder: Path, described: dict):
    report = frictionless.validate(str(folder / DESCRIPTOR))
    assert report.valid, report.flatten(["type", "note", "fieldName", "rowNumber"])[:10]
    assert [task.name for task in report.tasks] == list(TABLES)
    assert sum(task.stats["rows"] for task in report.tasks) > 10_000


@pytest.mark.parametrize(
    ("name", "old", "new", "kind"),
    [
        ("verdicts.csv", ",pass,", ",perhaps,", "constraint-error"),
        ("discrepancies.csv", None, None, "foreign-key"),
        ("register.csv", "2", "two", "type-error"),
        ("verdicts.csv", "profile_version", "version", "incorrect-label"),
    ],
)
def test_the_validator_would_see_a_fault(folder: Path, tmp_path: Path, name: str, old, new, kind: str):
    """The schema is strict enough to notice a changed value, a broken reference, a wrong type, a renamed column."""
    for path in folder.iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    text = (tmp_path / name).read_text(encoding="utf-8")
    if old is None:
        rows = list(csv.reader(text.splitlines()))
        key = next(row[1] for row in rows[1:] if row[1])
        text = text.replace(key, "0" * len(key))
    elif name == "register.csv":
        first, second, *rest = text.split("\n")
        cells = second.split(",")
        cells[first.split(",").index("working_sash_in")] = new
        text = "\n".join([first, ",".join(cells), *rest])
    else:
        text = text.replace(old, new, 1)
    (tmp_path / name).write_text(text, encoding="utf-8")
    package = json.loads((tmp_path / DESCRIPTOR).read_text())
    package["resources"] = [one for one in package["resources"] if one["name"] not in ("readings", "findings")]
    for one in package["resources"]:  # the sums would be seen first
        del one["hash"], one["bytes"]
    (tmp_path / DESCRIPTOR).write_text(json.dumps(package))
    report = frictionless.validate(str(tmp_path / DESCRIPTOR))
    assert kind in {row[0] for row in report.flatten(["type"])}


def test_sums_and_sizes_are_the_files(folder: Path, described: dict):
    for one in described["resources"]:
        data = (folder / one["path"]).read_bytes()
        assert (one["bytes"], one["hash"]) == (len(data), f"sha256:{hashlib.sha256(data).hexdigest()}")


def test_its_tables_are_the_exports(folder: Path, demo_store: Path, tmp_path: Path):
    for name in ("surveys", "rates", "discrepancies"):
        alone = tmp_path / f"{name}.csv"
        assert main(["export", name, "-o", str(alone), "--store", str(demo_store), *AS_OF]) == 0
        assert alone.read_bytes() == (folder / f"{name}.csv").read_bytes()


def test_every_column_is_described_with_its_type(described: dict, demo_store: Path):
    kinds = {"_on": "date", "_at": "datetime", "_fpm": "number", "_in": "number"}
    for one in described["resources"]:
        for field in one["schema"]["fields"]:
            assert field["description"], f"{one['name']}.{field['name']}: say what it is in package.toml"
            wanted = next((kind for end, kind in kinds.items() if field["name"].endswith(end)), field["type"])
            assert field["type"] == wanted, (one["name"], field)
    assert meaning("rates", "group") != meaning("clusters", "group")  # the same word, two meanings


def test_it_says_which_state_of_the_record_it_holds(described: dict, demo_store: Path):
    with open_record(str(demo_store)) as store:
        entry, seal = store.head()
    assert described["record"] == {"entry": entry, "seal": seal, "as_of": "2026-11-25"}
    assert "does not prove that a hood contains" in described["description"]


def test_twice_the_same_bytes_and_none_for_a_table_that_failed(folder: Path, demo_store: Path, tmp_path: Path):
    assert main(["export", "all", "-o", str(tmp_path), "--store", str(demo_store), *AS_OF]) == 0
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {p.name: p.read_bytes() for p in folder.iterdir()}

    def broken():
        yield "register", pd.DataFrame({"hood_id": ["H-1"]})
        raise RuntimeError("the store went away")

    with pytest.raises(RuntimeError):
        write_package(broken(), tmp_path, {})
    assert not (tmp_path / DESCRIPTOR).exists()  # no description of what is not whole


def test_an_empty_table_keeps_its_columns(demo_store: Path, tmp_path: Path):
    with open_record(str(demo_store)) as store:
        names = ("register", "surveys", "readings", "workbooks")
        tables = [(name, store.table(name).head(0)) for name in names]
        assert list(table(store, "surveys", today=None).columns) == list(tables[1][1].columns)
    write_package(tables, tmp_path, {})
    assert frictionless.validate(str(tmp_path / DESCRIPTOR)).valid
    assert [f["name"] for f in resource(*tables[1])["schema"]["fields"]] == list(tables[1][1].columns)


def test_the_command_says_what_it_needs(demo_store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["export", "all", "--store", str(demo_store)]) == 2
    assert "-o DIR" in capsys.readouterr().err
    assert main(["export", "all", "-o", str(tmp_path), "--format", "parquet", "--store", str(demo_store)]) == 2
    assert "csv" in capsys.readouterr().err
