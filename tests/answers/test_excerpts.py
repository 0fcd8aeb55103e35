"""Parts of sheets as handed in, against openpyxl's reading of the same bytes."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from auditor.answers.excerpts import area_of, excerpt, shown
from auditor.answers.record import open_record

SAMPLE = Path(__file__).resolve().parents[2] / "sample_workbooks" / "2026" / "amber-2026-avocet.xlsx"


@pytest.mark.parametrize(
    ("cell", "area"),
    [("C7", (7, 3, 7, 3)), ("B5:F9", (5, 2, 9, 6)), ("f9:b5", (5, 2, 9, 6)), ("AA10", (10, 27, 10, 27)),
     ("$B$5", (5, 2, 5, 2)), ("B5, C7", (5, 2, 5, 2)), ("", None), (None, None), ("row 5", None), ("5B", None)],
)  # fmt: skip
def test_addresses(cell: object, area: object) -> None:
    assert area_of(cell) == area


def test_a_part_is_what_openpyxl_reads_there(demo_store: Path) -> None:
    sheet = openpyxl.load_workbook(SAMPLE, data_only=True)["AV-103"]
    with open_record(str(demo_store)) as store:
        sha256 = store.table("workbooks", workbook=SAMPLE.name)["sha256"].iloc[0]
        part = excerpt(store, sha256, SAMPLE.name, "AV-103", ("C15",), 3)
    assert part.marked == {(15, "C")}
    assert list(part.cells.columns) == list("ABCDEF")
    assert list(part.cells.index) == list(range(12, 19))
    for row in part.cells.index:
        for letter in part.cells.columns:
            assert part.cells.loc[row, letter] == shown(sheet[f"{letter}{row}"].value), f"{letter}{row}"


def test_a_range_is_marked_whole_and_a_sheet_is_never_shown_whole(demo_store: Path) -> None:
    with open_record(str(demo_store)) as store:
        sha256 = store.table("workbooks", workbook="archive-2022-amber.csv")["sha256"].iloc[0]
        part = excerpt(store, sha256, "archive-2022-amber.csv", "archive-2022-amber", ("A1:A900",))
    assert part.cut
    assert len(part.cells) == 60
    assert len(part.marked) == 60


def test_trouble_is_said_and_not_raised(demo_store: Path) -> None:
    with open_record(str(demo_store)) as store:
        sha256 = store.table("workbooks", workbook=SAMPLE.name)["sha256"].iloc[0]
        assert "no sheet of that name" in excerpt(store, sha256, SAMPLE.name, "No such", ("A1",)).trouble
        assert "does not hold" in excerpt(store, "0" * 64, SAMPLE.name, "AV-103", ("A1",)).trouble
        bad = store.table("workbooks", status="unreadable")["sha256"].iloc[0]
        assert "cannot be read" in excerpt(store, bad, "bad.xlsx", "x", ("A1",)).trouble
