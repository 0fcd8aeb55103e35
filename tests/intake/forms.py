"""Small survey workbooks, as a contractor might fill them in, for tests of the whole way in."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

import openpyxl
import pandas as pd

GRID = [[101, 98, 104], [97, 102, 95]]
DRAFTS = [9, 7, 11]

REGISTER = pd.DataFrame(
    [
        (f"H-{n}", "Alder", "1", str(100 + n), 48.0, 30.0, 18.0, "AHU-1", "vertical", dt.datetime(2010, 1, 1))
        for n in range(1, 25)
    ],
    columns=[
        "hood_id", "building", "floor", "room", "opening_width_in", "opening_height_in", "working_sash_in",
        "air_handler", "sash_type", "installed_on",
    ],
)  # fmt: skip


def form(hood: str | None = "H-1", **changes: Any) -> dict[str, Any]:
    """One survey; a field set to None is left out of the sheet."""
    return {
        "Hood ID": hood, "Date": dt.date(2026, 4, 1), "Sash height (in)": 18, "Velocity unit": "fpm",
        "Surveyed by": "K. L.", "Instrument": "TA-2", "Calibrated": dt.date(2026, 1, 12),
        "Calibration due": dt.date(2027, 1, 12), "Smoke (tube)": "captured", "Result": None, "Average": None,
        "grid": GRID, "drafts": DRAFTS,
    } | changes  # fmt: skip


def workbook(*forms: dict[str, Any]) -> bytes:
    """A workbook with a sheet to each form: labels in column A, values beside them, the grid from B21."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for number, one in enumerate(forms, start=1):
        sheet = book.create_sheet(f"Hood {number}")
        labels = [name for name in one if name not in ("grid", "drafts")]
        for row, name in enumerate((n for n in labels if one[n] is not None), start=1):
            sheet.cell(row, 1, name)
            sheet.cell(row, 2, one[name])
        sheet["A20"] = "Face velocity"
        for i, values in enumerate(one["grid"]):
            for j, value in enumerate(values):
                sheet.cell(21 + i, 2 + j, value)
        sheet["A28"] = "Cross-draft"
        for j, value in enumerate(one["drafts"]):
            sheet.cell(28, 2 + j, value)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()
