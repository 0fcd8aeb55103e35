"""All cautions about a submission's honesty in one frame."""

from __future__ import annotations

import pandas as pd

from auditor.history.integrity.digits import digits_uneven
from auditor.history.integrity.grids import complete_grids
from auditor.history.integrity.pace import pace_implausible
from auditor.history.integrity.resemblance import grid_resembles
from auditor.history.integrity.smoothness import readings_too_smooth
from auditor.history.integrity.wording import SIGN

SIGNS = [*SIGN, "workbook", "workbook_sha256", "chance"]


def integrity_signs(surveys: pd.DataFrame, readings: pd.DataFrame) -> pd.DataFrame:
    """`grid-resembles`, `readings-too-smooth`, `digits-uneven`, `pace-implausible`: columns SIGNS.

    Surveys of any status count, superseded ones apart; needs `survey_id`, `workbook`, `workbook_sha256`, `sheet`,
    `hood_id`, `surveyed_on`, and of the readings `survey_id`, `kind`, `row`, `column`, `velocity_fpm` (and `value`,
    `unit`, for the steps to which they were written). `survey_id` is missing where a whole workbook is meant. The
    result depends on the set of surveys only, not on their order or on how files came.
    """
    if "status" in surveys:
        surveys = surveys[~surveys["status"].eq("superseded")]
    wanted = readings[readings["survey_id"].isin(surveys["survey_id"])]
    grids = list(complete_grids(wanted.sort_values("survey_id", kind="stable")))
    by_survey = [grid_resembles(surveys, readings, grids), readings_too_smooth(surveys, readings, grids)]
    names = surveys.drop_duplicates("survey_id").set_index("survey_id")[["workbook", "workbook_sha256"]]
    placed = [one.join(names, on="survey_id") for one in by_survey]
    found = [one for one in (*placed, digits_uneven(surveys, readings, grids), pace_implausible(surveys)) if len(one)]
    if not found:
        return pd.DataFrame(columns=SIGNS)
    table = pd.concat(found, ignore_index=True).reindex(columns=SIGNS)
    return table.sort_values(["code", "workbook_sha256", "survey_id"], kind="stable", ignore_index=True)
