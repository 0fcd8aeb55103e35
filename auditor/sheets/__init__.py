"""Cells to surveys as written: what each sheet says, by its words, units and shapes, with the cell of every value."""

from auditor.sheets.context import Context
from auditor.sheets.understand import understand
from auditor.sheets.values import parse_field

__all__ = ["Context", "parse_field", "understand"]
