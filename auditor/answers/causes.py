"""Why hoods came out restricted or failed in a year: by criterion, by likely cause, hood by hood."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from auditor.answers.record import rows

if TYPE_CHECKING:
    from auditor.store.store import Store

UNTOLD = "the readings do not tell the cause"
FAILING = [
    "hood_id", "building", "floor", "room", "surveyed_on", "verdict", "reason", "state", "contractor", "survey_id",
]  # fmt: skip


def wanting(store: Store, year: int) -> pd.DataFrame:
    """Findings restricted or failed on the accepted surveys of a year (survey_id, hood_id, criterion, outcome,
    causes)."""
    return rows(
        store,
        'SELECT f."survey_id", f."hood_id", f."criterion", f."outcome", f."causes" FROM findings f '
        'JOIN surveys s ON s."survey_id" = f."survey_id" '
        "WHERE s.\"status\" = 'accepted' AND f.\"outcome\" IN ('restricted', 'fail') "
        'AND SUBSTR(s."surveyed_on", 1, 4) = :year ORDER BY f."survey_id", f."criterion"',
        {"year": f"{year:04d}"},
    )


def findings_by_criterion(store: Store, year: int) -> pd.DataFrame:
    """criterion, title, restricted, failed (numbers of surveys), hoods; the most frequent first."""
    from auditor.criteria.loading import criteria

    found = wanting(store, year)
    failed = found["outcome"].eq("fail")
    grouped = found.assign(failed=failed, restricted=~failed).groupby("criterion")
    counted = grouped.agg(restricted=("restricted", "sum"), failed=("failed", "sum"), hoods=("hood_id", "nunique"))
    counted = counted.astype(int).reset_index()
    counted["title"] = [str(criteria()[one]["title"]) if one in criteria() else one for one in counted["criterion"]]
    order = counted.assign(all=counted["restricted"] + counted["failed"])
    order = order.sort_values(["all", "criterion"], ascending=[False, True], ignore_index=True)
    return order[["criterion", "title", "restricted", "failed", "hoods"]]


def findings_by_cause(store: Store, year: int) -> pd.DataFrame:
    """cause (in the words of the criteria's rules), findings, hoods; the most frequent first. A finding with several
    likely causes counts under each; one whose readings do not tell counts under UNTOLD."""
    from auditor.criteria.features import rules

    found = wanting(store, year)
    said = found["causes"].fillna("").astype(str)
    known = dict.fromkeys(str(rule["cause"]) for rule in rules()["cause"])
    counted = [(cause, *_count(found, said.str.contains(f". {cause} (", regex=False))) for cause in known]
    counted.append((UNTOLD, *_count(found, said.str.startswith(UNTOLD) | said.eq(""))))
    table = pd.DataFrame(counted, columns=["cause", "findings", "hoods"])
    table = table[table["findings"] > 0]
    return table.sort_values(["findings", "cause"], ascending=[False, True], ignore_index=True)


def _count(found: pd.DataFrame, chosen: pd.Series) -> tuple[int, int]:
    return int(chosen.sum()), int(found.loc[chosen, "hood_id"].nunique())


def failing_hoods(store: Store, year: int, states: pd.DataFrame) -> pd.DataFrame:
    """Hoods restricted or failed by their last surveying day of the year (columns FAILING), failed ones first, with the
    state in which they are now (`hood_states`)."""
    from auditor.history.rates import one_per_hood

    surveys = rows(
        store,
        'SELECT s."survey_id", s."hood_id", s."building", s."floor", s."room", s."surveyed_on", s."contractor", '
        's."verdict", v."reason" FROM surveys s LEFT JOIN verdicts v ON v."survey_id" = s."survey_id" '
        'WHERE s."status" = \'accepted\' AND SUBSTR(s."surveyed_on", 1, 4) = :year AND s."hood_id" IS NOT NULL '
        'ORDER BY s."survey_id"',
        {"year": f"{year:04d}"},
    )
    last = one_per_hood(surveys.assign(year=year))
    table = last[last["verdict"].isin(["restricted", "fail"])].merge(
        states[["hood_id", "state"]], on="hood_id", how="left"
    )
    order = table.assign(rank=table["verdict"].map({"fail": 0, "restricted": 1}))
    return order.sort_values(["rank", "hood_id"], kind="stable", ignore_index=True)[FAILING]
