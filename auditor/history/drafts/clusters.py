"""Clusters of cross-draft failures: what is claimed, with which chance, and what it points to."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.history.drafts.claims import claimed_groups
from auditor.history.drafts.failures import cross_draft_failures, labelled
from auditor.history.drafts.members import COLUMN, Members
from auditor.history.drafts.sharing import Shared, shared_causes
from auditor.history.drafts.shrinkage import shrunk_rates
from auditor.history.frames import CLUSTERS
from auditor.history.rates import wilson

EXTRA = ["rate", "shrunk_rate", "low", "high", "p_alone", "explained_by", "tests", "follows", "held"]


def clusters(
    surveys: pd.DataFrame,
    findings: pd.DataFrame,
    register: pd.DataFrame,
    readings: pd.DataFrame | None = None,
    seed: int = 20_240_601,
) -> pd.DataFrame:
    """The contract's `clusters` columns and then EXTRA: one row per room, floor, building, air handler (and per floor
    with places one neighbourhood) with a survey whose cross-draft was judged; claimed ones first.

    A group is claimed where it has at least 3 failures, more than one room or hood, and a `q_value` of at most 5 %:
    false-discovery control over all `tests` groups looked at. Groups that overlap compete: the one that explains most
    is claimed, and the others must stand out beyond it; `p_value` is what is left then, `p_alone` what it was at first,
    and `explained_by` names the claimed ones where nothing is left to test. `expected` follows each year's rate on the
    campus. `held` counts held surveys of the group, which are in no figure. `shrunk_rate`: the group's rate drawn
    towards its level's. The same input and seed give the same result.
    """
    table = cross_draft_failures(surveys, findings, register)
    if table.empty:
        return pd.DataFrame(columns=[*CLUSTERS, *EXTRA])
    rng = np.random.default_rng(seed)
    table = table.sort_values("survey_id", ignore_index=True)
    table = table.astype(dict.fromkeys(COLUMN.values(), object))
    members = Members(table)
    found = _described(claimed_groups(table, members, register, rng), table, members, readings)
    found = found.assign(held=_held(found, surveys, register))
    order = found.assign(open=~found["claimed"]).sort_values(
        ["open", "q_value", "ratio", "level", "group"], ascending=[True, True, False, True, True], kind="stable"
    )
    return order.reset_index(drop=True).reindex(columns=[*CLUSTERS, *EXTRA])


def _described(
    found: pd.DataFrame, table: pd.DataFrame, members: Members, readings: pd.DataFrame | None
) -> pd.DataFrame:
    """Rates, years, and for claimed groups what they share and what to do."""
    rates = [
        pd.Series(shrunk_rates(part["failures"].to_numpy(), part["surveys"].to_numpy()), index=part.index)
        for _, part in found.groupby("level")
    ]
    low, high = wilson(found["failures"].to_numpy(dtype=float), found["surveys"].to_numpy(dtype=float))
    found = found.assign(
        rate=found["failures"] / found["surveys"], shrunk_rate=pd.concat(rates), low=low, high=high,
        failures=found["failures"].astype(int), surveys=found["surveys"].astype(int),
    )  # fmt: skip
    chosen = found["claimed"].to_numpy(dtype=bool)
    told = iter(
        shared_causes(table, zip(members.of_each(found[chosen]), found["level"][chosen], strict=True), readings)
    )
    said = [next(told) if is_claimed else Shared() for is_claimed in chosen]
    years = _years(found, table)
    return found.assign(
        years=years,
        shared=[one.text for one in said],
        remedy=[one.remedy for one in said],
        follows=[one.follows for one in said],
    )


def _held(found: pd.DataFrame, surveys: pd.DataFrame, register: pd.DataFrame) -> pd.Series:
    """How many held surveys of the group's places are left out."""
    held = labelled(surveys[surveys["status"].eq("held") & surveys["hood_id"].notna()], register)
    counts = pd.Series(0, index=found.index)
    for level, column in COLUMN.items():
        mine = found["level"].eq(level)
        counts[mine] = found.loc[mine, "group"].map(held.groupby(column).size()).fillna(0).astype(int)
    for key in found.index[found["level"].eq("neighbourhood")]:
        counts[key] = int(held["room_label"].isin(found.loc[key, "rooms"]).sum())
    return counts


def _years(found: pd.DataFrame, table: pd.DataFrame) -> pd.Series:
    """The years with a failure in each group: '2021, 2023'."""
    bad = table.loc[table["failed"], ["year", *COLUMN.values()]]
    texts = pd.Series("", index=found.index, dtype=object)
    for level, column in COLUMN.items():
        seen = bad.dropna(subset=[column]).drop_duplicates([column, "year"]).sort_values("year", kind="stable")
        named = seen["year"].astype(str).groupby(seen[column]).agg(", ".join)
        mine = found["level"].eq(level)
        texts[mine] = found.loc[mine, "group"].map(named).fillna("")
    for key in found.index[found["level"].eq("neighbourhood")]:
        years = bad.loc[bad["room_label"].isin(found.loc[key, "rooms"]), "year"]
        texts[key] = ", ".join(str(year) for year in sorted(years.unique()))
    return texts
