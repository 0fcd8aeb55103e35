"""One year of the campus: how much of it was surveyed, how the hoods came out, and what moved since the year before."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pandas as pd

from auditor.answers.record import rows, slim_surveys
from auditor.answers.tables import rates

if TYPE_CHECKING:
    from auditor.store.store import Store

CAMPUS = "all hoods"
COVERAGE = ["building", "in_service", "accepted", "held_only", "not_surveyed"]
MOVES = ["hood_id", "building", "floor", "room", "before", "now", "survey_before", "survey_now", "direction"]
_NEEDED = (
    "survey_id", "hood_id", "building", "floor", "room", "surveyed_on", "contractor", "status", "verdict",
)  # fmt: skip


def years(store: Store, today: dt.date | None = None) -> list[int]:
    """The calendar years with surveys, newest first. Days ahead of today, which can only be slips, are left out."""
    found = rows(
        store,
        "SELECT DISTINCT SUBSTR(surveyed_on, 1, 4) AS year FROM surveys WHERE surveyed_on IS NOT NULL "
        "AND status <> 'superseded'",
    )["year"]
    known = sorted((int(year) for year in found if str(year).isdigit()), reverse=True)
    return [year for year in known if today is None or year <= today.year]


def totals(store: Store, year: int | None = None) -> dict[str, int]:
    """Numbers of surveys by standing (of one year, or of all): accepted, held, undated, and the verdicts' numbers."""
    where = "WHERE SUBSTR(surveyed_on, 1, 4) = :year" if year else ""
    found = rows(
        store,
        f"SELECT status, verdict, COUNT(*) AS n FROM surveys {where} GROUP BY status, verdict",
        {"year": f"{year:04d}"} if year else None,
    )
    by_status, by_verdict = found.groupby("status")["n"].sum(), found.groupby("verdict")["n"].sum()
    undated = rows(store, "SELECT COUNT(*) AS n FROM surveys WHERE surveyed_on IS NULL AND status = 'held'")["n"].sum()
    names = ("pass", "restricted", "fail", "not judged")
    return {
        "accepted": int(by_status.get("accepted", 0)), "held": int(by_status.get("held", 0)),
        "held_undated": int(undated), **{name: int(by_verdict.get(name, 0)) for name in names},
    }  # fmt: skip


def coverage(store: Store, year: int) -> pd.DataFrame:
    """Per building, hoods in service by what the year has of them (columns COVERAGE): an accepted survey, held ones
    only, none. Last row: the campus."""
    found = rows(
        store,
        """
        SELECT COALESCE(r.building, 'not known') AS building, COUNT(*) AS in_service,
               SUM(CASE WHEN s.accepted = 1 THEN 1 ELSE 0 END) AS accepted,
               SUM(CASE WHEN s.accepted = 0 THEN 1 ELSE 0 END) AS held_only,
               SUM(CASE WHEN s.hood_id IS NULL THEN 1 ELSE 0 END) AS not_surveyed
        FROM register r
        LEFT JOIN (SELECT hood_id, MAX(CASE WHEN status = 'accepted' THEN 1 ELSE 0 END) AS accepted
                   FROM surveys WHERE surveyed_on >= :first AND surveyed_on < :after AND status <> 'superseded'
                   GROUP BY hood_id) s ON s.hood_id = r.hood_id
        WHERE (r.in_service IS NULL OR r.in_service) AND (r.installed_on IS NULL OR r.installed_on < :after)
        GROUP BY COALESCE(r.building, 'not known') ORDER BY 1
        """,
        {"first": f"{year:04d}-01-01", "after": f"{year + 1:04d}-01-01"},
    )
    found = found.reindex(columns=COVERAGE).astype(dict.fromkeys(COVERAGE[1:], int))
    campus = pd.DataFrame([[CAMPUS, *found[COVERAGE[1:]].sum()]], columns=COVERAGE)
    return pd.concat([found, campus], ignore_index=True)


def verdicts_by(store: Store, by: str, year: int) -> pd.DataFrame:
    """Hoods by their last surveying day of the year, per group: the columns of `rates` (count='hoods'), and
    rate_before, low_before, high_before, judged_before of the year before."""
    every = rates(store, count="hoods", by=by, years=(year - 1, year))
    now, before = every[every["year"].eq(year)], every[every["year"].eq(year - 1)]
    beside = before[["group", "rate", "low", "high", "judged"]]
    return now.merge(beside, on="group", how="left", suffixes=("", "_before")).reset_index(drop=True)


def rates_over_years(store: Store, by: str) -> pd.DataFrame:
    """`rates` per hood for every year."""
    return rates(store, count="hoods", by=by)


def change(store: Store, year: int) -> pd.DataFrame:
    """`auditor.history.change.paired_change` into this year, for the campus (group 'all hoods') and per building."""
    from auditor.history.change import paired_change

    found = paired_change(slim_surveys(store, _NEEDED), store.register())
    return found[found["year"].eq(year)].reset_index(drop=True)


def moves(store: Store, year: int) -> pd.DataFrame:
    """Hoods judged in this year and the last one before it whose verdict is another now (columns MOVES), those that
    became worse first."""
    from auditor.history.frames import accepted, year_of
    from auditor.history.rates import one_per_hood

    surveys = slim_surveys(store, _NEEDED)
    table = accepted(surveys.assign(year=year_of(surveys))).dropna(subset=["hood_id", "year"])
    table = one_per_hood(table[table["verdict"].isin(_GRADES)])
    now, earlier = table[table["year"].eq(year)], table[table["year"].lt(year)]
    before = earlier.sort_values("surveyed_on").drop_duplicates("hood_id", keep="last")[
        ["hood_id", "verdict", "survey_id"]
    ]
    joined = now.merge(before, on="hood_id", suffixes=("", "_before"))
    joined = joined[joined["verdict"] != joined["verdict_before"]]
    step = joined["verdict"].map(_GRADES).astype(float) - joined["verdict_before"].map(_GRADES).astype(float)
    named = joined.assign(
        direction=step.gt(0).map({True: "worse", False: "better"}), grade=joined["verdict"].map(_GRADES)
    )
    named = named.rename(
        columns={
            "verdict": "now",
            "verdict_before": "before",
            "survey_id": "survey_now",
            "survey_id_before": "survey_before",
        }
    )
    ordered = named.sort_values(["direction", "grade", "hood_id"], ascending=[False, False, True], kind="stable")
    return ordered[MOVES].reset_index(drop=True)


_GRADES = {"pass": 0, "restricted": 1, "fail": 2}
