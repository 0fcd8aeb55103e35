"""Which surveys failed for cross-drafts, and where those hoods stand."""

from __future__ import annotations

import pandas as pd

from auditor.history.frames import accepted, place_label, with_register, year_of

CRITERIA = ("cross-draft-absolute", "cross-draft-relative")
JUDGED = ("pass", "restricted", "fail")
FAILED = ("restricted", "fail")
PLACES = {"room": ["building", "floor", "room"], "floor": ["building", "floor"], "building": ["building"]}


def cross_draft_failures(surveys: pd.DataFrame, findings: pd.DataFrame, register: pd.DataFrame) -> pd.DataFrame:
    """The accepted surveys whose cross-draft was judged, with `failed` (restricted or failed by any cross-draft
    criterion), `year`, `expected` (that year's share of failures on the campus) and the labels `room_label`,
    `floor_label`, `building_label`, `air_handler_label` (missing where the place is)."""
    about = findings[findings["criterion"].isin(CRITERIA) & findings["outcome"].isin(JUDGED)]
    failed = about["outcome"].isin(FAILED).groupby(about["survey_id"]).any()
    table = accepted(surveys)
    table = table[table["survey_id"].isin(failed.index) & table["hood_id"].notna() & table["surveyed_on"].notna()]
    table = labelled(table, register).reset_index(drop=True)
    table["failed"] = table["survey_id"].map(failed).astype(bool)
    table["year"] = year_of(table)
    return table.assign(expected=expected(table))


def labelled(surveys: pd.DataFrame, register: pd.DataFrame) -> pd.DataFrame:
    """The surveys with the register's columns and the labels of their places."""
    table = with_register(surveys, register)
    labels = {f"{level}_label": place_label(table, columns) for level, columns in PLACES.items()}
    return table.assign(**labels, air_handler_label=table["air_handler"].astype(object))


def expected(table: pd.DataFrame) -> pd.Series:
    """Each survey's expected failures: the share of its year."""
    return table["failed"].astype(float).groupby(table["year"]).transform("mean")
