"""Intake: what is held and why, grouped by what mends it; what came in."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from auditor.answers import held, years
from auditor.answers.states import DO_NOT_USE
from dashboard import address, desk, parts, record
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
ENDINGS = ["xlsx", "xlsm", "xls", "xlsb", "ods", "csv"]


def show() -> None:
    st.title("Intake")
    books = record.ask(held.workbooks)
    if books.empty:
        st.info("No workbook has been taken in yet.")
        st.code("hoodaudit intake FOLDER", language="text")
        if not record.read_only():
            drop()
        return
    totals = record.ask(years.totals)
    one, two, three = st.columns(3)
    one.metric("Workbooks", len(books))
    one.caption(f"{count((books['status'] == 'unreadable').sum(), 'workbook')} could not be read")
    two.metric("Surveys accepted", f"{totals['accepted']:,}")
    two.caption("counted in every figure")
    three.metric("Surveys held", f"{totals['held']:,}")
    three.caption("kept whole, in no figure until settled or released")
    if not record.read_only():
        drop()
    dangerous()
    reasons()
    surveys()
    came(books)


def drop() -> None:
    """Workbooks dropped here are audited in a process of their own."""
    st.header("Hand in workbooks")
    desk.told()
    with st.form("hand-in", clear_on_submit=True):
        files = st.file_uploader("Contractors' workbooks", type=ENDINGS, accept_multiple_files=True)
        check = st.checkbox("Audit only, and record nothing")
        sent = st.form_submit_button("Audit")
    if sent and files:
        with st.status(f"Auditing {count(len(files), 'workbook')} in a process of their own", expanded=True) as status:
            ran = desk.take_in([(file.name, file.getvalue()) for file in files], check=check)
            status.update(label="Audited" if ran.done else "Not audited", state="complete" if ran.done else "error")
        st.session_state["_handed_in"] = (ran, check)
        if ran.done and not check:
            st.rerun()
    elif sent:
        st.warning("No workbook was dropped.")
    handed_in()


def handed_in() -> None:
    """What the last workbooks handed in came to."""
    if "_handed_in" not in st.session_state:
        return
    ran, check = st.session_state["_handed_in"]
    if not ran.done:
        st.error(f"That was not done: {safe(ran.said)}")
        return
    totals = ran.document.get("totals", {})
    said = (
        f"{count(totals.get('surveys'), 'survey')}: {totals.get('accepted', 0)} accepted, "
        f"{totals.get('held', 0)} held; "
        f"{count(totals.get('workbooks_repeat'), 'workbook')} already in the record, "
        f"{totals.get('workbooks_unreadable', 0)} unreadable."
    )
    (st.info if check else st.success)(("Audited, nothing recorded. " if check else "Audited and recorded. ") + said)
    problems = pd.DataFrame(ran.document.get("discrepancies", []))
    if len(problems):
        problems = problems[problems["severity"].eq("hold")].head(SHOWN)
        heads = {
            "workbook": "Workbook",
            "sheet": "Sheet",
            "cell": "Cell",
            "written": "As written",
            "message": "Message",
            "remedy": "What mends it",
        }
        if len(problems):
            parts.table(problems, heads)


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
            address.link("held-survey", f"**{safe(row['hood_id'])}**", survey=row["survey_id"])
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
    if part["survey_id"].notna().any():
        parts.pick(
            part,
            heads,
            f"reasons-{code}",
            page="held-survey",
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
    parts.pick(shown, heads, "held", page="held-survey", survey="survey_id", alt_text="Held surveys")


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
