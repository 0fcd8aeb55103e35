"""Fills a field sheet in by its labels alone, as a person would: nothing here knows in which cell anything stands."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

import numpy as np
import openpyxl
from openpyxl.utils import get_column_letter

ONCE = {
    "Contractor": "Amber", "Surveyed by": "K. L.", "Instrument ID": "TA-12",
    "Kind of instrument": "thermal anemometer", "Calibrated on": dt.date(2026, 1, 20),
    "Calibration due": dt.date(2027, 1, 20),
}  # fmt: skip


def labels(data: bytes, sheet: str) -> dict[str, int]:
    """The row of each text in column A."""
    page = openpyxl.load_workbook(io.BytesIO(data))[sheet]
    return {str(c.value): c.row for c in page["A"] if c.value is not None}


def readings(rows: int, columns: int, unit: str, seed: int) -> np.ndarray:
    """A plausible grid: around 95 ft/min, the lower edge a little faster, in the unit's customary step."""
    rng = np.random.default_rng(seed)
    fpm = rng.normal(95, 5, (rows, columns)) + np.linspace(0, 4, rows)[:, None]
    return np.round(fpm) if unit == "ft/min" else np.round(fpm * 0.00508, 2)


def survey_cells(data: bytes, sheet: str, unit: str, sash_in: float, seed: int = 1) -> dict[str, Any]:
    """The cells of a sheet that a technician fills in, but for what the cover says once."""
    at = labels(data, sheet)
    page = openpyxl.load_workbook(io.BytesIO(data))[sheet]
    cells: dict[str, Any] = {f"B{at['Surveyed on']}": dt.date(2026, 11, 10)}
    length = next(name for name in at if name.startswith("Sash height"))
    cells[f"B{at[length]}"] = sash_in if length.endswith("(in)") else round(sash_in * 25.4)
    tops = [row for name, row in at.items() if name.startswith("Row ")]
    header = tops[0] - 1
    columns = sum(str(c.value or "").startswith("Col ") for c in page[header])
    grid = readings(len(tops), columns, unit, seed)
    for i, row in enumerate(sorted(tops)):
        for j in range(columns):
            cells[f"{get_column_letter(2 + j)}{row}"] = float(grid[i, j])
    factor = 1.0 if unit == "ft/min" else 0.00508
    drafts = np.random.default_rng(seed + 50).integers(4, 17, (3, 3))
    for i, name in enumerate(("Along the face", "Towards the hood", "Vertical")):
        for j in range(3):
            cells[f"{get_column_letter(2 + j)}{at[name]}"] = round(float(drafts[i, j]) * factor, 2)
    cells[f"B{at['Smoke, small source']}"] = "captured"
    cells[f"B{at['Smoke, large volume']}"] = "captured, lazy or rolling inside"
    cells[f"B{at['Monitor reading']}"] = round(float(grid.mean()), 0 if unit == "ft/min" else 2)
    cells[f"B{at['Operating mode']}"] = "normal"
    cells[f"B{at['Observations']}"] = "Two bottles near the slots, moved."
    return cells


def once_cells(data: bytes, sheet: str, unit: str) -> dict[str, Any]:
    """What the cover says once, as cells of `sheet` (the cover, or a hood's own)."""
    at = labels(data, sheet)
    return {f"B{at[name]}": value for name, value in ({"Unit of velocities": unit} | ONCE).items()}
