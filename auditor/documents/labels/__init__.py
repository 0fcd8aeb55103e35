"""Labels and notices to print and hang on hoods."""

from auditor.documents.labels.sheet import pdf
from auditor.documents.labels.stock import DEFAULTS, Stock, stocks

__all__ = ["DEFAULTS", "Stock", "pdf", "stocks"]
