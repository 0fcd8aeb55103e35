"""Cross-drafts: room air in front of the opening, by place and direction."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

from auditor.survey.frames import at, codes_of, group_argmax, numbers, texts


def draft_readings(readings: pd.DataFrame) -> pd.DataFrame:
    """The cross-draft readings: survey_id, cell, position, place (the position without its direction), direction,
    velocity_fpm, bound_fpm."""
    drafts = readings[texts(readings, "kind") == "cross-draft"]
    return pd.DataFrame(
        {
            "survey_id": drafts["survey_id"].to_numpy(),
            "cell": texts(drafts, "cell"),
            "position": texts(drafts, "position"),
            "place": places_of(texts(drafts, "position"), texts(drafts, "direction")),
            "direction": texts(drafts, "direction"),
            # the sign of a component says where the air goes, not how fast
            "velocity_fpm": np.abs(numbers(drafts, "velocity_fpm")),
            "bound_fpm": numbers(drafts, "bound_fpm"),
        }
    )


def places_of(position: np.ndarray, direction: np.ndarray) -> np.ndarray:
    """Where each reading was taken, '' where that is not known: 'parallel left' measured 'parallel' is at 'left'."""
    pairs = {(p, d): _place(p, d) for p, d in set(zip(position.tolist(), direction.tolist(), strict=True))}
    out = [pairs[pair] for pair in zip(position.tolist(), direction.tolist(), strict=True)]
    return np.array(out, dtype=object)


def _place(position: str | None, direction: str | None) -> str:
    words = re.sub(r"cross[- ]?drafts?|draughts?|readings?", " ", str(position or "").casefold())
    named = re.escape(str(direction).casefold()) if direction else r"(?!)"
    return " ".join(re.sub(rf"(?<!\w){named}(?!\w)", " ", words).split())


def draft_figures(surveys: pd.DataFrame, drafts: pd.DataFrame) -> pd.DataFrame:
    """cross_draft_max_fpm (largest reading as written), cross_draft_bound_fpm (largest bound of censored readings),
    cross_draft_points, cross_draft_complete and cross_draft_resultant_fpm, one row per survey, index as given."""
    n = len(surveys)
    codes = codes_of(drafts["survey_id"], surveys["survey_id"])
    velocity, bound = drafts["velocity_fpm"].to_numpy(float), drafts["bound_fpm"].to_numpy(float)
    read, censored = (codes >= 0) & ~np.isnan(velocity), (codes >= 0) & ~np.isnan(bound)
    lacking = (codes >= 0) & ~read & ~censored
    k, v = codes[read], velocity[read]
    points = np.bincount(k, minlength=n) + np.bincount(codes[censored], minlength=n)
    return pd.DataFrame(
        {
            "cross_draft_points": points,
            "cross_draft_max_fpm": at(v, group_argmax(k, v, n)),
            "cross_draft_bound_fpm": at(bound[censored], group_argmax(codes[censored], bound[censored], n)),
            "cross_draft_complete": (points > 0) & (np.bincount(codes[lacking], minlength=n) == 0),
            "cross_draft_resultant_fpm": _resultant(surveys, drafts[read]),
        },
        index=surveys.index,
    )


def _resultant(surveys: pd.DataFrame, drafts: pd.DataFrame) -> np.ndarray:
    """The largest resultant over the places where three directions were measured, ft/min; NaN where there is none."""
    out = np.full(len(surveys), np.nan)
    known = drafts[drafts["direction"].notna()]
    if known.empty:
        return out
    each = known.groupby(["survey_id", "place", "direction"], sort=False)["velocity_fpm"].max() ** 2
    places = each.groupby(["survey_id", "place"], sort=False).agg(["sum", "count"])
    whole = places[places["count"] == 3]["sum"].groupby("survey_id").max()
    codes = codes_of(pd.Series(whole.index), surveys["survey_id"])
    out[codes[codes >= 0]] = np.sqrt(whole.to_numpy()[codes >= 0])
    return out
