"""Return copies: a contractor's own workbook with each doubtful cell marked and explained where it stands, and a first
sheet that lists them. Only what is added changes; every other part goes back byte for byte.

Pure: bytes and points in, bytes out.
"""

from auditor.documents.returns.copying import CannotMark, marked_copy
from auditor.documents.returns.listing import list_workbook
from auditor.documents.returns.model import About, Point

__all__ = ["About", "CannotMark", "Point", "list_workbook", "marked_copy"]
