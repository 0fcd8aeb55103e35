"""Bytes to cells: what stands in a workbook's cells, with no meaning given to it."""

from auditor.workbook.cells import Cell, Kind, Sheet, Unreadable, Workbook, a1
from auditor.workbook.limits import Limits
from auditor.workbook.read import read_workbook

__all__ = ["Cell", "Kind", "Limits", "Sheet", "Unreadable", "Workbook", "a1", "read_workbook"]
