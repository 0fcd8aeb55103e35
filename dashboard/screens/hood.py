"""Hood: how it stands and what to do, its trend, every survey, and one survey down to the cell."""

from __future__ import annotations

from typing import Any

import pandas as pd
import streamlit as st

from auditor.answers import hoods
from auditor.answers.tables import trends
from dashboard import address, one_survey, parts, record
from dashboard.charts.trend import has_line, limit_labels, trend_line
from dashboard.words import count, day, missing, safe

DO = {
    "do not use until settled": "Keep it out of use. Settle what the held survey lacks, or have it measured again.",
    "do not use": "Keep it out of use, with its notice posted. Correct the cause, then have it surveyed again.",
    "restricted": "Use it only for what your safety office allows under a restriction. Correct the cause, then retest.",
    "awaiting retest": "Have it surveyed again before it counts as in order.",
    "overdue": "Have it surveyed.",
    "never surveyed": "Have it surveyed before it is relied on.",
    "in service": "Nothing now.",
    "out of service": "Nothing while it stays out of service.",
}
TREND_WORDS = {
    "rising": "rises",
    "falling": "falls",
    "none": "shows no trend",
    "too few": "has too few surveys for a trend",
}


def show() -> None:
    listed = record.ask(hoods.hood_list)
    if listed.empty:
        st.title("Hood")
        st.info("The register holds no hood yet.")
        return
    places = {row["hood_id"]: row for row in listed.to_dict("records")}
    title = st.container()
    hood_id = address.choose(
        "Hood", "hood", list(places), shown=lambda key: place_of(places[key]), clears=["survey", "cell"]
    )
    found = hoods.hood(record.store(), hood_id, record.states(), record.ask(trends))
    if found is None:
        st.error(f"The register has no hood {safe(hood_id)}.")
        return
    with title:
        st.title(f"Hood {safe(hood_id)}")
    state(found)
    trend(found)
    surveys(found)


def place_of(row: dict[str, Any]) -> str:
    said = [str(row[name]) for name in ("building", "room") if not missing(row[name])]
    return "  ·  ".join([str(row["hood_id"]), *said])


def state(found: hoods.Hood) -> None:
    now, about = found.state, found.register
    with st.container(border=True):
        with st.container(horizontal=True, vertical_alignment="center"):
            parts.badge(now["state"])
            since = "" if missing(now["since"]) else f"since {day(now['since'])}"
            st.markdown(": ".join(said for said in (since, safe(now["reason"]) if now["reason"] else "") if said))
        st.markdown(f"**What to do.** {DO.get(now['state'], '')}")
        if not missing(now.get("notice")):
            order = "" if missing(now["work_order"]) else f", work order {safe(now['work_order'])}"
            st.markdown(f"A notice “{safe(now['notice'])}” has hung on it since {day(now['notice_posted_on'])}{order}.")
        facts = [
            f"last accepted survey {day(now['last_surveyed_on'])}",
            f"next due {day(now['next_due'])}",
            safe(about["hood_type"]) if about.get("hood_type") else "",
            f"air handler {safe(about['air_handler'])}" if about.get("air_handler") else "",
            f"working sash height {about['working_sash_in']:g} in" if about.get("working_sash_in") else "",
            f"judged by: {safe(found.profile)}",
        ]
        st.caption(" · ".join(fact for fact in facts if fact))
        parts.caution()


def trend(found: hoods.Hood) -> None:
    st.header("Trend of the mean face velocity")
    unit = address.unit()
    counted = found.surveys[found.surveys["status"].eq("accepted") & found.surveys["surveyed_on"].notna()]
    counted = counted[counted["face_mean_fpm"].notna()].sort_values("surveyed_on")
    held = int(found.surveys["status"].eq("held").sum())
    if not has_line(counted):
        st.write(f"No accepted survey has a mean face velocity yet; {count(held, 'survey')} held.")
        return
    limits = limit_labels(found.limits, unit)
    events = found.events
    if len(events):
        events = events[events["happened_on"].ge(counted["surveyed_on"].min()) | events["happened_on"].isna()]
    says = f"{sentence(found, unit)} {count(len(counted), 'survey')} drawn; {count(held, 'held survey')} left out."
    table = counted.assign(
        mean=unit.column(counted["face_mean_fpm"]).round(3), low=unit.column(counted["face_min_fpm"]).round(3)
    )
    heads = {
        "surveyed_on": "Surveyed",
        "mean": f"Mean, {unit.name}",
        "low": f"Lowest point, {unit.name}",
        "verdict": "Verdict",
        "sash_height_in": "Sash height, in",
        "contractor": "Contractor",
        "instrument_id": "Instrument",
    }
    parts.chart(
        trend_line(counted, limits, unit, events), table, f"trend-{found.register['hood_id']}", says, headings=heads
    )


