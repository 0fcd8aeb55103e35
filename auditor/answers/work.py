"""The work register: what is wrong with hoods as rows for whoever keeps work orders, opened by a survey and closed by a
later one that passes."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from auditor.answers.record import rows
from auditor.answers.states import hood_states

if TYPE_CHECKING:
    from auditor.criteria import Profile
    from auditor.store.store import Store

WORK = [
    "work_key", "status", "priority", "hood_id", "building", "floor", "room", "department", "air_handler",
    "criterion", "problem", "outcome", "measured", "limit", "unit", "causes", "action", "opened_on", "last_seen_on",
    "closed_on", "closed_by", "updated_on", "work_order", "opened_by_survey", "last_survey_id", "workbook", "sheet",
    "cell", "profile", "source",
]  # fmt: skip
PRIORITIES = {1: "the hood must not be used", 2: "the hood is restricted", 3: "a survey is overdue"}
_RANK = {"pass": 1, "restricted": 2, "fail": 3}
_PLACE = ["hood_id", "building", "floor", "room", "department", "air_handler", "installed_on", "in_service"]


def work(
    store: Store, today: dt.date, profiles: Mapping[str, Profile] | None = None, since: dt.date | None = None
) -> pd.DataFrame:
    """Columns WORK, open rows first, then by priority and hood; with `since`, only rows updated on that day or later.

    One row per hood, criterion and spell: from the survey that found it to the next one that passes the same criterion
    (status 'done'). `work_key` is made of the hood, the criterion and the survey that opened the spell, and so stays
    the same whatever comes later. A spell of a hood that was replaced or taken out of service is 'withdrawn'. A held
    survey that fails as far as it can be read opens a row 'to be settled', which closes nothing and may vanish when the
    survey is corrected; so does the row of an overdue hood when it is surveyed."""
    states = hood_states(store, today, profiles)
    spells = _spells(_judged(store))
    held = _held(store, states)
    late = _overdue(states)
    parts = [part for part in (spells, held, late) if len(part)]
    table = pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=WORK)
    table = _placed(table, store.register(), states)
    table = table.assign(
        problem=_titles(table["criterion"]), work_key=_keys(table), priority=_priority(table)
    ).sort_values("work_key", kind="stable")
    seen = table[["opened_on", "last_seen_on", "closed_on"]].apply(pd.to_datetime).max(axis=1)
    table["updated_on"] = seen
    if since is not None:
        table = table[table["updated_on"] >= pd.Timestamp(since)]
    order = table.assign(closed=table["status"].isin(["done", "withdrawn"]))
    order = order.sort_values(["closed", "priority", "building", "hood_id", "criterion", "opened_on"], kind="stable")
    return order.reset_index(drop=True).reindex(columns=WORK)


_FINDING = (
    'f."survey_id", f."hood_id", f."criterion", f."outcome", f."measured", f."limit", f."unit", f."causes", '
    'f."action", f."source", f."cell", s."workbook", s."sheet", s."surveyed_on", s."occasion", s."profile"'
)


def _judged(store: Store) -> pd.DataFrame:
    """Findings of accepted surveys that say something of a criterion, one per hood, criterion and day: of a day the
    retest's, else the worst."""
    found = rows(
        store,
        f'SELECT {_FINDING} FROM findings f JOIN surveys s ON s."survey_id" = f."survey_id" '
        "WHERE s.\"status\" = 'accepted' AND f.\"outcome\" IN ('pass', 'restricted', 'fail') "
        'AND f."hood_id" IS NOT NULL AND s."surveyed_on" IS NOT NULL',
    )
    found["retest"] = found["occasion"].eq("retest")
    found["grade"] = found["outcome"].map(_RANK)
    key = ["hood_id", "criterion", "surveyed_on"]
    ordered = found.sort_values([*key, "retest", "grade", "survey_id"], kind="stable")
    return ordered.drop_duplicates(key, keep="last").reset_index(drop=True)


