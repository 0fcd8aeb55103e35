"""The register as a file: a CSV of hoods, or a workbook with sheets `hoods`, `instruments`, `events`, `aliases`.

Good rows go in; a row with a cell that cannot be read with certainty is refused with that cell, the reason and what
would mend it.
"""

from __future__ import annotations

from auditor.register_file.reading import Refused, RegisterFile, read_register

__all__ = ["Refused", "RegisterFile", "read_register"]
