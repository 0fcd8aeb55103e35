"""What hangs on a hood: the label of one that passed, the notice of one that must not be used or only in part."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from auditor.answers.profiles import profiles_named, title_of
from auditor.answers.record import rows
from auditor.answers.states import DO_NOT_USE, hood_states

if TYPE_CHECKING:
    from auditor.criteria import Profile
    from auditor.store.store import Store

LABEL = [
    "hood_id", "building", "floor", "room", "surveyed_on", "face_mean_fpm", "sash_height_in", "by", "criteria",
    "next_due", "survey_id",
]  # fmt: skip
NOTICE = [
    "hood_id", "building", "floor", "room", "notice", "since", "reason", "work_order", "posted_on",
]  # fmt: skip
_REMARK = re.compile(r"; remark: .*$")
_CELL = re.compile(r" \([A-Z]{1,3}[0-9]{1,7}\)| at [A-Z]{1,3}[0-9]{1,7}(?=,)")


@dataclass(frozen=True)
class Papers:
    """`labels` (columns LABEL): hoods in service whose last accepted survey passed. `notices` (columns NOTICE): hoods
    that must not be used, then restricted ones. `neither`: hoods that get no paper, with state and reason; `why` says
    in one word or two what is missing."""

    labels: pd.DataFrame
    notices: pd.DataFrame
    neither: pd.DataFrame


def papers(
    store: Store, today: dt.date, profiles: Mapping[str, Profile] | None = None, hoods: tuple[str, ...] = ()
) -> Papers:
    """The papers of these hoods (default: all). ValueError names a hood that the register does not have."""
    states = hood_states(store, today, profiles)
    if hoods:
        unknown = [one for one in hoods if one not in set(states["hood_id"])]
        if unknown:
            raise ValueError(f"the register has no hood '{unknown[0]}'")
        states = states[states["hood_id"].isin(hoods)]
    notices = _notices(states)
    labels, passed = _labels(store, states, profiles)
    rest = states[~states["hood_id"].isin([*passed, *notices["hood_id"]]) & states["state"].ne("out of service")]
    why = rest["state"].where(rest["state"].ne("in service"), "no survey that passed with a mean and a sash height")
    return Papers(labels, notices, rest[["hood_id", "state", "reason"]].assign(why=why).reset_index(drop=True))


def _labels(
    store: Store, states: pd.DataFrame, profiles: Mapping[str, Profile] | None
) -> tuple[pd.DataFrame, list[str]]:
    """An overdue hood gets none: its date is over. Nor does one without a mean or a sash height to print."""
    fit = states[states["state"].eq("in service") & states["verdict"].eq("pass")]
    surveys = rows(
        store,
        "SELECT s.survey_id, s.hood_id, s.surveyed_on, s.face_mean_fpm, s.sash_height_in, s.contractor, s.surveyor, "
        "v.profile, v.profile_version FROM surveys s JOIN verdicts v ON v.survey_id = s.survey_id "
        "WHERE s.status = 'accepted' AND s.verdict = 'pass'",
    )
    known = profiles_named(surveys["profile"].dropna().unique(), profiles)
    titles = {name: title_of(name, profile) for name, profile in known.items()}
    surveys["criteria"] = surveys["profile"].map(titles) + " (version " + surveys["profile_version"] + ")"
    surveys = surveys[surveys["face_mean_fpm"].notna() & surveys["sash_height_in"].notna()]
    working = store.register().drop_duplicates("hood_id", keep="last")[["hood_id", "working_sash_in"]]
    table = fit.merge(surveys, left_on=["hood_id", "last_surveyed_on"], right_on=["hood_id", "surveyed_on"])
    table = table.merge(working, on="hood_id", how="left")
    away = (table["sash_height_in"].astype(float) - table["working_sash_in"].astype(float)).abs()
    table = table.assign(away=away).sort_values(["hood_id", "away", "survey_id"], kind="stable")
    table = table.drop_duplicates("hood_id")  # of that day's settings the one nearest to the working height
    firm, person = table["contractor"].fillna(""), table["surveyor"].fillna("")
    table["by"] = [", ".join(filter(None, pair)) for pair in zip(firm, person, strict=True)]
    table = table.sort_values(["building", "hood_id"], kind="stable", ignore_index=True)[LABEL]
    return table, table["hood_id"].tolist()


def _notices(states: pd.DataFrame) -> pd.DataFrame:
    """A hood that was restricted, repaired and not surveyed since stays restricted."""
    banned = states["state"].isin(DO_NOT_USE)
    waiting = states["state"].eq("awaiting retest") & states["verdict"].eq("restricted")
    table = states[banned | states["state"].eq("restricted") | waiting].copy()
    table["notice"] = table["state"].isin(DO_NOT_USE).map({True: "do not use", False: "restricted"})
    posted = table["notice"].eq(states["notice"].reindex(table.index))
    # `notice` of the states is what hangs there now; here it is what should
    table["posted_on"] = states["notice_posted_on"].reindex(table.index).where(posted)
    # a sheet's cell says nothing at the hood, and a remark is not why it must not be used
    table["reason"] = [_REMARK.sub("", _CELL.sub("", str(reason))) for reason in table["reason"]]
    table["rank"] = table["notice"].eq("restricted")
    return table.sort_values(["rank", "building", "hood_id"], kind="stable", ignore_index=True)[NOTICE]
