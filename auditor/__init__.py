"""Audits contractors' fume-hood survey workbooks and keeps the campus's record of them."""

__version__ = "0.1.0"
