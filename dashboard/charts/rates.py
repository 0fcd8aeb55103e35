"""Shares that pass, with their intervals, this year beside the last."""

from __future__ import annotations

import altair as alt
import pandas as pd

from dashboard.charts.style import Drawn
from dashboard.words import LOOKS, count, interval, percent

NOW, BEFORE = LOOKS["pass"][2], LOOKS["not judged"][2]


def pass_rates(frame: pd.DataFrame, year: int) -> Drawn:
    """One row per group: this year's share (a filled circle) with its 95 % Wilson interval, last year's (a hollow
    diamond) under it, and the numbers of hoods. `frame`: group, rate, low, high, judged, and the
    same of the year before with the ending _before."""
    data = _rows(frame, year)
    order = frame.sort_values("rate", na_position="last")["group"].tolist()
    share = alt.X(
        "share:Q",
        title="Share of judged hoods that pass",
        scale=alt.Scale(domain=[0, 1]),
        axis=alt.Axis(format="%", tickCount=6),
    )
    place = alt.Y("group:N", sort=order, title=None, axis=alt.Axis(labelLimit=220))
    below = alt.YOffset("year:N", sort=[str(year), str(year - 1)])
    shape = alt.Shape(
        "year:N",
        scale=alt.Scale(domain=[str(year), str(year - 1)], range=["circle", "diamond"]),
        title=None,
        legend=alt.Legend(orient="top"),
    )
    colour = alt.Color(
        "year:N",
        scale=alt.Scale(domain=[str(year), str(year - 1)], range=[NOW, BEFORE]),
        title=None,
        legend=alt.Legend(orient="top"),
    )
    tips = [
        alt.Tooltip("group:N", title="Group"),
        alt.Tooltip("year:N", title="Year"),
        alt.Tooltip("said:N", title="Passing"),
        alt.Tooltip("between:N", title="95 % interval"),
    ]
    base = alt.Chart(data).encode(y=place, yOffset=below)
    rule = base.mark_rule(strokeWidth=2.5).encode(
        x=alt.X("low:Q", scale=alt.Scale(domain=[0, 1])), x2="high:Q", color=colour
    )
    point = base.mark_point(filled=True, size=90, opacity=1).encode(x=share, color=colour, shape=shape, tooltip=tips)
    text = base.mark_text(align="left", dx=10, fontSize=12.5).encode(x=alt.value("width"), text="said:N")
    return alt.layer(rule, point, text).properties(
        height=46 * len(order) + 90, padding={"left": 5, "top": 5, "right": 125, "bottom": 5}
    )


def _rows(frame: pd.DataFrame, year: int) -> pd.DataFrame:
    now = frame[["group", "rate", "low", "high", "judged"]].assign(year=str(year))
    before = pd.DataFrame(
        {
            "group": frame["group"],
            "rate": frame["rate_before"],
            "low": frame["low_before"],
            "high": frame["high_before"],
            "judged": frame["judged_before"],
            "year": str(year - 1),
        }
    )
    both = pd.concat([now, before], ignore_index=True)
    both = both[both["rate"].notna()]
    return pd.DataFrame(
        {
            "group": both["group"].astype(str),
            "year": both["year"],
            "share": both["rate"].astype(float),
            "low": both["low"].astype(float),
            "high": both["high"].astype(float),
            "said": [f"{percent(r)} of {count(n, 'hood')}" for r, n in zip(both["rate"], both["judged"], strict=True)],
            "between": [interval(a, b) for a, b in zip(both["low"], both["high"], strict=True)],
        }
    )


def share_matrix(frame: pd.DataFrame, group_title: str) -> Drawn:
    """Groups by years: the share of surveys that fail for cross-drafts as the depth of a colour, and 'failures of
    surveys' written in. `frame`: group, year, surveys, failures, share."""
    data = pd.DataFrame(
        {
            "group": frame["group"].astype(str),
            "year": frame["year"].astype(str),
            "share": frame["share"].astype(float),
            "failures": frame["failures"].astype(int),
            "said": [f"{f} of {n}" for f, n in zip(frame["failures"], frame["surveys"], strict=True)],
        }
    )
    worst = data.groupby("group")["failures"].sum().sort_values(ascending=False).index.tolist()
    base = alt.Chart(data).encode(
        x=alt.X("year:O", title=None, axis=alt.Axis(orient="top", labelAngle=0)),
        y=alt.Y("group:N", sort=worst, title=group_title, axis=alt.Axis(labelLimit=260)),
    )
    rect = base.mark_rect(stroke="#8886", strokeWidth=0.5).encode(
        color=alt.Color(
            "share:Q",
            title="Share failing",
            scale=alt.Scale(domain=[0, 1], range=["#f6f2e6", "#eda64b", "#a9480c"]),
            legend=alt.Legend(format="%"),
        ),
        tooltip=[
            alt.Tooltip("group:N", title=group_title),
            alt.Tooltip("year:O", title="Year"),
            alt.Tooltip("said:N", title="Failing"),
            alt.Tooltip("share:Q", format=".0%", title="Share"),
        ],
    )
    text = base.mark_text(fontSize=12).encode(
        text="said:N", color=alt.condition("datum.share > 0.6", alt.value("#ffffff"), alt.value("#2b2b2b"))
    )
    return alt.layer(rect, text).properties(height=28 * len(worst) + 60)
