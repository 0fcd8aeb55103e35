"""The list that this program puts first into a workbook that goes back to its contractor: how it is told apart.

When the corrected copy comes in, this sheet is no part of the survey. It is known by its name and its title together,
so that nobody's survey is passed over for a likeness.
"""

from __future__ import annotations

import re

from auditor.workbook.cells import Sheet

NAME = "Return list"
TITLE = "Return list of the survey audit: points to settle"
REASON = "the list of points to settle that went back with this workbook"
_NAMED = re.compile(re.escape(NAME) + r"(?: \d{1,3})?", re.IGNORECASE)


def is_own_list(sheet: Sheet) -> bool:
    """Whether a sheet is such a list."""
    title = sheet.cells.get((1, 1))
    return bool(_NAMED.fullmatch(sheet.name.strip())) and title is not None and title.value == TITLE
