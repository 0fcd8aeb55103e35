"""Intake: what is held and why, grouped by what mends it; what came in."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from auditor.answers import held, years
from auditor.answers.states import DO_NOT_USE
from dashboard import address, parts, record
from dashboard.words import count, day, safe, shaped

MENDS = {
    "file": "The file",
    "layout": "The layout",
    "identity": "Which hood it is",
    "date": "The date",
    "unit": "The unit",
    "sash": "The sash height",
    "grid": "Readings of the grid",
    "figures": "The sheet's own figures",
    "instrument": "The instrument",
    "repeat": "Copies and repeats",
    "visit": "Another visit",
    "program": "The program",
}
SHOWN = 60


def show() -> None:
    st.title("Intake")
    books = record.ask(held.workbooks)
    if books.empty:
        st.info("No workbook has been taken in yet.")
        st.code("hoodaudit intake FOLDER", language="text")
        return
    totals = record.ask(years.totals)
    one, two, three = st.columns(3)
    one.metric("Workbooks", len(books))
    one.caption(f"{count((books['status'] == 'unreadable').sum(), 'workbook')} could not be read")
    two.metric("Surveys accepted", f"{totals['accepted']:,}")
    two.caption("counted in every figure")
    three.metric("Surveys held", f"{totals['held']:,}")
    three.caption("kept whole, in no figure until settled or released")
    dangerous()
    reasons()
    surveys()
    came(books)


def dangerous() -> None:
    table = record.ask(held.held_surveys)
    failing = table[table["provisional_verdict"].eq("fail")]
    st.header(f"Held, and failing as far as they can be read: {len(failing)}")
    if failing.empty:
        st.write("None.")
        return
    states = record.states().set_index("hood_id")["state"]
    for row in failing.to_dict("records"):
        state = states.get(row["hood_id"])
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            parts.badge(state if state in DO_NOT_USE else "held")
            address.link("hood", f"**{safe(row['hood_id'])}**", hood=row["hood_id"], survey=row["survey_id"])
            since = "" if state in DO_NOT_USE else "; a later survey passed"
            st.markdown(f"{day(row['surveyed_on'])}, {safe(row['workbook'])}, sheet “{safe(row['sheet'])}”{since}")


def reasons() -> None:
    table = record.ask(held.held_reasons)
    st.header(f"What would mend them: {count(len(table), 'reason')}")
    if table.empty:
        st.success("Nothing is held.", icon=":material/check:")
        return
    groups = table["mends"].value_counts()
    names = {name: MENDS.get(name, name.capitalize()) for name in groups.index}

    def said(key: str) -> str:
        return f"Everything ({len(table)})" if key == "all" else f"{names[key]} ({groups[key]})"

    options = ["all", *groups.index]
    mends = address.choose("What mends it", "mends", options, shown=said, widget="segments", clears=["code"])
    shown = table if mends == "all" else table[table["mends"].eq(mends)]
    kinds = (
        shown.groupby("code", sort=False)
        .agg(
            title=("title", "first"),
            mends=("mends", "first"),
            cases=("code", "size"),
            surveys=("survey_id", "nunique"),
            remedy=("remedy", "first"),
        )
        .reset_index()
        .sort_values(["cases", "title"], ascending=[False, True], ignore_index=True)
    )
    kinds["mends"] = kinds["mends"].map(names)
    st.write("Click on a kind to see its cases, cell by cell.")
    heads = {
        "title": "What is wrong",
        "cases": "Cases",
        "surveys": "Surveys",
        "mends": "What mends it",
        "remedy": "How",
    }
    kinds = kinds.assign(chosen=mends)
    parts.pick(kinds, heads, "kinds", page="intake", code="code", mends="chosen", alt_text="Reasons by kind")
    code = address.given("code") or kinds["code"].iloc[0]
    if code not in set(table["code"]):
        st.warning(f"The address asks for cases of “{safe(code, 40)}”; the record has none.")
        return
    cases(table[table["code"].eq(code)], str(code))
    with st.container(horizontal=True):
        parts.downloads(shown.drop(columns=["workbook_sha256", "discrepancy_id"]), "held-reasons")


def cases(part: pd.DataFrame, code: str) -> None:
    """The cases of one code, cell by cell."""
    st.subheader(f"{safe(part['title'].iloc[0])}: {count(len(part), 'case')}")
    st.markdown(f"**Mend.** {safe(part['remedy'].iloc[0])}")
    heads = {
        "workbook": "Workbook",
        "sheet": "Sheet",
        "cell": "Cell",
        "written": "As written",
        "hood_id": "Hood",
        "surveyed_on": "Surveyed",
        "contractor": "Contractor",
        "message": "Message",
    }
    if part["hood_id"].notna().any():
        parts.pick(
            part,
            heads,
            f"reasons-{code}",
            page="hood",
            hood="hood_id",
            survey="survey_id",
            cell="cell",
            alt_text=f"Cases of {code}",
        )
    else:
        parts.table(part.head(SHOWN), heads)


def surveys() -> None:
    table = record.ask(held.held_surveys)
    st.header(f"Held surveys: {len(table)}")
    if table.empty:
        return
    shown = table.assign(said=[shaped(v) if isinstance(v, str) else "" for v in table["provisional_verdict"]])
    heads = {
        "hood_id": "Hood",
        "building": "Building",
        "surveyed_on": "Surveyed",
        "contractor": "Contractor",
        "workbook": "Workbook",
        "sheet": "Sheet",
        "said": "As far as it can be read",
        "reasons": "Reasons",
    }
    parts.pick(shown, heads, "held", page="hood", hood="hood_id", survey="survey_id", alt_text="Held surveys")


def came(books: pd.DataFrame) -> None:
    st.header("Workbooks")
    heads = {
        "workbook": "Workbook",
        "status": "Status",
        "sheets": "Sheets",
        "surveys": "Surveys",
        "accepted": "Accepted",
        "held": "Held",
        "reason": "Reason",
        "received_at": "Received",
        "sha256": "SHA-256",
    }
    st.dataframe(books[list(heads)].rename(columns=heads), hide_index=True, placeholder="–", alt="Workbooks taken in")
    aside = record.ask(held.sheets_set_aside)
    if len(aside):
        with st.expander(f"{count(len(aside), 'sheet')} without a survey"):
            parts.table(
                aside.head(60), {"workbook": "Workbook", "sheet": "Sheet", "outcome": "Outcome", "reason": "Reason"}
            )


if __name__ == "__main__":
    show()
