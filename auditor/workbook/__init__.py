"""Bytes to cells: what stands in a workbook's cells, with no meaning given to it."""

from auditor.workbook.cells import Cell, Kind, Sheet, Unreadable, Workbook, a1

__all__ = ["Cell", "Kind", "Sheet", "Unreadable", "Workbook", "a1"]