def sentence(found: hoods.Hood, unit: Any) -> str:
    row = found.trend
    if not row:
        return "There is no trend yet."
    word = TREND_WORDS.get(str(row["trend"]), "")
    said = f"The mean {word}"
    if row["trend"] in ("rising", "falling"):
        slope, low, high = (unit.value(row[name]) for name in ("slope_fpm_per_year", "slope_low", "slope_high"))
        digits = unit.digits + 1
        said += f" by {abs(slope):.{digits}f} {unit.name} a year"
        if low is not None and high is not None:
            said += f" (95 %: {low:+.{digits}f} to {high:+.{digits}f})"
        said += f", p = {row['p_value']:.3f}, q = {row['q_value']:.3f} over the {count(found.tested, 'hood')} tested"
        if not missing(row["limit_reached_on"]):
            said += f"; at that pace it meets its limit about {day(row['limit_reached_on'])}"
    elif row["trend"] == "none":
        said += f" (p = {row['p_value']:.2f}, {count(found.tested, 'hood')} tested)"
    return said + "."


def surveys(found: hoods.Hood) -> None:
    table = found.surveys
    st.header(f"Surveys: {len(table)}")
    if table.empty:
        st.write("The record has no survey of this hood.")
        return
    unit = address.unit()
    shown = pd.DataFrame(
        {
            "survey_id": table["survey_id"],
            "hood_id": table["hood_id"],
            "surveyed_on": table["surveyed_on"],
            "occasion": table["occasion"],
            "verdict": [standing(row) for row in table.to_dict("records")],
            "mean": unit.column(table["face_mean_fpm"]),
            "low": unit.column(table["face_min_fpm"]),
            "draft": unit.column(table["cross_draft_max_fpm"]),
            "sash_height_in": table["sash_height_in"],
            "contractor": table["contractor"],
            "workbook": table["workbook"],
            "sheet": table["sheet"],
        }
    )
    heads = {
        "surveyed_on": "Surveyed",
        "occasion": "Occasion",
        "verdict": "Verdict",
        "mean": f"Mean, {unit.name}",
        "low": f"Lowest, {unit.name}",
        "draft": f"Cross-draft, {unit.name}",
        "sash_height_in": "Sash, in",
        "contractor": "Contractor",
        "workbook": "Workbook",
        "sheet": "Sheet",
    }
    form = f"%.{unit.digits}f"
    parts.pick(
        shown,
        heads,
        "surveys",
        page="hood",
        hood="hood_id",
        survey="survey_id",
        formats={"mean": form, "low": form, "draft": form, "sash_height_in": "%.0f"},
        alt_text="Every survey of this hood",
    )
    names = {
        row["survey_id"]: f"{day(row['surveyed_on'])}  ·  {row['verdict']}  ·  {row['workbook']}, {row['sheet']}"
        for row in shown.to_dict("records")
    }
    default = found.state.get("held_survey_id") or next(iter(names))
    survey_id = address.choose(
        "Survey", "survey", list(names), default=default, shown=lambda key: names[key], clears=["cell"]
    )
    one_survey.show(survey_id)


def standing(row: dict[str, Any]) -> str:
    from dashboard.words import shaped

    if row["status"] == "held":
        worse = ", fails as far as it can be read" if row["provisional_verdict"] == "fail" else ""
        return f"{shaped('held')}{worse}"
    return shaped(row["verdict"]) if row["status"] == "accepted" else shaped(row["status"])


if __name__ == "__main__":
    show()
