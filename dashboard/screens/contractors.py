"""Contractors: how their sheets come in, by firm and campaign."""

from __future__ import annotations

import streamlit as st

from auditor.answers import contractors
from dashboard import address, parts, record
from dashboard.words import count


def show() -> None:
    st.title("Contractors")
    quality = record.ask(contractors.quality)
    if quality.empty:
        st.info("No survey is in the record yet.")
        return
    st.write("How each firm's sheets come in. A held survey says something of its sheet, not of the hood.")
    known = sorted(quality["year"].dropna().unique(), reverse=True)
    if not known:
        return
    year = address.choose("Year", "year", [int(one) for one in known])
    own = quality[quality["year"].eq(str(year))]
    st.header(f"Sheets of {year}")
    heads = {
        "contractor": "Contractor",
        "surveys": "Surveys",
        "accepted": "Accepted",
        "held": "Held",
        "held_share": "Share held",
        "low": "from",
        "high": "to",
        "cautioned": "With a caution",
    }
    shown = own.assign(**{name: own[name].astype(float) * 100 for name in ("held_share", "low", "high")})
    st.dataframe(
        shown[list(heads)].rename(columns=heads),
        hide_index=True,
        alt=f"Surveys of {year} by contractor",
        column_config={name: st.column_config.NumberColumn(format="%.0f %%") for name in ("Share held", "from", "to")},
    )
    st.caption("from, to: 95 % Wilson interval of the share held.")
    faults = record.ask(contractors.faults)
    faults = faults[faults["year"].eq(str(year))]
    st.header("What is wrong or doubtful in them")
    if faults.empty:
        st.write("Nothing.")
    for firm, part in faults.groupby("contractor", sort=True):
        st.subheader(parts.safe(firm))
        parts.table(
            part.head(12),
            {"title": "What", "severity": "Severity", "surveys": "Surveys", "cases": "Cases", "open_cases": "Open"},
        )
    tools = record.ask(contractors.instruments)
    st.header(f"Instruments: {count(len(tools), 'instrument')}")
    if len(tools):
        parts.table(
            tools.head(60),
            {
                "instrument_id": "Instrument",
                "contractor": "Contractor",
                "surveys": "Accepted surveys",
                "first_on": "First used",
                "last_on": "Last used",
                "due_on": "Calibration due, as last told",
            },
        )


if __name__ == "__main__":
    show()
