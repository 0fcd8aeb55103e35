"""Forty-odd workbooks as many invented contractors would make them, each with its truth.

Written by someone who had not read the reader, so that its idea of a survey sheet is a second opinion:
`python -m tests.layouts.firms [NAME]` prints what becomes of them, from register and files to the exported tables.
"""

from __future__ import annotations

import sys

from tests.layouts.firms_faults import FAULTS
from tests.layouts.firms_forms import FORMS
from tests.layouts.firms_pen import Firm
from tests.layouts.firms_tables import TABLES
from tests.layouts.truth import Case

SOUND = {**FORMS, **TABLES}


def firms() -> list[Case]:
    """Every workbook, the sound ones first; the same bytes each time."""
    cases = []
    for number, (name, (build, tag)) in enumerate({**SOUND, **FAULTS}.items(), start=11):
        firm = Firm(name.replace(" ", "-"), tag, number)
        build(firm)
        cases.append(firm.case())
    return cases


def main(name: str = "") -> int:
    from tests.layouts import pipeline

    return pipeline.main([case for case in firms() if name in case.name], show=200, here=True)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2]))
