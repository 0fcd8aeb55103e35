"""One survey's grid in the shape of the opening, and its cross-drafts."""

from __future__ import annotations

from typing import Any

import altair as alt
import pandas as pd

from dashboard.charts.style import Drawn
from dashboard.units import Unit
from dashboard.words import LOOKS, missing, percent

WIDEST, TALLEST, LOWEST = 760, 420, 150
FAIL, UNEVEN = LOOKS["fail"][2], LOOKS["restricted"][2]


def grid_map(readings: pd.DataFrame, about: dict[str, Any], unit: Unit) -> Drawn:
    """The face readings that have a place, as cells in the shape of the opening at test: the depth of colour is the
    velocity, the number is written in; a cell beyond a limit has a heavy edge, a mark and its number in bold.
    `readings`: those of `auditor.answers.surveys.Survey`; `about`: opening_width_in, sash_height_in, grid_rows,
    grid_columns."""
    face = readings[readings["kind"].eq("face") & readings["row"].notna() & readings["column"].notna()]
    broken = face["beyond"].ne("")
    data = pd.DataFrame(
        {
            "row": face["row"].astype(int),
            "column": face["column"].astype(int),
            "velocity": unit.column(face["velocity_fpm"]).round(4),
            "written": face["written"].astype(str),
            "cell": face["cell"].astype(str),
            "beyond": face["beyond"],
            "broken": broken,
            "edge": [_edge(said) for said in face["beyond"]],
            "from_mean": [percent(None if missing(v) else v / 100) for v in face["deviation_percent"]],
            "said": [_said(row, unit) for row in face.to_dict("records")],
        }
    )
    width, height = opening_shape(about)
    x = alt.X("column:O", title=None, axis=alt.Axis(labelAngle=0, orient="top", ticks=False, domain=False))
    y = alt.Y("row:O", title=None, axis=alt.Axis(ticks=False, domain=False))
    tips = [
        alt.Tooltip("cell:N", title="Cell"),
        alt.Tooltip("written:N", title="As written"),
        alt.Tooltip("velocity:Q", title=unit.name, format=unit.format),
        alt.Tooltip("from_mean:N", title="From the mean"),
        alt.Tooltip("beyond:N", title="Limit"),
    ]
    base = alt.Chart(data).encode(x=x, y=y)
    low, high = _domain(data["velocity"], unit)
    cells = base.mark_rect(stroke="#ffffff", strokeWidth=1).encode(
        color=alt.Color(
            "velocity:Q",
            title=unit.name,
            scale=alt.Scale(domain=[low, high], scheme="tealblues", clamp=True),
            legend=alt.Legend(orient="right", gradientLength=110),
        ),
        tooltip=tips,
    )
    edges = (
        base.transform_filter("datum.broken")
        .mark_rect(fill=None, strokeWidth=4, strokeOpacity=1)
        .encode(stroke=alt.Stroke("edge:N", scale=None, legend=None))
    )
    middle = low + 0.55 * (high - low)
    numbers = base.mark_text(fontSize=15).encode(
        text="said:N",
        color=alt.condition(f"datum.velocity > {middle:.4f}", alt.value("#ffffff"), alt.value("#10262e")),
    )
    plain, bold = (
        numbers.transform_filter("!datum.broken"),
        numbers.transform_filter("datum.broken").mark_text(fontSize=16, fontWeight="bold"),
    )
    return alt.layer(cells, edges, plain, bold).properties(width=width, height=height)


def change_map(changes: pd.DataFrame, about: dict[str, Any], unit: Unit) -> Drawn:
    """What changed at each point since the survey before, in the same shape: orange slower, blue faster, the change
    written in with its sign. `changes`: those of `auditor.answers.surveys.grid_before`."""
    data = pd.DataFrame(
        {
            "row": changes["row"].astype(int),
            "column": changes["column"].astype(int),
            "change": unit.column(changes["change_fpm"]).round(4),
            "now": unit.column(changes["velocity_fpm"]).round(4),
            "before": unit.column(changes["before_fpm"]).round(4),
            "said": ["?" if missing(v) else f"{unit.value(v):+.{unit.digits}f}" for v in changes["change_fpm"]],
        }
    )
    width, height = opening_shape(about)
    reach = round(max([*data["change"].abs().dropna(), 20 * unit.per_fpm]), 4)
    base = alt.Chart(data).encode(
        x=alt.X("column:O", title=None, axis=alt.Axis(labelAngle=0, orient="top", ticks=False, domain=False)),
        y=alt.Y("row:O", title=None, axis=alt.Axis(ticks=False, domain=False)),
    )
    cells = base.mark_rect(stroke="#ffffff", strokeWidth=1).encode(
        color=alt.Color(
            "change:Q",
            title=f"change, {unit.name}",
            scale=alt.Scale(domain=[-reach, 0, reach], range=["#c47a00", "#f4f3ee", "#2a8fb0"]),
            legend=alt.Legend(orient="right", gradientLength=110),
        ),
        tooltip=[
            alt.Tooltip("before:Q", title="Before", format=unit.format),
            alt.Tooltip("now:Q", title="Now", format=unit.format),
            alt.Tooltip("said:N", title=f"Change, {unit.name}"),
        ],
    )
    numbers = base.mark_text(fontSize=15, color="#10262e").encode(text="said:N")
    return alt.layer(cells, numbers).properties(width=width, height=height)


