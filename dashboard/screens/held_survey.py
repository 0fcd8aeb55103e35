"""A held survey: what it lacks, the sheet beside it, and the two ways on: settle a fact, or release it."""

from __future__ import annotations

import streamlit as st

from auditor.answers import surveys
from dashboard import address, desk, one_survey, record
from dashboard.words import day, plain, safe

# Facts that a person can supply, with how to write them.
SETTLED = {
    "hood": "Hood (its tag in the register)",
    "surveyed_on": "Surveyed on (2026-03-31)",
    "unit": "Unit of the readings (ft/min, m/s)",
    "sash_height": "Sash height (18 in, 460 mm)",
    "opening_width": "Opening width (72 in)",
    "opening_height": "Opening height (28 in)",
    "instrument_id": "Instrument",
    "calibrated_on": "Calibrated on (2026-01-15)",
    "calibration_due": "Calibration due (2027-01-15)",
    "smoke_local": "Smoke, small source (drawn in)",
    "smoke_gross": "Smoke, large volume (drawn in)",
    "contractor": "Contractor",
    "observations": "Observations",
}


def show() -> None:
    st.title("Held survey")
    survey_id = address.given("survey")
    found = record.ask(surveys.survey, survey_id) if survey_id else None
    if found is None:
        st.warning(f"The address asks for the survey “{safe(survey_id, 60)}”, which the record does not have.")
        address.link("intake", "To all held surveys")
        return
    desk.told()
    about = found.about
    st.write(
        f"Hood {safe(about['hood_id'])}, {day(about['surveyed_on'])}; {safe(about['workbook'])}, sheet "
        f"“{safe(about['sheet'])}”."
    )
    if about["hood_id"]:
        address.link("hood", f"Hood {safe(about['hood_id'])}", hood=about["hood_id"], survey=survey_id)
    if about["status"] != "held":
        st.success(f"This survey is {plain(about['status'])}; it is not held.", icon=":material/check:")
    elif record.read_only():
        st.info("This dashboard is served for looking only: settle and release with the commands of the same names.")
    else:
        decide(found)
    one_survey.show(str(survey_id))


def decide(found: surveys.Survey) -> None:
    st.header("What to do with it")
    left, right = st.columns(2, border=True)
    with left:
        settle(found)
    with right:
        release(found)


def settle(found: surveys.Survey) -> None:
    st.subheader("Settle a missing fact")
    st.caption("The sheet's own words stay beside what you supply, and the survey is checked again.")
    asked = [name for name in found.discrepancies["field"].dropna() if name in SETTLED]
    names = list(SETTLED)
    name = st.selectbox(
        "What you know", names, index=names.index(asked[0]) if asked else 0, format_func=SETTLED.__getitem__
    )
    with st.form("settle", border=False):
        value = st.text_input("Value, with its unit", max_chars=300)
        evidence = st.text_area("How you know it", max_chars=2000, height=80)
        by = desk.who("settle-by")
        if st.form_submit_button("Settle"):
            if not (value.strip() and evidence.strip() and by.strip()):
                st.error("A decision is kept with its value, how it is known, and who made it: all three are needed.")
                return
            ran = desk.settle(str(found.about["survey_id"]), {name: value.strip()}, evidence.strip(), by.strip())
            desk.tell(ran, f"Settled: {SETTLED[name].split(' (')[0].lower()} is {plain(value, 60)}. {outcome(ran)}")
            st.rerun()


def release(found: surveys.Survey) -> None:
    st.subheader("Release it as it is")
    st.caption("It then counts despite its discrepancies. Your reason is kept in the record for ever.")
    with st.form("release", border=False):
        reason = st.text_area("Reason", max_chars=2000, height=80)
        by = desk.who("release-by")
        if st.form_submit_button("Release"):
            if not (reason.strip() and by.strip()):
                st.error("A release is kept with its reason and who made it: both are needed.")
                return
            ran = desk.release(str(found.about["survey_id"]), reason.strip(), by.strip())
            desk.tell(ran, f"Released. {outcome(ran)}")
            st.rerun()


def outcome(ran: desk.Ran) -> str:
    """'The survey now counts: pass.' or what still holds it."""
    rows = ran.document.get("surveys") or []
    if not rows:
        return ""
    if rows[0]["status"] == "accepted":
        return f"The survey now counts: {rows[0]['verdict']}."
    still = sorted({d["code"] for d in ran.document.get("discrepancies", []) if d["severity"] == "hold"})
    return f"It is still held: {', '.join(still)}."


if __name__ == "__main__":
    show()
