"""The sheet's own verdict against the one by the criteria; asked after judging, and needing no suite."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from auditor.codes import default_severities
from expectations.errors import need
from expectations.limits import VERDICT_WORDS
from expectations.report import IDENTITY, to_frame

if TYPE_CHECKING:
    import pandas as pd

CODE = "reported-verdict-differs"
REVERSE = "sheet-passes"


@lru_cache(maxsize=4096)
def meant(written: str) -> str:
    """'pass', 'fail' or '' for a sheet's own verdict. 'Not passed' is a fail, and so is whatever says both."""
    text = f" {re.sub(r'[^a-z]+', ' ', written.casefold())} "
    for verdict, words in VERDICT_WORDS.items():
        if any(f" {word.replace('-', ' ')} " in text for word in words):
            return verdict
    return ""


def check_verdicts(surveys: pd.DataFrame, *, severities: Mapping[str, str] | None = None) -> pd.DataFrame:
    """DISCREPANCIES of surveys whose own verdict is not that of the criteria.

    surveys: survey_id, workbook, workbook_sha256, sheet, reported_verdict (with `_written` and `_cell`), and verdict or
    provisional_verdict ('pass', 'fail' and others, of which only these two can be contradicted); where a survey has
    both, verdict counts. A sheet that says fail where the criteria say pass is a hold, the reverse a caution.
    """
    need(surveys, [*IDENTITY, "reported_verdict", "reported_verdict_written", "reported_verdict_cell"], "surveys")
    ours = [column for column in ("verdict", "provisional_verdict") if column in surveys.columns]
    need(surveys, ours or ["verdict"], "surveys")
    known = default_severities() | dict(severities or {})
    verdict = surveys[ours[0]].astype(object)
    if len(ours) > 1:
        verdict = verdict.where(verdict.notna() & (verdict != ""), surveys[ours[1]])
    theirs = surveys["reported_verdict"].map(lambda text: meant(text) if isinstance(text, str) else "")
    rows: list[dict[str, Any]] = []
    for said, judged, variant in (("fail", "pass", ""), ("pass", "fail", REVERSE)):
        rows += _rows(surveys[(theirs == said) & (verdict == judged)], variant)
    return to_frame(rows, known)


def _rows(faulty: pd.DataFrame, variant: str) -> list[dict[str, Any]]:
    same = {"code": CODE, "field": "reported_verdict", "variant": variant, "detail": ""}
    columns = [*IDENTITY, "reported_verdict_cell", "reported_verdict_written"]
    return [
        dict(zip([*IDENTITY, "cell", "written"], values, strict=True)) | same
        for values in faulty[columns].itertuples(index=False, name=None)
    ]
