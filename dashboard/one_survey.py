"""One survey, part of the Hood page: verdict and findings, grid, cross-drafts, and every figure to its cell."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from auditor.answers import surveys
from auditor.answers.excerpts import Excerpt, excerpt
from dashboard import address, parts, record
from dashboard.charts.grid import change_map, draft_bars, grid_map, place_of
from dashboard.units import Unit
from dashboard.words import count, day, missing, plain, safe

GRIDS = {"this": "this survey", "change": "change since the one before"}


def show(survey_id: str) -> None:
    found = record.ask(surveys.survey, survey_id)
    if found is None:
        st.error("The record has no survey of that key.")
        return
    about = found.about
    st.header(f"The survey of {day(about['surveyed_on'])}")
    st.caption(
        f"{safe(about['workbook'])}, sheet “{safe(about['sheet'])}”; {safe(about['contractor'])}, instrument "
        f"{safe(about['instrument_id'])}; judged by: {safe(found.profile)}"
    )
    verdict(found)
    unit = address.unit()
    grid(found, unit)
    cross_drafts(found, unit)
    source(found)


def verdict(found: surveys.Survey) -> None:
    about = found.about
    with st.container(horizontal=True, vertical_alignment="center"):
        if about["status"] == "held":
            parts.badge("held")
            said = about["provisional_verdict"]
            if st.session_state.get("_page") != "held-survey":
                address.link("held-survey", "Settle or release it", survey=about["survey_id"])
            st.markdown(
                "This survey is in no figure until it is settled or released."
                + (f" As far as it can be read it gives: **{safe(said)}**." if said else "")
            )
        else:
            parts.badge(about["verdict"] or about["status"])
            guarded = about["guarded_verdict"]
            beside = f"With the measurement's uncertainty: {safe(guarded)}." if guarded else ""
            st.markdown(f"{safe(found.reason)}. {beside}" if found.reason else beside)
    problems(found.discrepancies)
    findings(found)
    with st.expander(f"All {count(len(found.findings), 'criterion', 'criteria')} that were judged"):
        parts.table(
            found.findings.assign(said=[measured(row) for row in found.findings.to_dict("records")]),
            {
                "criterion": "Criterion",
                "outcome": "Outcome",
                "measured": "Measured",
                "limit": "Limit",
                "unit": "Unit",
                "guarded_outcome": "With uncertainty",
                "cell": "Cell",
                "source": "Source",
            },
            name="Every criterion of the profile with its outcome",
        )


def findings(found: surveys.Survey) -> None:
    """What is outside the pass grade, and, each said once, the likely causes and what to do."""
    beyond = found.findings[found.findings["outcome"].isin(["fail", "restricted"])]
    if beyond.empty:
        return
    with st.container(border=True):
        for row in beyond.to_dict("records"):
            what, said, where = st.columns([1.4, 7, 1.2], vertical_alignment="center", gap="small")
            with what:
                parts.badge(row["outcome"])
            said.markdown(f"**{safe(row['title'])}**: {measured(row)} ({safe(row['source'])})")
            with where:
                cell_link(found, row["cell"])
        for heading, name in (("Likely cause", "causes"), ("What to do", "action")):
            for text in beyond[name].dropna().unique():
                about = beyond.loc[beyond[name].eq(text), "title"]
                of = f" ({safe('; '.join(about).lower())})" if beyond[name].dropna().nunique() > 1 else ""
                st.markdown(f"**{heading}**{of}: {safe(text, 900)}")


def measured(row: dict) -> str:
    if missing(row["measured"]) or missing(row["limit"]):
        return ""
    unit = safe(row["unit"])
    figure = f"{row['measured']:.2f}" if row["unit"] == "m/s" else f"{row['measured']:.0f}"
    return f"{figure} {unit}, limit {row['limit']:g} {unit}"


def problems(table: pd.DataFrame) -> None:
    still = table[table["state"].eq("open")]
    if still.empty:
        return
    holds = still[still["severity"].eq("hold")]
    for row in holds.to_dict("records"):
        st.warning(
            f"**{safe(row['code'])}** {safe(row['cell'])}: {safe(row['message'])} {safe(row['remedy'])}",
            icon=":material/pan_tool:",
        )
    cautions = still[still["severity"].eq("caution")]
    if len(cautions):
        with st.expander(f"{count(len(cautions), 'caution')} on the data"):
            parts.table(
                cautions.head(60), {"code": "Code", "cell": "Cell", "written": "As written", "message": "Message"}
            )


def grid(found: surveys.Survey, unit: Unit) -> None:
    about, face = found.about, found.readings[found.readings["kind"].eq("face")]
    st.subheader("Face velocities in the opening")
    if face.empty:
        st.write("The sheet gives no face velocity reading.")
        return
    mean, low, high = (unit.text(about[name]) for name in ("face_mean_fpm", "face_min_fpm", "face_max_fpm"))
    placed = face["row"].notna() & face["column"].notna()
    broken = int(face["beyond"].ne("").sum())
    says = (
        f"{count(len(face), 'reading')}, mean {mean}, lowest {low}, highest {high}, seen from the room; "
        f"{count(broken, 'point')} beyond a limit (▼ too low, ▲ too high, ◇ uneven)."
    )
    table = face.assign(velocity=unit.column(face["velocity_fpm"]).round(3), off=(face["deviation_percent"] / 100))
    heads = {
        "cell": "Cell",
        "position": "Point",
        "row": "Row",
        "column": "Column",
        "written": "As written",
        "unit": "Unit",
        "velocity": unit.name,
        "off": "From the mean",
        "beyond": "Limit",
    }
    if placed.any():
        name = f"grid-{about['survey_id']}"
        changes, before = record.ask(surveys.grid_before, about["survey_id"])
        if (
            len(changes)
            and address.choose("Show", "grid", list(GRIDS), shown=GRIDS.__getitem__, widget="segments") == "change"
        ):
            change(changes, before, about, unit)
        else:
            parts.chart(grid_map(face, about, unit), table, name, says, headings=heads, width="content")
    if not placed.all():
        st.write("Where its points lie the sheet does not say; they are listed as they stand.")
        st.caption(says)
        parts.table(
            table[~placed.to_numpy()],
            {"cell": "Cell", "position": "Point", "written": "As written", "velocity": unit.name, "beyond": "Limit"},
        )


def change(changes: pd.DataFrame, before: dict, about: dict, unit: Unit) -> None:
    says = (
        f"Change at each point since the survey of {day(before['surveyed_on'])} ({plain(before['workbook'])}): mean "
        f"{unit.text(before['face_mean_fpm'])} then, {unit.text(about['face_mean_fpm'])} now."
    )
    names = {"velocity_fpm": "now", "before_fpm": "before", "change_fpm": "change"}
    table = changes.assign(**{name: unit.column(changes[key]).round(3) for key, name in names.items()})
    heads = {"row": "Row", "column": "Column", "cell": "Cell"}
    heads |= {name: f"{name.capitalize()}, {unit.name}" for name in names.values()}
    drawn = change_map(changes, about, unit)
    parts.chart(drawn, table, f"change-{about['survey_id']}", says, headings=heads, width="content")


def cross_drafts(found: surveys.Survey, unit: Unit) -> None:
    draft = found.readings[found.readings["kind"].eq("cross-draft")]
    st.subheader("Cross-drafts")
    if draft.empty:
        st.write("The sheet gives no cross-draft reading.")
        return
    about = found.about
    share = (
        ""
        if missing(about["cross_draft_ratio"])
        else f", {100 * about['cross_draft_ratio']:.0f} % of the mean face velocity"
    )
    strongest = unit.text(about["cross_draft_max_fpm"])
    says = f"The strongest of {count(len(draft), 'reading')} is {strongest}{share}. Dashed: the limits."
    table = draft.assign(
        place=[place_of(row) for row in draft.to_dict("records")], velocity=unit.column(draft["velocity_fpm"]).round(3)
    )
    heads = {
        "place": "Place",
        "cell": "Cell",
        "written": "As written",
        "unit": "Unit",
        "velocity": unit.name,
        "beyond": "Limit",
    }
    parts.chart(
        draft_bars(draft, found.limits, unit), table, f"cross-drafts-{about['survey_id']}", says, headings=heads
    )


def cell_link(found: surveys.Survey, cell: object) -> None:
    if not missing(cell) and cell:
        page = str(st.session_state.get("_page") or "hood")
        address.link(page, f"cell {safe(cell)}", hood=address.given("hood"), survey=found.about["survey_id"], cell=cell)


def source(found: surveys.Survey) -> None:
    """Every figure with its cell, and that part of the sheet as it was handed in."""
    st.subheader("As it was handed in")
    about = found.about
    cells = cells_of(found)
    asked = address.given("cell")
    options = ["the readings", *cells]
    if asked is not None and asked not in options:
        st.warning(f"The survey has nothing from a cell “{safe(asked, 30)}”.")
    chosen = address.choose(
        "Show the part of the sheet with",
        "cell",
        options if asked in options or asked is None else [*options, asked],
        shown=lambda key: cells.get(key, key),
    )
    marked = tuple(found.readings["cell"].dropna().unique()) if chosen == options[0] else (chosen,)
    part = record.ask(
        excerpt, about["workbook_sha256"], about["workbook"], about["sheet"], marked, 2 if chosen == options[0] else 5
    )
    sheet_part(part, f"{about['workbook']}, sheet {about['sheet']}")
    with st.expander("What the form says, field by field"):
        parts.table(found.written, {"name": "What", "written": "As written", "cell": "Cell"})
    if len(found.decisions):
        with st.expander(f"{count(len(found.decisions), 'decision')} on this survey", expanded=True):
            parts.table(found.decisions, {"made_at": "When", "kind": "What", "words": "Words", "made_by": "By"})


def cells_of(found: surveys.Survey) -> dict[str, str]:
    """Every cell that this survey was read from, with what stands there."""
    cells = {}
    for row in found.written.to_dict("records"):
        if not missing(row["cell"]):
            cells[str(row["cell"])] = f"{row['cell']}: {row['name'].lower()}, “{plain(row['written'], 40)}”"
    for row in found.readings.to_dict("records"):
        if not missing(row["cell"]):
            cells[str(row["cell"])] = f"{row['cell']}: {row['kind']} reading, “{plain(row['written'], 40)}”"
    for cell in [*found.findings["cell"].dropna(), *found.discrepancies["cell"].dropna()]:
        cells.setdefault(str(cell), str(cell))
    return cells


def sheet_part(part: Excerpt, name: str) -> None:
    if part.trouble:
        st.warning(safe(part.trouble))
        return
    shown = part.cells.map(lambda value: safe(value, 80) if value else "")
    for row, letter in part.marked:
        if row in shown.index and letter in shown.columns:
            shown.loc[row, letter] = f":blue-background[**{shown.loc[row, letter] or '▢'}**]"
    shown.index = shown.index.map(str)
    st.table(
        shown, border=True, alt=f"Part of {plain(name)} as it was handed in; row numbers and column letters as there"
    )
    st.caption(
        f"{safe(name)}. Marked, in bold: the cells asked for." + (" More lies outside this part." if part.cut else "")
    )