def _edge(said: str) -> str:
    return FAIL if "lowest" in said or "highest" in said else UNEVEN


def _said(row: dict[str, Any], unit: Unit) -> str:
    if missing(row["velocity_fpm"]):
        return f"? {str(row['written'])[:8]}" if not missing(row["written"]) else "?"
    mark = (
        "" if not row["beyond"] else "▼ " if "lowest" in row["beyond"] else "▲ " if "highest" in row["beyond"] else "◇ "
    )
    return f"{mark}{unit.bare(row['velocity_fpm'])}"


def opening_shape(about: dict[str, Any]) -> tuple[int, int]:
    """Width and height in pixels, in the proportion of the opening at the sash height of the test where both are known,
    else in that of the grid's cells; never too flat to read."""
    wide, tall = about.get("opening_width_in"), about.get("sash_height_in") or about.get("opening_height_in")
    if missing(wide) or missing(tall) or not wide or not tall:
        wide, tall = (about.get("grid_columns") or 1), (about.get("grid_rows") or 1)
    scale = min(WIDEST / float(wide), TALLEST / float(tall))
    return max(round(float(wide) * scale), 200), max(round(float(tall) * scale), LOWEST)


def _domain(velocities: pd.Series, unit: Unit) -> tuple[float, float]:
    """A fixed scale where the readings fit it, so that grids can be compared with one another."""
    low, high = 30 * unit.per_fpm, 150 * unit.per_fpm
    known = velocities.dropna()
    if known.empty:
        return low, high
    return round(min(low, known.min()), 4), round(max(high, known.max()), 4)


def draft_bars(readings: pd.DataFrame, limits: pd.DataFrame, unit: Unit) -> Drawn:
    """The cross-draft readings as bars by place and direction, with the limits as upright lines: the absolute one, and
    the relative one at this survey's mean. `limits`: rows of `limit_rows`."""
    draft = readings[readings["kind"].eq("cross-draft")]
    data = pd.DataFrame(
        {
            "place": [place_of(row) for row in draft.to_dict("records")],
            "velocity": unit.column(draft["velocity_fpm"].abs()).round(4),
            "cell": draft["cell"].astype(str),
            "written": draft["written"].astype(str),
            "look": ["beyond a limit" if said else "within limits" for said in draft["beyond"]],
            "said": [_draft_said(row, unit) for row in draft.to_dict("records")],
        }
    )
    rules = draft_limits(limits, unit)
    top = max([*data["velocity"].dropna(), *rules["value"], unit.per_fpm * 25]) * 1.12
    x = alt.X(
        "velocity:Q",
        title=f"Room air speed in front of the opening, {unit.name}",
        scale=alt.Scale(domain=[0, round(top, 4)]),
        axis=alt.Axis(tickCount=6),
    )
    y = alt.Y("place:N", title=None, sort=None, axis=alt.Axis(labelLimit=240))
    colour = alt.Color(
        "look:N",
        title=None,
        legend=alt.Legend(orient="top"),
        scale=alt.Scale(domain=["within limits", "beyond a limit"], range=[LOOKS["pass"][2], UNEVEN]),
    )
    tips = [
        alt.Tooltip("place:N", title="Place"),
        alt.Tooltip("cell:N", title="Cell"),
        alt.Tooltip("written:N", title="As written"),
    ]
    bars = alt.Chart(data).mark_bar(height={"band": 0.62}).encode(x=x, y=y, color=colour, tooltip=tips)
    text = alt.Chart(data).mark_text(align="left", dx=5, fontSize=12).encode(x=x, y=y, text="said:N")
    line = (
        alt.Chart(rules)
        .mark_rule(strokeDash=[6, 4], color="#a08a4f", strokeWidth=1.5)
        .encode(x="value:Q", tooltip=[alt.Tooltip("label:N", title="Limit")])
    )
    return alt.layer(bars, text, line).properties(height=26 * data["place"].nunique() + 90)


def _draft_said(row: dict[str, Any], unit: Unit) -> str:
    return ("▲ " if row["beyond"] else "") + unit.bare(row["velocity_fpm"])


def place_of(row: dict[str, Any]) -> str:
    said = "" if missing(row["position"]) else str(row["position"])
    way = "" if missing(row["direction"]) or str(row["direction"]) in said else str(row["direction"])
    return ", ".join(part for part in (said, way) if part) or str(row["cell"])


def draft_limits(limits: pd.DataFrame, unit: Unit) -> pd.DataFrame:
    """label, value (in `unit`): the absolute cross-draft limit, and the relative one at this survey's mean."""
    found = []
    for row in limits[limits["grade"].eq("pass")].to_dict("records") if len(limits) else []:
        said = unit.text(row["value_fpm"])
        if missing(row["value_fpm"]):
            continue
        if row["criterion"] == "cross-draft-absolute":
            found.append((f"at most {said}", unit.value(row["value_fpm"])))
        if row["criterion"] == "cross-draft-relative":
            found.append((f"at most {row['value']:g} % of the mean, here {said}", unit.value(row["value_fpm"])))
    return pd.DataFrame(found, columns=["label", "value"]).astype({"value": float})
