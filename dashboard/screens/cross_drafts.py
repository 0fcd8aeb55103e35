"""Cross-drafts: where failures gather, over the years, and down to the hoods."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from auditor.answers import drafts, years
from auditor.answers.tables import clusters
from dashboard import address, parts, record
from dashboard.charts.plan import floor_plan
from dashboard.charts.rates import share_matrix
from dashboard.words import count, held_out, safe

LEVELS = ["building", "air handler", "floor", "room"]
HEADINGS = {
    "group": "Place",
    "year": "Year",
    "surveys": "Surveys",
    "failures": "Failing",
    "share": "Share failing",
    "low": "from",
    "high": "to",
    "hoods_failing": "Hoods failing",
}
MOST = 20
WIDE = {"air handler": 0, "building": 1, "floor": 2, "neighbourhood": 3, "room": 4}  # the widest first


def show() -> None:
    st.title("Cross-drafts")
    table = record.ask(drafts.drafts_by_year)
    if table.empty:
        st.info("No survey with a judged cross-draft is in the record yet.")
        parts.caution()
        return
    totals = record.ask(years.totals)
    st.write(
        "Room air that crosses the opening spoils a hood's containment, and its cause lies in the room. Shown are "
        "accepted surveys whose cross-draft was restricted or failed. " + held_out(totals["held"])
    )
    gathered()
    matrix(table)
    plan(table)
    recurring()
    hoods(table)


def gathered() -> None:
    st.header("Where they gather")
    found = parts.long_answer(clusters, "Comparing with what chance would give")
    if found is None:
        return
    claimed = found[found["claimed"].astype(bool)]
    claimed = claimed.assign(wide=claimed["level"].map(WIDE)).sort_values(["wide", "q_value", "group"], kind="stable")
    tests = int(found["tests"].max()) if len(found) else 0
    if claimed.empty:
        st.write(f"Of {count(tests, 'place')} compared, none has more failures than chance would give.")
        return
    st.write(
        f"Of {count(tests, 'place')} compared, {count(len(claimed), 'place')} have more failures than chance would "
        "give (at most 5 % of such claims are expected to be wrong)."
    )
    for place, row in enumerate(claimed.to_dict("records")):
        name = f"{row['level'].capitalize()} **{safe(row['group'])}**"
        chance = f"{row['expected']:.1f} expected ({row['years']})"
        heading = f"{name}: {row['failures']} of {row['surveys']} surveys fail, {chance}"
        with st.expander(heading, expanded=place == 0):
            st.markdown(f"**What they share.** {safe(row['shared'], 900)}")
            st.markdown("**What to try, in order.**\n" + steps(row["remedy"]))
            st.caption(f"Chance of so many: p = {row['p_value']:.2g}, q = {row['q_value']:.2g}.")
            if row["level"] in drafts.LEVELS:
                address.link("cross-drafts", "Show its hoods below", level=row["level"], group=row["group"])


def steps(remedy: object) -> str:
    """'1. …; 2. …' as lines of a numbered list."""
    parts_of = [one.strip().rstrip(".") for one in str(remedy or "").split("; ") if one.strip()]
    said = [one.split(". ", 1)[1] if one.split(". ", 1)[0].isdigit() and ". " in one else one for one in parts_of]
    return "\n".join(f"{i}. {safe(one)}" for i, one in enumerate(said, 1))


def matrix(table: pd.DataFrame) -> None:
    st.header("By place and year")
    level = address.choose("Level", "level", LEVELS, widget="segments", clears=["group"])
    own = table[table["level"].eq(level)]
    failing = own.groupby("group")["failures"].sum()
    worst = failing[failing > 0].sort_values(ascending=False).index[:MOST]
    if not len(worst):
        st.write("No failure at this level.")
        return
    shown = own[own["group"].isin(worst)]
    rest = own["group"].nunique() - len(worst)
    says = f"Surveys failing for cross-drafts, by {level} and year: the {count(len(worst), level)} with failures" + (
        f"; {count(rest, level)} more without, or with fewer, not drawn." if rest else "."
    )
    parts.chart(
        share_matrix(shown, level.capitalize()),
        own,
        f"cross-drafts-by-{level.replace(' ', '-')}",
        says,
        headings=HEADINGS,
    )


def plan(table: pd.DataFrame) -> None:
    st.header("On the floor plan")
    floors = table[table["level"].eq("floor")]
    failing = floors.groupby("group")["failures"].sum().sort_values(ascending=False)
    left, right = st.columns([3, 1])
    with left:
        options = failing.index.tolist()
        floor = address.choose("Floor", "floor", options, shown=lambda one: f"{one} ({failing[one]} failing)")
    with right:
        year = address.choose("Year", "year", sorted(table["year"].unique().tolist(), reverse=True), name="plan-year")
    if floor is None or year is None:
        st.write("The register has no floors.")
        return
    found = record.ask(drafts.draft_hoods, int(year), "floor", str(floor))
    placed = found[found["x_ft"].notna() & found["y_ft"].notna()]
    if placed.empty:
        st.write("The register gives no places on the floor plan for the hoods surveyed here.")
        return
    unit = address.unit()
    bad = int(placed["failed"].sum())
    says = (
        f"{floor} in {year}: {bad} of {count(len(placed), 'hood survey')} fail for cross-drafts "
        f"(triangles; the number is the strongest draft in {unit.name}, an arrow the side of the opening where it was)."
    )
    table = placed.assign(draft=unit.column(placed["cross_draft_max_fpm"]).round(3))
    heads = {
        "hood_id": "Hood",
        "room": "Room",
        "air_handler": "Air handler",
        "x_ft": "x, ft",
        "y_ft": "y, ft",
        "draft": f"Strongest draft, {unit.name}",
        "position": "Strongest at",
        "direction": "Direction",
        "failed": "Fails",
    }
    parts.chart(floor_plan(placed, unit), table, "floor-plan", says, headings=heads)


def recurring() -> None:
    st.header("Rooms where they come back")
    rooms = record.ask(drafts.recurring_rooms)
    if rooms.empty:
        st.write("No room failed in two or more of the last three campaigns.")
        return
    st.write("Rooms with failures in at least two of the last three campaigns. Click on one to see its hoods.")
    heads = {
        "room": "Room",
        "campaigns": "Campaigns with failures",
        "years": "Years",
        "failures": "Failing",
        "surveys": "Surveys",
        "hoods_failing": "Hoods failing",
    }
    parts.pick(
        rooms.assign(level="room"),
        heads,
        "recurring",
        page="cross-drafts",
        level="level",
        group="room",
        alt_text="Rooms where cross-drafts come back",
    )


def hoods(table: pd.DataFrame) -> None:
    level = address.given("level") if address.given("level") in LEVELS else LEVELS[0]
    groups = sorted(table.loc[table["level"].eq(level), "group"].unique())
    st.header("Hoods")
    left, right = st.columns([3, 1])
    with left:
        group = address.choose("Place", "group", ["", *groups], default="", shown=lambda g: g or "all places")
    with right:
        year = address.choose("Year", "year", sorted(table["year"].unique().tolist(), reverse=True))
    found = record.ask(drafts.draft_hoods, int(year), str(level), group)
    unit = address.unit()
    failing = found[found["failed"].astype(bool)]
    st.write(
        f"{count(len(failing), 'hood survey')} of {len(found)} in {year} fail for cross-drafts. "
        "Click on one to open its grid."
    )
    if failing.empty:
        return
    shown = failing.assign(draft=unit.column(failing["cross_draft_max_fpm"]))
    heads = {
        "hood_id": "Hood",
        "building": "Building",
        "room": "Room",
        "air_handler": "Air handler",
        "surveyed_on": "Surveyed",
        "draft": f"Strongest draft, {unit.name}",
        "cross_draft_ratio": "Share of the mean",
        "position": "Strongest at",
        "direction": "Direction",
        "verdict": "Verdict",
    }
    parts.pick(
        shown,
        heads,
        "draft-hoods",
        page="hood",
        hood="hood_id",
        survey="survey_id",
        formats={"cross_draft_ratio": "share", "draft": f"%.{unit.digits}f"},
        alt_text="Hoods with failing cross-drafts",
    )


if __name__ == "__main__":
    show()
