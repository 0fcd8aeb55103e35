"""Field workbooks: blank survey forms for the hoods due, one sheet a hood, which intake reads back.

Pure: what a book should hold goes in, bytes come out.
"""

from auditor.documents.field.geometry import CannotDraw, grid_of
from auditor.documents.field.model import Book, HoodToSurvey, Limits, Previous
from auditor.documents.field.workbook import field_workbook

__all__ = ["Book", "CannotDraw", "HoodToSurvey", "Limits", "Previous", "field_workbook", "grid_of"]
