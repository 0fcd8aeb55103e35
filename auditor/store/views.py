"""The public views: the contract's table names and columns, on SQLite and PostgreSQL alike."""

from __future__ import annotations

from collections.abc import Iterable

from auditor.store import contract


def _list(prefix: str, names: Iterable[str]) -> str:
    return ", ".join(f'{prefix}."{name}"' for name in names)


def _register() -> str:
    return f"SELECT {_list('r', contract.REGISTER)} FROM register_row r WHERE r.valid_to IS NULL"


def _workbooks() -> str:
    """One row per file, and one more for each other name or place under which the same bytes came again. A repeat
    counts no sheets and no surveys, so that sums over the table are right."""

    def count(value: str) -> str:
        return f"CASE WHEN a.status = 'repeat' THEN 0 ELSE COALESCE({value}, 0) END"

    return f"""
SELECT a.workbook, f.sha256, a.path, a.received_at, a.status, a.reason,
       {count("s.sheets")} AS sheets, {count("v.surveys")} AS surveys, {count("v.held")} AS held
FROM fact_arrival a
JOIN fact_file f ON f.file_no = a.file_no
LEFT JOIN (SELECT file_no, COUNT(*) AS sheets FROM fact_sheet GROUP BY file_no) s ON s.file_no = a.file_no
LEFT JOIN (SELECT t.file_no, COUNT(*) AS surveys, SUM(CASE WHEN j.status = 'held' THEN 1 ELSE 0 END) AS held
           FROM fact_survey t LEFT JOIN judged_survey j ON j.survey_no = t.survey_no GROUP BY t.file_no) v
       ON v.file_no = a.file_no
WHERE NOT EXISTS (SELECT 1 FROM fact_arrival b WHERE b.file_no = a.file_no AND b.workbook = a.workbook
                  AND b.path = a.path AND b.arrival_no < a.arrival_no)"""


def _surveys() -> str:
    """A held survey never has a verdict here, whatever was derived for it."""
    return f"""
SELECT s.survey_id, f.workbook, f.sha256 AS workbook_sha256, s.sheet, {_list("j", contract.JUDGED)},
       CASE WHEN j.status = 'held' THEN NULL ELSE v.verdict END AS verdict,
       CASE WHEN j.status = 'held' THEN v.verdict END AS provisional_verdict,
       CASE WHEN j.status = 'held' THEN NULL ELSE v.guarded_verdict END AS guarded_verdict,
       v.profile
FROM fact_survey s
JOIN fact_file f ON f.file_no = s.file_no
LEFT JOIN judged_survey j ON j.survey_no = s.survey_no
LEFT JOIN judged_verdict v ON v.survey_no = s.survey_no"""


def _readings() -> str:
    return f"""
SELECT s.survey_id, f.workbook, f.sha256 AS workbook_sha256, s.sheet,
       {_list("r", ("cell", "kind", "row", "column", "position", "direction", "written"))},
       COALESCE(r.settled_unit, r.unit) AS unit, r.velocity_fpm
FROM fact_reading r
JOIN fact_survey s ON s.survey_no = r.survey_no
JOIN fact_file f ON f.file_no = s.file_no"""


def _discrepancies() -> str:
    own = ("sheet", "cell", "field", "code", "severity", "written", "message", "remedy", "state")
    return f"""
SELECT d.discrepancy_id, s.survey_id, f.workbook, f.sha256 AS workbook_sha256, {_list("d", own)}
FROM judged_discrepancy d
LEFT JOIN fact_file f ON f.file_no = d.file_no
LEFT JOIN fact_survey s ON s.survey_no = d.survey_no"""


def _findings() -> str:
    own = [name for name in contract.FINDINGS if name not in ("survey_id", "hood_id")]
    return f"""
SELECT s.survey_id, j.hood_id, {_list("d", own)}
FROM judged_finding d
JOIN fact_survey s ON s.survey_no = d.survey_no
LEFT JOIN judged_survey j ON j.survey_no = d.survey_no"""


def _verdicts() -> str:
    own = [name for name in contract.VERDICTS if name not in ("survey_id", "hood_id")]
    return f"""
SELECT s.survey_id, j.hood_id, {_list("v", own)}
FROM judged_verdict v
JOIN fact_survey s ON s.survey_no = v.survey_no
JOIN judged_survey j ON j.survey_no = v.survey_no AND j.status <> 'held'"""


def definitions() -> dict[str, str]:
    """The SELECT behind each view, by name."""
    return {
        "register": _register(),
        "workbooks": _workbooks(),
        "surveys": _surveys(),
        "readings": _readings(),
        "discrepancies": _discrepancies(),
        "findings": _findings(),
        "verdicts": _verdicts(),
    }
