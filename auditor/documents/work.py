"""The work register as a file: csv, json, parquet or xlsx, the same rows giving the same bytes."""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path

import pandas as pd

from auditor.documents.figures import FPM, Unit
from auditor.documents.fixed import fixed
from auditor.documents.tables import write_table


def work_file(table: pd.DataFrame, fmt: str, day: dt.date, unit: Unit = FPM) -> bytes:
    """The rows of `auditor.answers.work` in a format of `auditor.documents.tables.FORMATS`, velocities in `unit`."""
    out = io.BytesIO()
    write_table(in_unit(table, unit), out, fmt)
    return fixed(out.getvalue(), day) if fmt == "xlsx" else out.getvalue()


def in_unit(table: pd.DataFrame, unit: Unit) -> pd.DataFrame:
    """`measured` and `limit` of velocities that stand in ft/min, in `unit`; those that a source prints in m/s stay
    so."""
    if unit is FPM:
        return table
    mine = table["unit"].eq("ft/min").fillna(False).astype(bool)
    made = table.copy()
    for name in ("measured", "limit"):
        made[name] = made[name].astype(float)
        made.loc[mine, name] = (made.loc[mine, name] * unit.per_fpm).round(4)
    made.loc[mine, "unit"] = unit.name
    return made


def put(data: bytes, path: Path) -> None:
    """Writes a file whole, or leaves what was there."""
    part = path.with_name(path.name + ".part")
    try:
        part.write_bytes(data)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
