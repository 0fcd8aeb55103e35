"""What is held and why; what came in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from auditor.answers.record import rows

if TYPE_CHECKING:
    from auditor.store.store import Store

REASONS = [
    "mends", "code", "title", "severity", "workbook", "workbook_sha256", "sheet", "cell", "field", "written", "message",
    "remedy", "survey_id", "hood_id", "surveyed_on", "contractor", "provisional_verdict", "discrepancy_id",
]  # fmt: skip


def held_reasons(store: Store, severity: str = "hold") -> pd.DataFrame:
    """Open discrepancies (columns REASONS), by what mends them. Whole files and sheets have no survey."""
    from auditor.codes import CODES

    found = rows(
        store,
        'SELECT d."code", d."severity", d."workbook", d."workbook_sha256", d."sheet", d."cell", d."field", '
        'd."written", d."message", d."remedy", d."survey_id", d."discrepancy_id", '
        's."hood_id", s."surveyed_on", s."contractor", '
        's."provisional_verdict" FROM discrepancies d LEFT JOIN surveys s ON s."survey_id" = d."survey_id" '
        'WHERE d."state" = \'open\' AND d."severity" = :severity '
        'ORDER BY d."code", d."workbook", d."sheet", d."cell"',
        {"severity": severity},
    )
    known = found["code"].map(lambda code: CODES.get(code))
    found["mends"] = [one.mends if one else "other" for one in known]
    found["title"] = [one.title if one else code for one, code in zip(known, found["code"], strict=True)]
    return found.reindex(columns=REASONS)


def held_surveys(store: Store) -> pd.DataFrame:
    """Held surveys, those that fail as far as they can be read first, with the number of reasons."""
    return rows(
        store,
        'SELECT s."survey_id", s."hood_id", s."building", s."room", s."surveyed_on", s."contractor", s."workbook", '
        's."sheet", s."provisional_verdict", COUNT(d."discrepancy_id") AS reasons FROM surveys s '
        'LEFT JOIN discrepancies d ON d."survey_id" = s."survey_id" AND d."severity" = \'hold\' '
        "AND d.\"state\" = 'open' "
        "WHERE s.\"status\" = 'held' "
        'GROUP BY s."survey_id", s."hood_id", s."building", s."room", s."surveyed_on", s."contractor", s."workbook", '
        's."sheet", s."provisional_verdict" '
        'ORDER BY CASE WHEN s."provisional_verdict" = \'fail\' THEN 0 ELSE 1 END, s."surveyed_on" DESC, s."hood_id"',
    )


def workbooks(store: Store) -> pd.DataFrame:
    """The contract's table, newest first, with `accepted`."""
    table = store.table("workbooks").sort_values(
        ["received_at", "workbook"], ascending=[False, True], ignore_index=True
    )
    return table.assign(accepted=table["surveys"].fillna(0).astype(int) - table["held"].fillna(0).astype(int))


def sheets_set_aside(store: Store) -> pd.DataFrame:
    """Sheets that hold no survey, with the reason."""
    table = store.sheets()
    return table[table["outcome"].ne("read")].reset_index(drop=True)
