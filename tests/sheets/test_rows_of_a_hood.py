"""Rows that say once what holds for the next ones: within one hood, never from one hood to another."""

from __future__ import annotations

from auditor.sheets import understand
from auditor.workbook import read_workbook

HEAD = "Hood,Date,Sash height (in),Row,Column,Velocity (fpm)\n"


def surveys(text: str) -> list:
    return [s for a in understand(read_workbook((HEAD + text).encode(), "in.csv")) for s in a.surveys]


def test_a_hood_may_be_named_once_for_its_rows() -> None:
    found = surveys("H-1,2026-04-01,18,1,1,98\n,,,1,2,97\n,,,2,1,96\n,,,2,2,95\nH-2,2026-04-01,18,1,1,91\n,,,1,2,92\n")
    assert [(s.fields["hood"].value, len(s.readings)) for s in found] == [("H-1", 4), ("H-2", 2)]


def test_a_blank_sash_is_never_taken_from_the_hood_above() -> None:
    rows = "".join(f"H-1,2026-04-01,18,1,{n},9{n}\n" for n in (1, 2, 3))
    rows += "".join(f"H-2,2026-04-01,,1,{n},8{n}\n" for n in (1, 2, 3))
    found = {s.fields["hood"].value: s for s in surveys(rows)}
    assert found["H-1"].fields["sash_height"].value == 18
    assert "sash_height" not in found["H-2"].fields
