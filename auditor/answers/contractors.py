"""How the contractors' sheets come in: accepted and held by firm and year, and what is wrong with them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from auditor.answers.record import rows

if TYPE_CHECKING:
    from auditor.store.store import Store

QUALITY = ["contractor", "year", "surveys", "accepted", "held", "held_share", "low", "high", "cautioned"]


def quality(store: Store) -> pd.DataFrame:
    """Columns QUALITY: surveys of each firm and year, the share held with its 95 % Wilson interval, and how many
    carry a caution."""
    from auditor.history.rates import wilson

    found = rows(
        store,
        """
        SELECT COALESCE(s.contractor, 'not known') AS contractor, SUBSTR(s.surveyed_on, 1, 4) AS year,
               COUNT(*) AS surveys, SUM(CASE WHEN s.status = 'accepted' THEN 1 ELSE 0 END) AS accepted,
               SUM(CASE WHEN s.status = 'held' THEN 1 ELSE 0 END) AS held,
               SUM(CASE WHEN c.survey_id IS NOT NULL THEN 1 ELSE 0 END) AS cautioned
        FROM surveys s
        LEFT JOIN (SELECT DISTINCT survey_id FROM discrepancies WHERE severity = 'caution') c
               ON c.survey_id = s.survey_id
        WHERE s.status <> 'superseded'
        GROUP BY COALESCE(s.contractor, 'not known'), SUBSTR(s.surveyed_on, 1, 4) ORDER BY 1, 2
        """,
    )
    counts = found["surveys"].to_numpy(dtype=float)
    low, high = wilson(found["held"].to_numpy(dtype=float), counts)
    return found.assign(held_share=found["held"] / found["surveys"], low=low, high=high).reindex(columns=QUALITY)


def faults(store: Store) -> pd.DataFrame:
    """Discrepancies by firm, year and code: contractor, year, code, title, severity, cases, surveys, open."""
    from auditor.codes import CODES

    found = rows(
        store,
        """
        SELECT COALESCE(s.contractor, 'not known') AS contractor, SUBSTR(s.surveyed_on, 1, 4) AS year, d.code,
               d.severity, COUNT(*) AS cases, COUNT(DISTINCT d.survey_id) AS surveys,
               SUM(CASE WHEN d.state = 'open' THEN 1 ELSE 0 END) AS open_cases
        FROM discrepancies d LEFT JOIN surveys s ON s.survey_id = d.survey_id
        GROUP BY COALESCE(s.contractor, 'not known'), SUBSTR(s.surveyed_on, 1, 4), d.code, d.severity
        ORDER BY surveys DESC, cases DESC
        """,
    )
    titles = {name: code.title for name, code in CODES.items()}
    return found.assign(title=found["code"].map(titles).fillna(found["code"]))


def instruments(store: Store) -> pd.DataFrame:
    """Instruments named on surveys: instrument_id, contractor, surveys, first_on, last_on, due_on (as last told)."""
    return rows(
        store,
        """
        SELECT instrument_id, COALESCE(contractor, 'not known') AS contractor, COUNT(*) AS surveys,
               MIN(surveyed_on) AS first_on, MAX(surveyed_on) AS last_on, MAX(calibration_due) AS due_on
        FROM surveys WHERE instrument_id IS NOT NULL AND status = 'accepted'
        GROUP BY instrument_id, COALESCE(contractor, 'not known') ORDER BY surveys DESC, instrument_id
        """,
    ).pipe(lambda table: table.astype({"surveys": int}) if len(table) else pd.DataFrame(table))
