"""This year: what the meeting asks, in the order in which it asks it."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from auditor.answers import deciding, tables, years
from auditor.answers.states import DO_NOT_USE, past_due
from dashboard import address, parts, record
from dashboard.charts.rates import pass_rates
from dashboard.matters import lead, sentence
from dashboard.words import count, held_out, interval, missing, percent, safe

MOST_DRAWN = 25
FIGURES = {
    "group": "Building",
    "judged": "Hoods judged",
    "passed": "Pass",
    "restricted": "Restricted",
    "failed": "Fail",
    "not_judged": "Not judged",
    "rate": "Share passing",
    "low": "from",
    "high": "to",
    "held": "Surveys held out",
    "not_surveyed": "Not surveyed",
    "judged_before": "Judged the year before",
    "rate_before": "Share the year before",
}


def show() -> None:
    found = record.ask(years.years, record.today())
    title, choice = st.columns([5, 1], vertical_alignment="bottom")
    title.title("This year")
    if not found:
        empty()
        return
    with choice:
        year = address.choose("Year", "year", found)
    states = record.states()
    barred(states)
    figures(year, states)
    decide = st.container()
    buildings(year)
    changed(year)
    late(states)
    with decide:  # filled last: what it draws on takes longest
        to_decide(year, states)


def empty() -> None:
    st.info("The record holds no survey yet. Load the register, then take in the contractors' workbooks:")
    st.code("hoodaudit register load hoods.csv\nhoodaudit intake FOLDER", language="text")
    states = record.states()
    if len(states):
        st.write(f"The register has {count(len(states), 'hood')}.")
    parts.caution()


def barred(states: pd.DataFrame) -> None:
    hoods = states[states["state"].isin(DO_NOT_USE)]
    st.header(f"Hoods that must not be used: {len(hoods)}")
    if hoods.empty:
        st.success("None: no hood has a failing survey that stands, held or accepted.", icon=":material/check:")
    parts.hood_links(hoods.head(12))
    if len(hoods) > 12:
        address.link("work-list", f"All {len(hoods)} on the work list", state="do not use")
    parts.caution()


def figures(year: int, states: pd.DataFrame) -> None:
    cover = record.ask(years.coverage, year).iloc[-1]
    campus = record.ask(years.verdicts_by, "year", year)
    totals = record.ask(years.totals, year)
    st.header(f"The campus in {year}")
    one, two, three, four = st.columns(4)
    one.metric("Hoods surveyed", f"{cover['accepted']} of {cover['in_service']}")
    one.caption(
        f"{count(cover['held_only'], 'hood')} with held surveys only, {count(cover['not_surveyed'], 'hood')} with none"
    )
    if len(campus) and not missing(campus["rate"].iloc[0]):
        row = campus.iloc[0]
        two.metric("Pass", percent(row["rate"]))
        before = "" if missing(row["rate_before"]) else f"; {percent(row['rate_before'])} in {year - 1}"
        two.caption(f"of {count(row['judged'], 'hood')} judged (95 %: {interval(row['low'], row['high'])}){before}")
        three.metric("Restricted or failing", int(row["restricted"] + row["failed"]))
        three.caption(
            f"{count(row['restricted'], 'hood')} restricted, {count(row['failed'], 'hood')} failing on the last day"
        )
    late_now = len(past_due(states))
    four.metric("Overdue today", late_now)
    four.caption(f"of them {count((states['state'] == 'never surveyed').sum(), 'hood')} never surveyed")
    st.caption(held_out(totals["held"], totals["held_undated"]) + " A hood counts once, by its last day of survey.")


def to_decide(year: int, states: pd.DataFrame) -> None:
    st.header("To decide")
    gathered = parts.long_answer(tables.clusters, "Looking for what is common to them")
    if gathered is None:
        return
    found = deciding.matters(record.store(), year, states, record.ask(tables.trends), gathered)
    if found.empty:
        st.write("Nothing presses.")
    for row in found.to_dict("records"):
        said, go = st.columns([6, 1.3], vertical_alignment="center")
        said.markdown(f"- {sentence(row)}")
        page, selected = lead(row)
        with go:
            address.link(page, "Show", **selected)


def buildings(year: int) -> None:
    table = record.ask(years.verdicts_by, "building", year)
    st.header("Verdicts by building")
    if table["rate"].notna().sum() == 0:
        st.info(f"No survey of {year} has been judged yet.")
        return
    ranked = table[table["rate"].notna()].sort_values(["rate", "judged"], ascending=[True, False], kind="stable")
    lowest, drawn = ranked.iloc[0], ranked.head(MOST_DRAWN)
    rest = len(ranked) - len(drawn)
    says = (
        f"Share of hoods that pass in {year}, by building, with the 95 % interval, and {year - 1} beside it. Lowest: "
        f"{lowest['group']} with {percent(lowest['rate'])} of {count(lowest['judged'], 'hood')}; "
        f"{count(int(table['held'].sum()), 'held survey')} left out."
        + (f" Drawn are the {MOST_DRAWN} lowest; {count(rest, 'building')} more in the table." if rest else "")
    )
    parts.chart(pass_rates(drawn, year), table, f"verdicts-{year}", says, headings=FIGURES)
    st.write("Click on a building to see its hoods.")
    parts.pick(
        table,
        {name: FIGURES[name] for name in list(FIGURES)[:11]},
        "buildings",
        page="work-list",
        building="group",
        formats={"rate": "share", "low": "share", "high": "share"},
        alt_text="Verdicts by building",
    )


def changed(year: int) -> None:
    st.header(f"What changed since {year - 1}")
    steps = record.ask(years.change, year)
    campus = steps[steps["by"].eq("year")]
    if campus.empty:
        st.write("There is no earlier year to compare with.")
        return
    row = campus.iloc[0]
    sure = "more than chance would give" if row["p_value"] <= 0.05 else "no more than chance can give"
    st.write(
        f"On the {count(row['hoods_both'], 'hood')} judged both in {row['year_before']} and {row['year']}: "
        f"{row['improved']} pass now and did not, {row['worsened']} do not pass now and did; the share that passes "
        f"changed by {100 * row['change_same_hoods']:+.1f} points "
        f"(95 %: {100 * row['low']:+.1f} to {100 * row['high']:+.1f}; "
        f"{sure}, exact McNemar p = {row['p_value']:.2f})."
    )
    moved = record.ask(years.moves, year)
    worse, better = moved[moved["direction"].eq("worse")], moved[moved["direction"].eq("better")]
    heads = {"hood_id": "Hood", "building": "Building", "room": "Room", "before": "Before", "now": "Now"}
    left, right = st.columns(2)
    for column, part, name in ((left, worse, "worse"), (right, better, "better")):
        with column:
            st.subheader(f"{count(len(part), 'hood')} {name}")
            if len(part):
                parts.pick(
                    part,
                    heads,
                    f"moved-{name}",
                    page="hood",
                    hood="hood_id",
                    survey="survey_now",
                    alt_text=f"Hoods that became {name}",
                )


def late(states: pd.DataFrame) -> None:
    hoods = past_due(states)
    st.header(f"Overdue: {len(hoods)}")
    if hoods.empty:
        st.write("Every hood in service has been surveyed within its interval.")
        return
    by_building = hoods["building"].fillna("not known").value_counts()
    said = ", ".join(f"{safe(name)} {n}" for name, n in by_building.items())
    st.write(f"By building: {said}.")
    heads = {
        "hood_id": "Hood",
        "building": "Building",
        "room": "Room",
        "state": "State",
        "last_surveyed_on": "Last surveyed",
        "overdue_days": "Days overdue",
    }
    parts.pick(hoods, heads, "late", page="hood", hood="hood_id", alt_text="Overdue hoods")


if __name__ == "__main__":
    show()
