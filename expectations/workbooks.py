"""Lays ready what is expected of the files of a batch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from expectations.errors import need

if TYPE_CHECKING:
    import pandas as pd

NEEDED = ["workbook", "sha256", "status", "sheets"]


def prepare_workbooks(workbooks: pd.DataFrame) -> pd.DataFrame:
    """`workbooks` with the helper columns of `suites.WORKBOOK_CHECKS`."""
    import pandas as pd

    need(workbooks, NEEDED, "workbooks")
    w = workbooks.reset_index(drop=True).copy()
    w["workbook_sha256"] = w["sha256"]
    sheets = pd.to_numeric(w["sheets"], errors="coerce").astype(float)
    w["has_sheets"] = (w["status"] != "read") | (sheets > 0)
    return w
