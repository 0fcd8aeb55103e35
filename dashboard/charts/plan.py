"""Hoods on their floor, where the register gives their places."""

from __future__ import annotations

import altair as alt
import pandas as pd

from dashboard.charts.style import Drawn
from dashboard.units import Unit
from dashboard.words import LOOKS, missing

ARROWS = {"left": "◀", "right": "▶", "top": "▲", "bottom": "▼"}
FAILS, HOLDS = "fails for cross-drafts", "within the limits"


def floor_plan(hoods: pd.DataFrame, unit: Unit) -> Drawn:
    """`hoods`: hood_id, room, x_ft, y_ft, failed, cross_draft_max_fpm, position, direction. One mark per hood at its
    place, seen from above, both axes in feet at the same scale; the rooms' numbers beside them."""
    data = pd.DataFrame(
        {
            "x": hoods["x_ft"].astype(float),
            "y": hoods["y_ft"].astype(float),
            "hood": hoods["hood_id"].astype(str),
            "room": hoods["room"].fillna("").astype(str),
            "look": [FAILS if bad else HOLDS for bad in hoods["failed"]],
            "draft": [unit.text(v) for v in hoods["cross_draft_max_fpm"]],
            "said": [_said(row, unit) for row in hoods.to_dict("records")],
        }
    )
    xs, ys = _span(data["x"]), _span(data["y"])
    x = alt.X("x:Q", title="feet", scale=alt.Scale(domain=xs, nice=False), axis=alt.Axis(grid=True, tickCount=10))
    y = alt.Y("y:Q", title="feet", scale=alt.Scale(domain=ys, nice=False), axis=alt.Axis(grid=True, tickCount=6))
    base = alt.Chart(data).encode(x=x, y=y)
    looks = [HOLDS, FAILS]
    points = base.mark_point(filled=True, size=150, opacity=1).encode(
        color=alt.Color(
            "look:N",
            title=None,
            legend=alt.Legend(orient="top"),
            scale=alt.Scale(domain=looks, range=[LOOKS["pass"][2], LOOKS["restricted"][2]]),
        ),
        shape=alt.Shape("look:N", title=None, scale=alt.Scale(domain=looks, range=["circle", "triangle-up"])),
        tooltip=[
            alt.Tooltip("hood:N", title="Hood"),
            alt.Tooltip("room:N", title="Room"),
            alt.Tooltip("draft:N", title="Strongest draft"),
            alt.Tooltip("look:N", title="Outcome"),
        ],
    )
    drafts = base.mark_text(dy=-15, fontSize=12, fontWeight="bold").encode(text="said:N")
    rooms = (
        alt.Chart(data.groupby("room", as_index=False)[["x", "y"]].mean())
        .mark_text(dy=22, fontSize=12, fontStyle="italic")
        .encode(x=x, y=y, text="room:N")
    )
    height = min(max(round(1080 * (ys[1] - ys[0]) / (xs[1] - xs[0])), 220), 460)
    return alt.layer(points, drafts, rooms).properties(height=height)


def _said(row: dict, unit: Unit) -> str:
    """'◀ 38': the draft of a hood that fails, with the side where it is strongest."""
    if not row["failed"]:
        return ""
    arrow = "" if missing(row["position"]) else ARROWS.get(str(row["position"]), "")
    return f"{arrow} {unit.bare(row['cross_draft_max_fpm'])}".strip()


def _span(places: pd.Series) -> list[float]:
    room = max(0.08 * float(places.max() - places.min()), 12.0)
    return [round(float(places.min()) - room, 2), round(float(places.max()) + room, 2)]
