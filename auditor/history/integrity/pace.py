"""`pace-implausible`: more hoods in a day than one person, or one instrument, can measure."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.history.integrity.budget import figures, in_words
from auditor.history.integrity.wording import SIGN


def pace_implausible(surveys: pd.DataFrame) -> pd.DataFrame:
    """`pace-implausible` rows, one per workbook and day concerned: SIGN with `survey_id` missing, `workbook`,
    `workbook_sha256`, `chance`.

    Counts the different hoods that carry one instrument's, or one surveyor's, name on one date, over all workbooks (a
    contractor may send several crews, so the firm alone is not counted). The chance is that of so many hoods fitting
    into the day, at the minutes a hood of signs.toml (our assumption).
    """
    figure = figures()["pace"]
    found = []
    for column, what in (("surveyor", "surveyor"), ("instrument_id", "instrument")):
        if column in surveys:
            found.append(_by(surveys, column, what))
    names = [*SIGN, "workbook", "workbook_sha256", "chance"]
    if not found:
        return pd.DataFrame(columns=names)
    busy = pd.concat(found, ignore_index=True)
    busy = busy[busy["hoods"] >= int(figure["fewest_hoods"])]
    busy = busy.assign(chance=chance_of_pace(busy["hoods"].to_numpy(dtype=float)))
    busy = busy[busy["chance"] <= float(figures()["budget"]["per_workbook"])]
    busy = busy.sort_values(["workbook_sha256", "day", "chance", "what"], kind="stable")
    busy = busy.drop_duplicates(["workbook_sha256", "day"])
    said = [
        f"{row.hoods} hoods carry the name of {row.what} {row.who} on {row.day:%Y-%m-%d}. "
        f"By chance {in_words(row.chance)}."
        for row in busy.itertuples()
    ]
    busy = busy.assign(survey_id=None, code="pace-implausible", other_survey_id=None, detail=said)
    return busy.reindex(columns=names).reset_index(drop=True)


def _by(surveys: pd.DataFrame, column: str, what: str) -> pd.DataFrame:
    """workbook, workbook_sha256, what, who, day, hoods: for each workbook that takes part in a day."""
    known = surveys.dropna(subset=[column, "surveyed_on", "hood_id"])
    # Two firms may have a surveyor of the same initials.
    firm = (
        known["contractor"].astype("string").fillna("") if "contractor" in known else pd.Series("", index=known.index)
    )
    table = pd.DataFrame(
        {
            "who": known[column].astype(str), "firm": firm, "day": pd.to_datetime(known["surveyed_on"]),
            "hood_id": known["hood_id"], "workbook": known["workbook"], "workbook_sha256": known["workbook_sha256"],
        }
    )  # fmt: skip
    hoods = table.groupby(["firm", "who", "day"])["hood_id"].nunique().rename("hoods").reset_index()
    taking_part = table.drop_duplicates(["firm", "who", "day", "workbook_sha256"])
    return taking_part.merge(hoods, on=["firm", "who", "day"]).assign(what=what)


def chance_of_pace(hoods: np.ndarray) -> np.ndarray:
    """The chance that so many hoods take no longer than a day: the sum of as many independent times, normal."""
    from scipy.stats import norm

    figure = figures()["pace"]
    left = float(figure["day_minutes"]) - hoods * float(figure["minutes_per_hood"])
    return np.asarray(norm.cdf(left / (float(figure["minutes_per_hood_sd"]) * np.sqrt(hoods))))
