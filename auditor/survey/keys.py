"""Names that stay the same whenever the same thing is found again at the same place."""

from __future__ import annotations

import hashlib
import re
from collections import Counter

import pandas as pd

# What no database keeps: it stands as U+FFFD in the record, and so in the id.
_UNSTORABLE = re.compile("[\x00\ud800-\udfff]")
_NAMED_BY = ("sheet", "cell", "field", "code", "written")


def discrepancy_ids(discrepancies: pd.DataFrame) -> list[str]:
    """An id per row: of the survey (else the workbook), sheet, cell, field, code and what was written.

    Rows that are equal in all of these get ids of their own, by their order.
    """

    def column(name: str) -> list[str]:
        values = discrepancies[name] if name in discrepancies.columns else [None] * len(discrepancies)
        return ["" if pd.isna(value) else _UNSTORABLE.sub("\ufffd", str(value)) for value in values]

    seen: Counter[str] = Counter()
    ids = []
    for survey_id, sha256, *rest in zip(
        column("survey_id"), column("workbook_sha256"), *map(column, _NAMED_BY), strict=True
    ):
        key = "\x1f".join([survey_id or sha256, *rest])
        seen[key] += 1
        text = key if seen[key] == 1 else f"{key}\x1f{seen[key]}"
        ids.append(hashlib.sha256(text.encode()).hexdigest()[:20])
    return ids
