"""What each hood may be used for today, from its surveys, its notices and what was done to its ventilation."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from auditor.criteria.hood_types import hood_type
from auditor.criteria.intervals import ends_with_month, interval_months, last_events, next_due
from auditor.criteria.loading import load_profiles
from auditor.criteria.profile import Profile
from auditor.survey.frames import days, texts

STATES = (  # the most pressing first
    "do not use until settled", "do not use", "restricted", "awaiting retest", "overdue", "never surveyed",
    "in service", "out of service",
)  # fmt: skip
COLUMNS = [
    "hood_id", "state", "since", "reason", "last_survey_id", "last_surveyed_on", "next_due", "overdue_days", "verdict",
    "provisional_verdict", "held_survey_id", "awaiting_retest", "notice", "notice_posted_on", "work_order",
]  # fmt: skip
_NEVER = np.datetime64("NaT", "s")
_RANK = {"not judged": 0, "pass": 1, "restricted": 2, "fail": 3}


def hood_states(
    register: pd.DataFrame,
    surveys: pd.DataFrame,
    verdicts: pd.DataFrame,
    events: pd.DataFrame,
    tags: pd.DataFrame,
    today: dt.date,
    *,
    profiles: Mapping[str, Profile] | None = None,
    default: str = "common-practice",
    earlier: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """One row per hood of the register (its present rows), columns COLUMNS, in the register's order.

    surveys: the contract's table (superseded ones are left out). verdicts: the reasons, by survey_id. events:
    happened_on, event, and hood_id, air_handler, building, floor or room. tags: hood_id, action ('posted', 'removed'),
    notice, work_order, made_at; oldest first. earlier: states told before (hood_id, state, since): a 'do not use' whose
    evidence has since been withdrawn stands until a survey passes.

    A held survey renews no interval and ends no state; one that fails provisionally makes the hood 'do not use until
    settled'. A failed hood stays 'do not use' until a survey passes: a later 'restricted' or 'not judged' does not free
    it. A survey before the installation of the hood that now has the tag is another hood's. overdue_days counts from
    next_due in every state; a change of ventilation after the last survey makes the hood due on that day."""
    now = np.datetime64(today, "s")
    profiles = load_profiles() if profiles is None else profiles
    chains = _chains(register, surveys, verdicts, now)
    latest = np.array([c.latest for c in chains], dtype="datetime64[s]")
    months = interval_months(register, profiles, default)
    due = next_due(latest, months, ends_with_month(register, profiles, default)).astype("datetime64[s]")
    happened = last_events(register, events, now)
    changed, repaired = (happened[c].to_numpy().astype("datetime64[s]") for c in ("changed_on", "repaired_on"))
    stale = ~np.isnat(changed) & ~np.isnat(latest) & (changed > latest)
    due = np.where(stale, np.minimum(due, changed), due)
    notices, before = _notices(tags), _earlier(earlier)
    rows = []
    for i, chain in enumerate(chains):
        chain.due, chain.repaired = due[i], repaired[i]
        chain.change = str(happened["change"].iloc[i]) if stale[i] else ""
        rows.append(_row(chain, notices.get(chain.hood), before.get(chain.hood), now))
    return pd.DataFrame(rows, columns=COLUMNS, index=register.index)


class _Survey(NamedTuple):
    survey_id: Any
    day: np.datetime64
    verdict: str
    reason: str


@dataclass
class _Chain:
    """What is known of one hood. `accepted` in order of day; on one day a retest last, else the worst last."""

    hood: str
    in_service: bool
    routed: str
    accepted: list[_Survey] = field(default_factory=list)
    dangerous: list[_Survey] = field(default_factory=list)  # held, and failing provisionally
    held: int = 0
    due: np.datetime64 = _NEVER
    change: str = ""
    repaired: np.datetime64 = _NEVER

    @property
    def latest(self) -> np.datetime64:
        return self.accepted[-1].day if self.accepted else _NEVER

    def standing(self) -> tuple[str, _Survey | None]:
        """The grade that stands ('', 'pass', 'restricted', 'fail', 'not judged') and the survey that began it."""
        grade, began = "", None
        for survey in self.accepted:
            keeps = survey.verdict == "not judged" and grade in ("fail", "restricted")
            keeps |= survey.verdict == "restricted" and grade == "fail"
            if survey.verdict != grade and not keeps:
                grade, began = survey.verdict, survey
        return grade, began

    def last_pass(self) -> np.datetime64:
        return next((s.day for s in reversed(self.accepted) if s.verdict == "pass"), _NEVER)


def _chains(register: pd.DataFrame, surveys: pd.DataFrame, verdicts: pd.DataFrame, now: np.datetime64) -> list[_Chain]:
    installed = days(register, "installed_on")
    chains = []
    for hood, service, kind in zip(
        texts(register, "hood_id"), texts(register, "in_service"), texts(register, "hood_type"), strict=True
    ):
        routed = hood_type(None if kind is None else str(kind)).routed
        chains.append(
            _Chain(str(hood), str(service).strip().casefold() not in ("no", "false", "0", "0.0", "n"), routed)
        )
    of = {c.hood: i for i, c in enumerate(chains)}
    reasons = dict(zip(verdicts["survey_id"], texts(verdicts, "reason"), strict=True)) if len(verdicts) else {}
    for row in _in_order(surveys):
        i = of.get(row.hood)
        if i is None:
            continue
        said = _Survey(row.survey_id, row.day, row.verdict or "not judged", str(reasons.get(row.survey_id) or ""))
        if row.status == "held":
            chains[i].held += 1
            if row.provisional == "fail":
                chains[i].dangerous.append(said)
        elif not np.isnat(row.day) and row.day <= now and not row.day < installed[i]:
            chains[i].accepted.append(said)
    for chain in chains:
        chain.dangerous = [s for s in chain.dangerous if not s.day < chain.last_pass()]
    return chains


class _Row(NamedTuple):
    survey_id: Any
    hood: str
    day: np.datetime64
    verdict: str | None
    provisional: str | None
    status: str


def _in_order(surveys: pd.DataFrame) -> list[_Row]:
    """The surveys that count or are held, oldest first; of one day the retest last, else the worst last."""
    day, verdict = days(surveys, "surveyed_on"), texts(surveys, "verdict")
    status, hood = texts(surveys, "status"), texts(surveys, "hood_id")
    retest = texts(surveys, "occasion") == "retest"
    rank = np.array([_RANK.get(str(v), 0) for v in verdict], dtype=int)
    order = np.lexsort((texts(surveys, "survey_id").astype(str), rank, retest, day))
    provisional, ids = texts(surveys, "provisional_verdict"), texts(surveys, "survey_id")
    return [
        _Row(ids[i], str(hood[i]), day[i], verdict[i], provisional[i], str(status[i]))
        for i in order
        if status[i] in ("accepted", "held")
    ]


class _Notice(NamedTuple):
    kind: str
    posted_on: np.datetime64
    work_order: str | None


def _notices(tags: pd.DataFrame | None) -> dict[str, _Notice]:
    """The notice that hangs on each hood now; the log is in order."""
    out: dict[str, _Notice] = {}
    if tags is None or tags.empty:
        return out
    # a time may carry its zone; the day as written there is the day that people mean
    when = [t if t is None else str(t)[:10] for t in texts(tags, "made_at" if "made_at" in tags else "at")]
    orders, kinds = texts(tags, "work_order"), texts(tags, "notice")
    for i, (hood, action) in enumerate(zip(texts(tags, "hood_id"), texts(tags, "action"), strict=True)):
        if action == "posted":
            day = np.datetime64(when[i], "s") if when[i] else _NEVER
            order = None if orders[i] is None else str(orders[i])
            out[str(hood)] = _Notice(str(kinds[i] or "do not use"), day, order)
        else:
            out.pop(str(hood), None)
    return out


def _earlier(states: pd.DataFrame | None) -> dict[str, np.datetime64]:
    """Since when each hood was 'do not use' when its state was last told."""
    if states is None or states.empty:
        return {}
    since = days(states, "since")
    told = zip(texts(states, "hood_id"), texts(states, "state"), since, strict=True)
    return {str(hood): day for hood, state, day in told if state == "do not use"}


def _row(c: _Chain, notice: _Notice | None, before: np.datetime64 | None, now: np.datetime64) -> dict[str, Any]:
    state, since, reason = _state(c, notice, before, now)
    grade, _ = c.standing()
    last = c.accepted[-1] if c.accepted else None
    late = (now - c.due).astype("timedelta64[D]").astype(int) if not np.isnat(c.due) else None
    return {
        "hood_id": c.hood,
        "state": state,
        "since": pd.Timestamp(since),
        "reason": reason,
        "last_survey_id": last.survey_id if last else None,
        "last_surveyed_on": pd.Timestamp(last.day) if last else pd.NaT,
        "next_due": pd.Timestamp(c.due) if c.in_service else pd.NaT,
        "overdue_days": max(int(late), 0) if late is not None and c.in_service else None,
        "verdict": last.verdict if last else None,
        "provisional_verdict": "fail" if c.dangerous else None,
        "held_survey_id": c.dangerous[-1].survey_id if c.dangerous else None,
        "awaiting_retest": c.in_service and grade in ("fail", "restricted"),
        "notice": notice.kind if notice else None,
        "notice_posted_on": pd.Timestamp(notice.posted_on) if notice else pd.NaT,
        "work_order": notice.work_order if notice else None,
    }


def _state(
    c: _Chain, notice: _Notice | None, before: np.datetime64 | None, now: np.datetime64
) -> tuple[str, np.datetime64, str]:
    """State, since when, and why."""
    if not c.in_service:
        return "out of service", _NEVER, "the register says that it is not in service"
    if c.dangerous:
        held = c.dangerous[-1]
        return "do not use until settled", held.day, f"a held survey fails as far as it can be read: {held.reason}"
    grade, began = c.standing()
    if grade == "fail" and began:
        return "do not use", began.day, f"{_again(c, began)}{began.reason}"
    if before is not None and not c.last_pass() > before:
        return "do not use", before, "it failed; the evidence has been withdrawn since, and no survey has passed"
    if notice and notice.kind == "do not use" and not c.last_pass() > notice.posted_on:
        return "do not use", notice.posted_on, _posted(notice)
    if grade == "restricted" and began:
        if c.repaired > began.day:
            day = np.datetime_as_string(c.repaired, unit="D")
            return "awaiting retest", c.repaired, f"repaired on {day} and not surveyed since: {began.reason}"
        return "restricted", began.day, f"{_again(c, began)}{began.reason}"
    if notice and not c.last_pass() > notice.posted_on:
        return "restricted", notice.posted_on, _posted(notice)
    return _by_the_calendar(c, grade, began, now)


def _by_the_calendar(
    c: _Chain, grade: str, began: _Survey | None, now: np.datetime64
) -> tuple[str, np.datetime64, str]:
    if not c.accepted:
        held = f"; {c.held} held, which counts for nothing until it is settled" if c.held else ""
        return "never surveyed", _NEVER, f"no survey has been accepted{held}"
    if grade == "not judged" and began and not c.routed:
        return "awaiting retest", began.day, began.reason or "its last survey could not be judged"
    if now > c.due or (c.change and now >= c.due):
        why = f"its ventilation was changed ({c.change}) after its last survey" if c.change else "its interval is over"
        return "overdue", c.due, why
    return "in service", began.day if began else c.latest, c.routed or ""


def _again(c: _Chain, began: _Survey) -> str:
    """What has happened since a survey that still stands."""
    later = [s for s in c.accepted if s.day > began.day and s.verdict in ("restricted", "not judged", "fail")]
    if later:
        day = np.datetime_as_string(later[-1].day, unit="D")
        return f"no survey has passed since (the last one, {day}, gave {later[-1].verdict}): "
    return "repaired, and to be retested before it is used: " if c.repaired > began.day else ""


def _posted(notice: _Notice) -> str:
    order = f" (work order {notice.work_order})" if notice.work_order else ""
    return f"a notice '{notice.kind}' hangs on it{order}, and no survey has passed since"
