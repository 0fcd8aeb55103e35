"""The few things that a meeting has to decide, drawn from the answers that its screens show anyway."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from auditor.answers.record import rows
from auditor.answers.states import DO_NOT_USE, past_due
from auditor.codes import CODES

if TYPE_CHECKING:
    from auditor.store.store import Store

MOST = 5
MATTERS = ["kind", "count", "subject", "share", "detail"]


def matters(
    store: Store, year: int, states: pd.DataFrame, trends: pd.DataFrame, clusters: pd.DataFrame
) -> pd.DataFrame:
    """At most MOST rows, most pressing first; columns MATTERS. `kind`: 'settle' (held and failing), 'correct' (do not
    use), 'room air' (a claimed cluster), 'falling' (hoods falling towards their limit), 'overdue', 'data' (what holds
    most of the year's surveys). `count`: how many hoods (of 'data': surveys); `subject`: the hood, place, building or
    code that most of it is about; `share`: how many of the count that subject has; `detail`: a word more."""
    found = [
        _settle(states), _correct(states), _room_air(clusters), _overdue(states), _data(store, year), _falling(trends),
    ]  # fmt: skip
    return pd.DataFrame([row for row in found if row], columns=MATTERS).head(MOST)


def _settle(states: pd.DataFrame) -> tuple | None:
    hoods = states.loc[states["state"].eq(DO_NOT_USE[0]), "hood_id"].tolist()
    return ("settle", len(hoods), hoods[0], 1, "") if hoods else None


def _correct(states: pd.DataFrame) -> tuple | None:
    barred = states[states["state"].eq(DO_NOT_USE[1])]
    if barred.empty:
        return None
    without = int((~barred["notice"].eq("do not use")).sum())
    return ("correct", len(barred), *_most(barred["building"]), str(without))


def _room_air(clusters: pd.DataFrame) -> tuple | None:
    claimed = clusters[clusters["claimed"].astype(bool)] if len(clusters) else clusters
    if claimed.empty:
        return None
    worst = claimed.sort_values(["failures", "q_value"], ascending=[False, True], kind="stable").iloc[0]
    first = str(worst["remedy"] or "").split("; ")[0].removeprefix("1. ")
    return ("room air", len(claimed), f"{worst['level']} {worst['group']}", int(worst["failures"]), first)


def _overdue(states: pd.DataFrame) -> tuple | None:
    late = past_due(states)
    return ("overdue", len(late), *_most(late["building"]), "") if len(late) else None


def _falling(trends: pd.DataFrame) -> tuple | None:
    falling = trends[trends["trend"].eq("falling")] if len(trends) else trends
    if falling.empty:
        return None
    first = falling.sort_values("rank").iloc[0]
    when = "" if pd.isna(first["limit_reached_on"]) else first["limit_reached_on"].date().isoformat()
    return ("falling", len(falling), str(first["hood_id"]), 1, when)


def _data(store: Store, year: int) -> tuple | None:
    """The code that alone holds most surveys of the year, and the firm that most of them come from."""
    found = rows(
        store,
        'SELECT d."code", s."contractor", COUNT(DISTINCT d."survey_id") AS n FROM discrepancies d '
        'JOIN surveys s ON s."survey_id" = d."survey_id" '
        "WHERE d.\"state\" = 'open' AND d.\"severity\" = 'hold' AND s.\"status\" = 'held' "
        'AND SUBSTR(s."surveyed_on", 1, 4) = :year GROUP BY d."code", s."contractor"',
        {"year": f"{year:04d}"},
    )
    if found.empty:
        return None
    by_firm = found.groupby("contractor", dropna=False)["n"].sum().sort_values(ascending=False)
    held = rows(
        store,
        'SELECT COUNT(*) AS n FROM surveys WHERE "status" = \'held\' AND SUBSTR("surveyed_on", 1, 4) = :year',
        {"year": f"{year:04d}"},
    )["n"].iloc[0]
    firm = by_firm.index[0]
    code = str(found.groupby("code")["n"].sum().idxmax())
    title = CODES[code].title if code in CODES else code
    return ("data", int(held), "not known" if pd.isna(firm) else str(firm), int(by_firm.iloc[0]), title.lower())


def _most(names: pd.Series) -> tuple[str, int]:
    counts = names.fillna("not known").value_counts()
    return str(counts.index[0]), int(counts.iloc[0])
