"""Data expectations: can we believe this sheet? Suites of great-expectations over the stacked frames of a batch.

They say what is wrong with the data, never what is wrong with a hood. Importing this package loads no heavy library.
"""

from expectations.checks import check
from expectations.errors import CheckNotRun
from expectations.verdicts import check_verdicts

__all__ = ["CheckNotRun", "check", "check_verdicts"]
