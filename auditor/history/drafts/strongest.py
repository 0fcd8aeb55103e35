"""The strongest cross-draft reading of each survey: at which side, in which direction, how far above the others."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

STRONGEST = ["survey_id", "position", "direction", "ratio_to_mean"]


def strongest_drafts(survey_ids: pd.Series, readings: pd.DataFrame) -> pd.DataFrame:
    """One row per survey with cross-draft readings: `position` and `direction` of the largest as the words of
    causes.toml name them (missing where not named), `ratio_to_mean` its ratio to the mean of the survey's cross-draft
    readings (missing for fewer than 3)."""
    draft = readings[readings["kind"].eq("cross-draft") & readings["survey_id"].isin(survey_ids)]
    draft = draft.dropna(subset=["velocity_fpm"])
    if draft.empty:
        return pd.DataFrame(columns=STRONGEST)
    velocity = draft["velocity_fpm"].astype(float).abs()
    by_survey = velocity.groupby(draft["survey_id"])
    top = draft.loc[by_survey.idxmax()]
    ratio = by_survey.max() / by_survey.mean().replace(0, np.nan)
    words = top[["position", "direction"]].astype("string").fillna("").agg(" ".join, axis=1)
    return pd.DataFrame(
        {
            "survey_id": top["survey_id"].to_numpy(),
            "position": [_named(text, "positions") for text in words],
            "direction": [_named(text, "directions") for text in words],
            "ratio_to_mean": ratio.where(by_survey.size() >= 3).loc[top["survey_id"]].to_numpy(),
        }
    )


def _named(text: str, section: str) -> str | None:
    from auditor.history.drafts.sharing import texts

    words = f" {' '.join(re.findall(r'[a-z-]+', text.lower()))} "
    for name, entry in texts()[section].items():
        if any(f" {word} " in words for word in entry["words"]):
            return str(name)
    return None
