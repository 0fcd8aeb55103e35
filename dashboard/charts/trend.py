"""A hood's mean face velocity over the years, with the limits that it is judged by."""

from __future__ import annotations

from typing import Any

import altair as alt
import pandas as pd

from dashboard.charts.style import Drawn
from dashboard.units import Unit
from dashboard.words import CHART_SHAPES, LOOKS, day, missing

GRADES = ["pass", "restricted", "fail", "not judged"]


def trend_line(surveys: pd.DataFrame, limits: pd.DataFrame, unit: Unit, events: pd.DataFrame | None = None) -> Drawn:
    """`surveys`: surveyed_on, face_mean_fpm, verdict, contractor (the accepted ones); `limits`: label, value_fpm;
    `events`: happened_on, event. Points in the shape and colour of their verdict, joined by a line; limits dashed, with
    their names; events as dotted uprights."""
    data = pd.DataFrame(
        {
            "on": surveys["surveyed_on"],
            "mean": unit.column(surveys["face_mean_fpm"]).round(4),
            "verdict": surveys["verdict"].fillna("not judged"),
            "contractor": surveys["contractor"].fillna(""),
            "day": [day(value) for value in surveys["surveyed_on"]],
        }
    )
    span = _span(data["mean"], limits, unit)
    x = alt.X(
        "on:T",
        title=None,
        axis=alt.Axis(format="%Y", tickCount="year", grid=False),
        scale=alt.Scale(nice={"interval": "year", "step": 1}),
    )
    y = alt.Y("mean:Q", title=f"Mean face velocity, {unit.name}", scale=alt.Scale(domain=span, nice=False))
    seen = [grade for grade in GRADES if grade in set(data["verdict"])]
    tips = [
        alt.Tooltip("day:N", title="Surveyed"),
        alt.Tooltip("mean:Q", title=f"Mean, {unit.name}", format=unit.format),
        alt.Tooltip("verdict:N", title="Verdict"),
        alt.Tooltip("contractor:N", title="Contractor"),
    ]
    line = alt.Chart(data).mark_line(color="#8a9399", strokeWidth=1.5).encode(x=x, y=y)
    points = (
        alt.Chart(data)
        .mark_point(filled=True, size=120, opacity=1)
        .encode(
            x=x,
            y=y,
            tooltip=tips,
            color=alt.Color(
                "verdict:N",
                title=None,
                legend=alt.Legend(orient="top"),
                scale=alt.Scale(domain=seen, range=[LOOKS[grade][2] for grade in seen]),
            ),
            shape=alt.Shape(
                "verdict:N",
                title=None,
                legend=alt.Legend(orient="top"),
                scale=alt.Scale(domain=seen, range=[CHART_SHAPES[g] for g in seen]),
            ),
        )
    )
    numbers = (
        alt.Chart(data).mark_text(dy=-14, fontSize=12).encode(x=x, y=y, text=alt.Text("mean:Q", format=unit.format))
    )
    return alt.layer(*_limits(limits, unit, span), *_events(events), line, points, numbers).properties(
        height=330, padding={"left": 5, "top": 5, "right": 130, "bottom": 5}
    )


def _span(means: pd.Series, limits: pd.DataFrame, unit: Unit) -> list[float]:
    every = [*means.dropna(), *(unit.column(limits["value_fpm"]).dropna() if len(limits) else [])]
    low, high = (min(every), max(every)) if every else (0.0, 1.0)
    room = max((high - low) * 0.12, unit.per_fpm * 5)
    return [round(max(low - room, 0), 4), round(high + room, 4)]


def _limits(limits: pd.DataFrame, unit: Unit, span: list[float]) -> list[alt.Chart]:
    known = limits[limits["value_fpm"].notna()] if len(limits) else limits
    if not len(known):
        return []
    data = pd.DataFrame({"value": unit.column(known["value_fpm"]).round(4), "label": known["label"].astype(str)})
    base = alt.Chart(data).encode(y=alt.Y("value:Q", scale=alt.Scale(domain=span, nice=False)))
    return [
        base.mark_rule(strokeDash=[6, 4], color="#a08a4f", strokeWidth=1.3),
        base.mark_text(align="left", dx=6, fontSize=12.5).encode(x=alt.value("width"), text="label:N"),
    ]


def _events(events: pd.DataFrame | None) -> list[alt.Chart]:
    if events is None or events.empty:
        return []
    data = pd.DataFrame({"on": events["happened_on"], "event": events["event"].astype(str)})
    base = alt.Chart(data[data["on"].notna()]).encode(x="on:T")
    return [
        base.mark_rule(strokeDash=[2, 3], color="#8a63b8"),
        base.mark_text(align="left", dx=4, dy=4, baseline="top", fontSize=12).encode(y=alt.value(0), text="event:N"),
    ]


def limit_labels(limits: pd.DataFrame, unit: Unit) -> pd.DataFrame:
    """The limits of the mean face velocity as label and value_fpm, from rows of `auditor.answers.limits.limit_rows`."""
    own = limits[limits["criterion"].isin(["face-mean-low", "face-mean-high"]) & limits["value_fpm"].notna()]
    return pd.DataFrame(
        {"label": [_label(row, unit) for row in own.to_dict("records")], "value_fpm": own["value_fpm"].to_numpy()}
    ).drop_duplicates("value_fpm")


def _label(row: dict[str, Any], unit: Unit) -> str:
    value, low = unit.bare(row["value_fpm"]), row["criterion"].endswith("low")
    if row["grade"] == "pass":
        return f"pass from {value}" if low else f"pass up to {value}"
    return f"fail below {value}" if low else f"fail above {value}"


def has_line(surveys: pd.DataFrame) -> bool:
    return not surveys.empty and not all(missing(value) for value in surveys["face_mean_fpm"])
