"""One hood, one date, one sash setting, handed in more than once."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.history.integrity.wording import described, rows

SAME_SASH_WITHIN_IN = 0.25  # 18 in and 457 mm are one setting


def repeated_surveys(surveys: pd.DataFrame) -> pd.DataFrame:
    """Surveys of the same hood on the same date at the same sash setting.

    Needs `survey_id`, `workbook`, `sheet`, `hood_id`, `surveyed_on`, `sash_height_in`, `grid_fingerprint` (and, for
    surveys of fewer than 4 readings, `face_mean_fpm`). Gives `survey_id`, `code`, `other_survey_id`, `duplicate_of`,
    `detail`. With other readings: `survey-repeated`, a row for every survey concerned. With the same readings: a
    duplicate, `code` missing and `duplicate_of` the survey that stands for all of them (the smallest survey_id); the
    caller decides. A survey may have a row of each kind. The result does not depend on the order of the rows.
    """
    known = surveys.dropna(subset=["hood_id", "surveyed_on"]).sort_values("survey_id", kind="stable")
    known = known.assign(readings=_readings(known), setting=_setting(known)).dropna(subset=["readings"])
    occasion = ["hood_id", "surveyed_on", "setting"]
    known = known[known.duplicated(occasion, keep=False)]
    return pd.concat([_others(known, occasion, surveys), _duplicates(known, occasion, surveys)], ignore_index=True)


def _readings(known: pd.DataFrame) -> pd.Series:
    """What tells one set of readings from another; missing where there are none to compare."""
    mean = known["face_mean_fpm"] if "face_mean_fpm" in known else pd.Series(np.nan, index=known.index)
    few = mean.round(1).map(lambda value: None if pd.isna(value) else f"mean {value}")
    return known["grid_fingerprint"].where(known["grid_fingerprint"].notna(), few)


def _setting(known: pd.DataFrame) -> pd.Series:
    """A number per sash setting within a hood and date; no setting named is a setting of its own."""
    ordered = known.sort_values(["hood_id", "surveyed_on", "sash_height_in", "survey_id"], kind="stable")
    by_day = ordered.groupby(["hood_id", "surveyed_on"])["sash_height_in"]
    step = by_day.diff()
    new = step.gt(SAME_SASH_WITHIN_IN) | (step.isna() & ordered["sash_height_in"].notna())
    setting = new.groupby([ordered["hood_id"], ordered["surveyed_on"]]).cumsum()
    return setting.where(ordered["sash_height_in"].notna(), -1)


def _others(known: pd.DataFrame, occasion: list[str], surveys: pd.DataFrame) -> pd.DataFrame:
    """A row per survey that has a fellow with other readings; the fellow named is the first of them by survey_id."""
    first = known.drop_duplicates([*occasion, "readings"])
    number = first.groupby(occasion).cumcount()
    firsts = first[number == 0].set_index(occasion)[["survey_id", "readings"]]
    seconds = first[number == 1].set_index(occasion)["survey_id"].rename("second_id")
    joined = known.join(firsts.join(seconds, how="inner"), on=occasion, how="inner", rsuffix="_first")
    is_first = joined["readings"] == joined["readings_first"]
    pairs = pd.DataFrame(
        {
            "survey_id": joined["survey_id"],
            "other_survey_id": joined["second_id"].where(is_first, joined["survey_id_first"]),
        }
    )
    said = [
        f"The same hood, date and sash setting with other readings in {text}."
        for text in described(pairs["other_survey_id"], surveys)
    ]
    return rows(pairs, "survey-repeated", said, duplicate_of=None)


def _duplicates(known: pd.DataFrame, occasion: list[str], surveys: pd.DataFrame) -> pd.DataFrame:
    first = known.groupby([*occasion, "readings"])["survey_id"].transform("first")
    again = known["survey_id"] != first
    pairs = pd.DataFrame({"survey_id": known["survey_id"][again], "other_survey_id": first[again]})
    said = [f"The same survey, with the same readings, as {text}." for text in described(first[again], surveys)]
    return rows(pairs, None, said, duplicate_of=pairs["other_survey_id"].to_numpy())
