"""Signs of readings that were not measured, looked for over the record as a whole after every intake.

They are cautions: questions to the contractor, never accusations. Because every survey is compared with every other,
they do not depend on how files were grouped into runs or in which order they came.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from auditor.audit import shown
from auditor.survey.columns import IDENTITY

if TYPE_CHECKING:
    from auditor.store.store import Store

CODES = ("grid-resembles", "readings-too-smooth", "digits-uneven", "pace-implausible")


def look_again(store: Store, severities: Mapping[str, str]) -> int:
    """Replaces the signs in the record by those found now; how many."""
    from auditor.history.integrity import integrity_signs

    surveys = store.occasions()
    found = integrity_signs(surveys, store.face_readings())
    if not found.empty:
        sheets = surveys.set_index("survey_id")["sheet"]
        found = found.assign(sheet=found["survey_id"].map(sheets))
    problems = found.reindex(columns=[*IDENTITY[:4], "cell", "field", "code", "written", "detail"])
    store.replace_codes(CODES, shown(problems, severities))
    return len(found)
