"""The blind second survey: which hoods to measure again, and what the two surveys say of each firm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from auditor.store.store import Store


def plan(store: Store, year: int, *, seed: int = 1) -> pd.DataFrame:
    """Hoods to be surveyed a second time by somebody who does not know the first result: about 5 % of those surveyed
    in `year`, stratified by contractor and building; the same record, year and seed give the same plan."""
    from auditor.history.planning import remeasure_plan

    return remeasure_plan(store.table("surveys"), store.register(), year, seed=seed)


def firms(store: Store, year: int | None = None) -> pd.DataFrame:
    """Bias and repeatability of each firm, with intervals, from hoods that another firm surveyed again soon after:
    `auditor.history.planning.firm_accuracy`."""
    from auditor.history.planning import firm_accuracy, pair_up

    surveys = store.table("surveys")
    surveys = surveys[surveys["status"].eq("accepted")]
    if year is not None:
        surveys = surveys[surveys["surveyed_on"].dt.year.eq(year)]
    by = surveys.set_index("survey_id")["contractor"]
    pairs = pair_up(surveys, surveys)
    other = pairs["survey_id"].map(by).ne(pairs["second_id"].map(by)) & pairs["second_id"].map(by).notna()
    return firm_accuracy(pairs[other])
