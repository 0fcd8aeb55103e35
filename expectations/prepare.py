"""Lays the columns ready that the suites look at: one plain column for each expectation, vectorised.

Booleans are never missing: what is not due is True. A quantity is NaN where there is nothing to compare; that nothing
is there is a completeness check of its own. A column that must be 'present' has a stand-in where it is not due.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from expectations.errors import need
from expectations.limits import CALIBRATION_MONTHS, EARLIEST, LENGTH_SLACK_IN, TALLEST_SASH_IN
from expectations.places import same_place
from expectations.readings import add_per_survey
from expectations.reported import add_reported

if TYPE_CHECKING:
    import pandas as pd

NOT_DUE = "(not due)"
Campaign = tuple[dt.date | None, dt.date | None]

NEEDED = [
    "survey_id", "workbook", "workbook_sha256", "sheet", "hood_id",
    *(f"{f}{part}" for f in (
        "hood", "building", "floor", "room", "surveyed_on", "sash_height", "opening_width", "opening_height", "unit",
        "smoke_local", "smoke_gross", "instrument_id", "instrument_kind", "calibrated_on", "calibration_due",
        "reported_mean", "reported_min", "reported_max",
    ) for part in ("", "_written", "_cell")),
    "smoke_local_grade", "smoke_gross_grade",
    "sash_height_in", "opening_width_in", "opening_height_in", "opening_area_ft2", "face_points", "face_mean_fpm",
    "face_min_fpm", "face_max_fpm", "reported_mean_unit", "reported_min_unit", "reported_max_unit",
    *(f"register_{name}" for name in (
        "building", "floor", "room", "opening_width_in", "opening_height_in", "working_sash_in", "installed_on",
        "sash_type",
    )),
]  # fmt: skip


def filled(values: pd.Series) -> pd.Series:
    """True where there is something: not missing and not merely blanks."""
    there = values.notna()
    return there & (values.astype(object).where(there, "").astype(str).str.strip() != "")


def prepare_surveys(
    surveys: pd.DataFrame, readings: pd.DataFrame, problems: pd.DataFrame | None, today: dt.date, campaign: Campaign
) -> pd.DataFrame:
    """`surveys` with the helper columns of `suites.SURVEY_CHECKS` beside its own.

    `readings` are those of these surveys as `readings.prepare_readings` gives them; `problems` has survey_id, code and
    field of what the sheets room has said already: of a fact it has spoken about, absence is not reported again.
    """
    import pandas as pd

    need(surveys, NEEDED, "surveys")
    p = surveys.copy()
    numbers = [name for name in NEEDED if name.endswith(("_in", "_ft2", "_fpm")) or name == "face_points"]
    p[numbers] = p[numbers].apply(pd.to_numeric)
    said = _said(p, problems)
    _add_identity(p, said)
    _add_dates(p, said, today, campaign)
    add_per_survey(p, readings, problems)
    _add_lengths(p, said)
    _add_visit(p, said)
    _add_calibration(p, said)
    return add_reported(p, readings)


def _said(p: pd.DataFrame, problems: pd.DataFrame | None) -> dict[str, pd.Series]:
    """For each field, whether the sheets room has already reported a problem with it (a mask over the surveys)."""
    import pandas as pd

    fields = ("hood", "surveyed_on", "sash_height", "smoke_local", "smoke_gross", "calibrated_on", "calibration_due",
              "instrument_id")  # fmt: skip
    codes = {"hood": "hood-missing", "surveyed_on": "date-missing", "sash_height": "sash-missing"}
    if problems is None or problems.empty:
        return {name: pd.Series(False, index=p.index) for name in fields}
    about = {
        name: problems.loc[(problems["field"] == name) | (problems["code"] == codes.get(name)), "survey_id"]
        for name in fields
    }
    return {name: p["survey_id"].isin(ids.dropna()) for name, ids in about.items()}


def _add_identity(p: pd.DataFrame, said: dict[str, pd.Series]) -> None:
    named, known = filled(p["hood"]), filled(p["hood_id"])
    p["hood_known"] = known
    p["hood_named"] = p["hood"].where(named, None).mask(said["hood"] | known, NOT_DUE)
    p["hood_registered"] = p["hood_id"].where(known, None).mask(~named, NOT_DUE)
    for name in ("building", "floor", "room"):
        p[f"{name}_agrees"] = same_place(p[name], p[f"register_{name}"], p["register_building"])


def _days(later: pd.Series, earlier: pd.Series | pd.Timestamp) -> pd.Series:
    return (later - earlier).dt.days.astype(float)


def _date(values: pd.Series) -> pd.Series:
    import pandas as pd

    return pd.to_datetime(values, errors="raise").astype("datetime64[s]").dt.normalize()


def _add_dates(p: pd.DataFrame, said: dict[str, pd.Series], today: dt.date, campaign: Campaign) -> None:
    import pandas as pd

    for name in ("surveyed_on", "calibrated_on", "calibration_due", "register_installed_on"):
        p[name] = _date(p[name])
    day, (start, end) = p["surveyed_on"], campaign
    p["date_given"] = day.astype(object).where(day.notna(), None).mask(said["surveyed_on"], NOT_DUE)
    p["days_after_today"] = _days(day, pd.Timestamp(today))
    p["days_after_earliest"] = _days(day, pd.Timestamp(EARLIEST))
    p["days_after_installation"] = _days(day, p["register_installed_on"])
    p["days_into_campaign"] = float("nan") if start is None else _days(day, pd.Timestamp(start))
    p["days_after_campaign"] = float("nan") if end is None else _days(day, pd.Timestamp(end))


def _add_lengths(p: pd.DataFrame, said: dict[str, pd.Series]) -> None:
    sash, sash_type = (
        p["sash_height_in"],
        p["register_sash_type"].astype(object).where(p["register_sash_type"].notna(), ""),
    )
    p["sash_due"] = ~sash_type.astype(str).str.strip().str.casefold().isin(["horizontal", "none"])
    p["sash_given"] = sash.mask(said["sash_height"] | ~p["sash_due"], 1.0)
    opening = p[["opening_height_in", "register_opening_height_in"]].max(axis=1)
    p["sash_above_opening_in"] = sash - opening
    # A height that cannot be right is compared with nothing else.
    sane = (sash > 0) & (sash <= TALLEST_SASH_IN) & ~(p["sash_above_opening_in"] > LENGTH_SLACK_IN)
    p["sash_off_in"] = (sash - p["register_working_sash_in"]).where(sane)
    p["opening_width_off_in"] = p["opening_width_in"] - p["register_opening_width_in"]
    # Many sheets give as the opening's height that of the sash at the test: that is no other opening.
    heights = (sash, p["register_working_sash_in"])
    at_test = sum((p["opening_height_in"] - height).abs() <= LENGTH_SLACK_IN for height in heights) > 0
    p["opening_height_off_in"] = (p["opening_height_in"] - p["register_opening_height_in"]).mask(at_test)
    # The airflow needs the width, and the sash height or, where there is no sash to speak of, the opening's height.
    width = p["opening_width_in"].fillna(p["register_opening_width_in"])
    height = sash.fillna(opening).mask(p["sash_due"] & sash.isna(), 1.0)
    p["opening_known"] = (width * height).mask(~p["hood_known"], 1.0)
    area = p["opening_area_ft2"].where(sane | sash.isna())
    p["cell_area_ft2"] = area / p["face_cells"].where(p["face_cells"] > 0)


def _add_visit(p: pd.DataFrame, said: dict[str, pd.Series]) -> None:
    # A grade is missing where nothing was written, and where the words say that the test was not done.
    smoke = p["smoke_local_grade"].notna() | p["smoke_gross_grade"].notna()
    smoke |= said["smoke_local"] | said["smoke_gross"]
    p["smoke_observed"] = smoke.astype(object).where(smoke, None)
    for name in ("smoke_local", "smoke_gross"):
        p[f"{name}_plain"] = p[f"{name}_grade"] != "unclear"
    named = filled(p["instrument_id"]) | said["instrument_id"]
    p["instrument_named"] = named.astype(object).where(named, None)
    kind = p["instrument_kind"].astype(object).where(p["instrument_kind"].notna(), "").astype(str).str.casefold()
    p["suits_face"] = ~(kind.str.contains("pitot", regex=False) & (p["face_filled"] > 0))
    p["suits_drafts"] = ~(kind.str.contains(r"\bvane\b", regex=True) & (p["draft_filled"] > 0))


def _add_calibration(p: pd.DataFrame, said: dict[str, pd.Series]) -> None:
    import pandas as pd

    # A day that cannot be right says nothing of a calibration; once it is mended, this is asked again.
    wrong = (p["days_after_today"] > 0) | (p["days_after_earliest"] < 0) | (p["days_after_installation"] < 0)
    day, done, due = p["surveyed_on"].mask(wrong), p["calibrated_on"], p["calibration_due"]
    dated = done.notna() | due.notna() | said["calibrated_on"] | said["calibration_due"]
    p["calibration_dated"] = dated.astype(object).where(dated, None)
    p["days_past_due"] = _days(day, due)
    p["days_before_calibration"] = _days(done, day)
    customary = done + pd.DateOffset(months=CALIBRATION_MONTHS)
    p["days_past_customary"] = _days(day, customary).mask(due.notna() | said["calibration_due"])