def _spells(found: pd.DataFrame) -> pd.DataFrame:
    """The spells of `_judged`: its rows are in order of hood, criterion and day."""
    if found.empty:
        return found.assign(status="", opened_on=found.get("surveyed_on"))
    passed = found["outcome"].eq("pass")
    pair = found.groupby(["hood_id", "criterion"], sort=False)
    number = passed.groupby([found["hood_id"], found["criterion"]]).cumsum()
    found = found.assign(passed=passed, spell=number - passed)  # the pass that ends a spell belongs to it
    found["pair"] = pair.ngroup()
    bad, good = found[~found["passed"]], found[found["passed"]]
    key = ["pair", "spell"]
    last = bad.drop_duplicates(key, keep="last").rename(
        columns={"survey_id": "last_survey_id", "surveyed_on": "last_seen_on"}
    )
    first = bad.drop_duplicates(key)[[*key, "survey_id", "surveyed_on"]].rename(
        columns={"survey_id": "opened_by_survey", "surveyed_on": "opened_on"}
    )
    end = good[[*key, "survey_id", "surveyed_on"]].rename(
        columns={"survey_id": "closed_by", "surveyed_on": "closed_on"}
    )
    worst = bad.groupby(key)["grade"].max().rename("worst").reset_index()
    joined = last.merge(first, on=key).merge(end, on=key, how="left").merge(worst, on=key)
    return joined.assign(status=np.where(joined["closed_on"].notna(), "done", "open"))


def _held(store: Store, states: pd.DataFrame) -> pd.DataFrame:
    """Findings that fail of held surveys which make a hood 'do not use until settled'."""
    wanted = set(states["held_survey_id"].dropna())
    found = rows(
        store,
        f'SELECT {_FINDING} FROM findings f JOIN surveys s ON s."survey_id" = f."survey_id" '
        'WHERE s."status" = \'held\' AND f."outcome" = \'fail\' ORDER BY f."survey_id", f."criterion"',
    )
    found = found[found["survey_id"].isin(wanted)].drop_duplicates(["survey_id", "criterion"])
    return found.assign(
        status="to be settled", opened_by_survey=found["survey_id"], last_survey_id=found["survey_id"],
        opened_on=found["surveyed_on"], last_seen_on=found["surveyed_on"],
    )  # fmt: skip


def _overdue(states: pd.DataFrame) -> pd.DataFrame:
    late = states[states["state"].isin(["overdue", "never surveyed"])]
    return pd.DataFrame(
        {
            "hood_id": late["hood_id"], "criterion": "overdue", "outcome": late["state"], "status": "open",
            "opened_on": late["next_due"], "last_survey_id": late["last_survey_id"], "causes": late["reason"],
            "action": "have the hood surveyed", "last_seen_on": late["last_surveyed_on"],
            "opened_by_survey": late["last_survey_id"],
        }
    )  # fmt: skip


def _placed(table: pd.DataFrame, register: pd.DataFrame, states: pd.DataFrame) -> pd.DataFrame:
    """With the hood's place now and its work order; open spells of a hood that is another now, or out of service, are
    withdrawn."""
    places = register.drop_duplicates("hood_id", keep="last")[_PLACE]
    table = table.merge(places, on="hood_id", how="left").merge(
        states[["hood_id", "work_order"]], on="hood_id", how="left"
    )
    gone = table["in_service"].eq(False).fillna(False).astype(bool)
    seen, installed = pd.to_datetime(table["last_seen_on"]), pd.to_datetime(table["installed_on"])
    gone |= seen.lt(installed).fillna(False)
    table["status"] = table["status"].mask(gone & table["status"].ne("done"), "withdrawn")
    return table.reindex(columns=list(dict.fromkeys([*table.columns, *WORK])))


def _titles(criteria: pd.Series) -> list[str]:
    from auditor.criteria.loading import criteria as known

    titles = {name: str(about["title"]) for name, about in known().items()}
    return [titles.get(one, "Survey overdue" if one == "overdue" else one) for one in criteria]


def _keys(table: pd.DataFrame) -> list[str]:
    """'W-' and 12 characters of the digest of hood, criterion and the survey that opened it."""
    parts = zip(table["hood_id"], table["criterion"], table["opened_by_survey"].fillna(""), strict=True)
    return ["W-" + hashlib.sha256("\x1f".join(map(str, part)).encode()).hexdigest()[:12] for part in parts]


def _priority(table: pd.DataFrame) -> np.ndarray:
    """By the worst outcome of the spell: a hood that failed is not better for being restricted since."""
    worst = table["outcome"].map(_RANK).fillna(0)
    worst = worst.where(~table["worst"].gt(worst), table["worst"]) if "worst" in table else worst
    return np.select([worst.eq(3), worst.eq(2)], [1, 2], 3)
