"""Everything that the yearly review says, gathered from the record through the same answers that screens and exports
use, so that their figures cannot differ."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from auditor import __version__
from auditor.answers import contractors, held, tables, years
from auditor.answers.causes import failing_hoods, findings_by_cause, findings_by_criterion
from auditor.answers.limits import limit_rows, profile_named
from auditor.answers.profiles import profiles_named, title_of
from auditor.answers.record import rows
from auditor.answers.states import DO_NOT_USE, hood_states, past_due

if TYPE_CHECKING:
    from auditor.criteria import Profile
    from auditor.store.store import Store

GROUPINGS = ("building", "department", "hood type", "air handler")
Told = Callable[[int, int, str], None]
_STEPS = 9


@dataclass(frozen=True)
class Review:
    """`facts`: single figures by name; `tables`: the frames behind them by name, velocities in ft/min."""

    year: int
    today: dt.date
    facts: dict[str, Any]
    tables: dict[str, pd.DataFrame]


def review(
    store: Store,
    year: int,
    today: dt.date,
    profiles: Mapping[str, Profile] | None = None,
    told: Told | None = None,
) -> Review:
    """The review of a calendar year as the record stands on `today`. ValueError where the year has no survey."""
    known = years.years(store)
    if year not in known:
        listed = ", ".join(map(str, known)) or "none"
        raise ValueError(f"the record has no survey of {year}; years with surveys: {listed}")
    step = _steps(told)
    found: dict[str, pd.DataFrame] = {}
    step("coverage")
    found |= _coverage(store, year)
    step("verdicts")
    found |= _verdicts(store, year)
    step("states")
    found |= _states(store, today, profiles)
    step("findings")
    found |= {
        "criteria_failed": findings_by_criterion(store, year),
        "causes": findings_by_cause(store, year),
        "failing": failing_hoods(store, year, found["states"]),
    }
    step("clusters")
    found |= _clusters(store)
    step("trends")
    found |= _trends(store)
    step("contractors")
    found |= _contractors(store, year)
    step("held")
    found |= _held(store, year)
    step("criteria")
    found |= _criteria(store, year, profiles)
    return Review(year, today, _facts(store, year, today, found), found)


def _steps(told: Told | None) -> Callable[[str], None]:
    done = iter(range(1, _STEPS + 1))
    return lambda name: told(next(done), _STEPS, name) if told else None


# --- tables ----------------------------------------------------------------------------------------------------------
def _coverage(store: Store, year: int) -> dict[str, pd.DataFrame]:
    coverage = years.coverage(store, year)
    missed = rows(
        store,
        """
        SELECT r.hood_id, r.building, r.floor, r.room, r.department, r.hood_type,
               CASE WHEN s.hood_id IS NULL THEN 'no survey' ELSE 'held only' END AS standing
        FROM register r
        LEFT JOIN (SELECT hood_id, MAX(CASE WHEN status = 'accepted' THEN 1 ELSE 0 END) AS accepted
                   FROM surveys WHERE surveyed_on >= :first AND surveyed_on < :after AND status <> 'superseded'
                   GROUP BY hood_id) s ON s.hood_id = r.hood_id
        WHERE (r.in_service IS NULL OR r.in_service) AND (r.installed_on IS NULL OR r.installed_on < :after)
          AND (s.accepted IS NULL OR s.accepted = 0)
        ORDER BY r.building, r.hood_id
        """,
        {"first": f"{year:04d}-01-01", "after": f"{year + 1:04d}-01-01"},
    )
    return {"coverage": coverage, "without_survey": missed}


def _verdicts(store: Store, year: int) -> dict[str, pd.DataFrame]:
    """Verdicts of the year by GROUPINGS, one row per group; of the campus over the years up to this one; moves."""
    over = years.rates_over_years(store, "year")
    over = over[over["year"].le(year).fillna(False).astype(bool)].reset_index(drop=True)
    every = pd.concat([years.verdicts_by(store, by, year) for by in GROUPINGS], ignore_index=True)
    return {
        "verdicts_by_building": every[every["by"].eq("building")].reset_index(drop=True),
        "verdicts": every,
        "over_years": over,
        "change": years.change(store, year),
        "moves": years.moves(store, year),
    }


def _states(store: Store, today: dt.date, profiles: Mapping[str, Profile] | None) -> dict[str, pd.DataFrame]:
    states = hood_states(store, today, profiles)
    return {
        "states": states,
        "not_in_use": states[states["state"].isin(DO_NOT_USE)].reset_index(drop=True),
        "restricted": states[states["state"].isin(["restricted", "awaiting retest"])].reset_index(drop=True),
        "overdue": past_due(states),
    }


def _clusters(store: Store) -> dict[str, pd.DataFrame]:
    every = tables.clusters(store)
    claimed = every[every["claimed"].astype(bool)] if len(every) else every
    remedies = claimed.groupby(["shared", "remedy"], sort=False)["group"].agg("; ".join).rename("places").reset_index()
    return {"clusters": every, "clusters_claimed": claimed.reset_index(drop=True), "cluster_remedies": remedies}


def _trends(store: Store) -> dict[str, pd.DataFrame]:
    every = tables.trends(store).sort_values("rank", kind="stable", ignore_index=True)
    places = store.register()[["hood_id", "building", "room"]]
    every = every.merge(places, on="hood_id", how="left")
    moving = every[every["trend"].isin(["falling", "rising"])]
    return {"trends": every, "trends_moving": moving.reset_index(drop=True)}


def _contractors(store: Store, year: int) -> dict[str, pd.DataFrame]:
    quality, faults = contractors.quality(store), contractors.faults(store)
    own = faults[faults["year"].eq(str(year))].sort_values(
        ["contractor", "surveys", "cases", "code"], ascending=[True, False, False, True], kind="stable"
    )
    return {
        "contractors": quality[quality["year"].eq(str(year))].reset_index(drop=True),
        "faults": own.reset_index(drop=True),
        "instruments": contractors.instruments(store),
    }


def _held(store: Store, year: int) -> dict[str, pd.DataFrame]:
    """What is held of the year, or has no date or no survey at all (a whole file)."""
    surveys, reasons = held.held_surveys(store), held.held_reasons(store)
    surveys = surveys[_of(surveys["surveyed_on"], year)].reset_index(drop=True)
    reasons = reasons[_of(reasons["surveyed_on"], year)].reset_index(drop=True)
    counted = reasons.groupby(["mends", "code", "title"]).agg(
        cases=("discrepancy_id", "size"), surveys=("survey_id", "nunique"), remedy=("remedy", "first")
    )
    counted = counted.reset_index().sort_values(["surveys", "cases", "code"], ascending=[False, False, True])
    return {"held": surveys, "held_reasons": reasons, "held_by_code": counted.reset_index(drop=True)}


def _of(days: pd.Series, year: int) -> pd.Series:
    return days.isna() | days.dt.year.eq(year)


def _criteria(store: Store, year: int, profiles: Mapping[str, Profile] | None) -> dict[str, pd.DataFrame]:
    used = rows(
        store,
        "SELECT v.profile, v.profile_version, COUNT(*) AS surveys FROM verdicts v "
        "JOIN surveys s ON s.survey_id = v.survey_id WHERE s.status = 'accepted' "
        "AND SUBSTR(s.surveyed_on, 1, 4) = :year AND v.profile IS NOT NULL "
        "GROUP BY v.profile, v.profile_version ORDER BY surveys DESC, v.profile, v.profile_version",
        {"year": f"{year:04d}"},
    )
    known = profiles_named(used["profile"].unique(), profiles)
    now = [known[name] for name in used["profile"]]
    used = used.assign(
        title=[title_of(name, one) for name, one in zip(used["profile"], now, strict=True)],
        version_now=[one.version if one else None for one in now],
        source=[one.source if one else None for one in now],
    )
    parts = [limit_rows(one).assign(profile=name) for name, one in known.items() if one]
    limits = (
        pd.concat(parts, ignore_index=True) if parts else limit_rows(profile_named(None)).assign(profile="").head(0)
    )
    cited = limits["source"] + limits["clause"].where(limits["clause"].eq(""), ", " + limits["clause"])
    return {"profiles": used, "criteria": limits.assign(cited=cited)}


# --- single figures --------------------------------------------------------------------------------------------------
def _facts(store: Store, year: int, today: dt.date, found: dict[str, pd.DataFrame]) -> dict[str, Any]:
    entry, seal = store.head()
    totals, campus = years.totals(store, year), found["coverage"].iloc[-1]
    states = found["states"]["state"].value_counts()
    profiles = found["profiles"]
    workbooks = store.table("workbooks")
    return {
        "year": year, "year_before": year - 1, "today": today, "program": __version__,
        "entries": entry, "seal": seal[:12], "workbooks": int(workbooks["sha256"].nunique()),
        "profiles": "; ".join(f"{r.title} (version {r.profile_version})" for r in profiles.itertuples()),
        "by_older": int(profiles.loc[profiles["profile_version"].ne(profiles["version_now"]), "surveys"].sum()),
        "in_service": int(campus["in_service"]), "covered": int(campus["accepted"]),
        "held_only": int(campus["held_only"]), "not_surveyed": int(campus["not_surveyed"]),
        "surveys_accepted": totals["accepted"], "surveys_held": totals["held"], "undated": totals["held_undated"],
        "left_out": totals["held"] + totals["held_undated"],
        "held_failing": int(found["held"]["provisional_verdict"].eq("fail").sum()),
        "do_not_use": int(states.get("do not use", 0)), "until_settled": int(states.get("do not use until settled", 0)),
        "not_in_use": len(found["not_in_use"]), "restricted_now": int(states.get("restricted", 0)),
        "awaiting": int(states.get("awaiting retest", 0)), "overdue_now": int(states.get("overdue", 0)),
        "late": len(found["overdue"]), "never": int(states.get("never surveyed", 0)),
        "claimed": len(found["clusters_claimed"]), "cluster_tests": _first(found["clusters"], "tests"),
        "draft_failures": _draft_failures(found["clusters"]), "contractors": len(found["contractors"]),
        **_rate(found["over_years"], year), **_change(found["change"]), **_tested(found["trends"]),
    }  # fmt: skip


def _first(table: pd.DataFrame, name: str) -> int:
    return int(table[name].iloc[0]) if len(table) else 0


def _draft_failures(clusters: pd.DataFrame) -> int:
    return int(clusters.loc[clusters["level"].eq("building"), "failures"].sum()) if len(clusters) else 0


def _rate(over: pd.DataFrame, year: int) -> dict[str, Any]:
    """The campus's hoods of the year, and the last judged year before it."""
    now = over[over["year"].eq(year)]
    row = now.iloc[0] if len(now) else pd.Series(dtype=object)
    named = ("judged", "passed", "restricted", "failed", "not_judged")
    counts = {name: int(row[name]) if name in row else 0 for name in named}
    return counts | {name: row.get(name) for name in ("rate", "low", "high")}


def _change(change: pd.DataFrame) -> dict[str, Any]:
    campus = change[change["by"].eq("year")]
    names = ("year_before", "hoods_both", "improved", "worsened", "change_same_hoods", "low", "high", "p_value")
    row = campus.iloc[0] if len(campus) else pd.Series(dtype=object)
    return {f"change_{name.removeprefix('change_')}": row.get(name) for name in names}


def _tested(trends: pd.DataFrame) -> dict[str, Any]:
    """`by_chance`: how many of the hoods tested would be claimed at 5 % if none had changed, at most."""
    tested = int(trends["p_value"].notna().sum())
    counts = trends["trend"].value_counts()
    firm = trends["q_value"].le(0.05) & trends["trend"].isin(["falling", "rising"])
    return {
        "tested": tested, "falling": int(counts.get("falling", 0)), "rising": int(counts.get("rising", 0)),
        "too_few": int(counts.get("too few", 0)), "by_chance": 0.05 * tested, "firm": int(firm.sum()),
    }  # fmt: skip
