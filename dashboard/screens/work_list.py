"""Work list: hoods by what has to be done with them, with filters that stay in the address."""

from __future__ import annotations

import streamlit as st

from auditor.answers.states import DO_NOT_USE, past_due
from dashboard import address, desk, parts, record
from dashboard.words import count, shaped

KINDS = {
    "all": "everything to do",
    "do not use": "do not use",
    "restricted": "restricted",
    "retest": "awaiting retest",
    "overdue": "overdue",
    "never surveyed": "never surveyed",
    "due soon": "due within 60 days",
    "every hood": "every hood",
}
SOON_DAYS = 60
ALL = "all buildings"


def show() -> None:
    st.title("Work list")
    states = record.states()
    if states.empty:
        st.info("The register holds no hood yet.")
        parts.caution()
        return
    left, right = st.columns([3, 2])
    with left:
        kind = address.choose(
            "What", "state", list(KINDS), shown=lambda key: f"{KINDS[key]} ({int(chosen(states, key).sum())})"
        )
    with right:
        buildings = sorted(states["building"].dropna().unique().tolist())
        building = address.choose("Building", "building", [ALL, *buildings], default=ALL)
    found = states[chosen(states, kind)]
    if building != ALL:
        found = found[found["building"].eq(building)]
    st.header(
        f"{KINDS[kind].capitalize()}: {count(len(found), 'hood')}"
        + ("" if building == ALL else f" in {parts.safe(building)}")
    )
    if kind == "do not use":
        parts.hood_links(found)
        if found.empty:
            st.success("None.", icon=":material/check:")
    if len(found):
        listing(found)
    if not record.read_only():
        notices(states)
    st.caption(
        "A held survey renews no interval: a hood whose only survey is held stays due until that survey is settled."
    )


def chosen(states, kind: str):
    state = states["state"]
    if kind == "do not use":
        return state.isin(DO_NOT_USE)
    if kind == "retest":
        return state.eq("awaiting retest") | states["awaiting_retest"].fillna(False).astype(bool)
    if kind == "due soon":
        ahead = (states["next_due"] - _today()).dt.days
        return ahead.between(0, SOON_DAYS) & ~state.eq("out of service")
    if kind == "every hood":
        return state.notna()
    if kind == "overdue":  # whatever other state it is in
        return states["hood_id"].isin(past_due(states)["hood_id"]) & ~state.eq("never surveyed")
    return state.eq(kind) if kind != "all" else ~state.isin(["in service", "out of service"])


def _today():
    import pandas as pd

    return pd.Timestamp(record.today())


def notices(states) -> None:
    """The log of notices: posted on a hood, or removed from it."""
    desk.told()
    with st.expander("Log a notice that was posted or removed"), st.form("notice", border=False):
        hood = st.selectbox("Hood", states["hood_id"].tolist())
        deed = st.radio("What was done", ["posted", "removed"], horizontal=True)
        order = st.text_input("Work order, if there is one", max_chars=60)
        by = desk.who("notice-by")
        if st.form_submit_button("Log it"):
            if not by.strip():
                st.error("The log is kept with who did it.")
                return
            ran = desk.post(str(hood), posted=deed == "posted", by=by.strip(), work_order=order.strip())
            desk.tell(ran, f"In the log: the notice was {deed}, hood {hood}.")
            st.rerun()


def listing(found) -> None:
    st.write("Click on a hood to open it.")
    heads = {
        "hood_id": "Hood",
        "building": "Building",
        "room": "Room",
        "state": "State",
        "since": "Since",
        "last_surveyed_on": "Last surveyed",
        "next_due": "Due",
        "overdue_days": "Days overdue",
        "notice": "Notice",
        "work_order": "Work order",
        "reason": "Reason",
    }
    parts.pick(found, heads, "work", page="hood", hood="hood_id", alt_text="Hoods by what has to be done with them")
    with st.container(horizontal=True):
        parts.downloads(found.rename(columns=heads)[list(heads.values())], "work-list")
    said = found["state"].value_counts()
    st.caption("By state: " + ", ".join(f"{shaped(name)} {n}" for name, n in said.items()))


if __name__ == "__main__":
    show()
