"""Lays ready what is expected of readings, and what a survey's readings say about the survey."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

from expectations.limits import (
    DRAFT_WINDOW_FPM,
    FACE_FLOOR_FPM,
    FACE_STRAY_FPM,
    FACE_WINDOW_FPM,
    INSTRUMENT_UNITS,
    fpm_per_unit,
)

if TYPE_CHECKING:
    import pandas as pd

NEEDED = [
    "survey_id", "workbook", "workbook_sha256", "sheet", "cell", "kind", "row", "column", "position", "pass_number",
    "written", "value", "outcome", "bound", "unit", "velocity_fpm",
]  # fmt: skip
NUMERIC = ("number", "coerced")
_ADDRESS = re.compile(r"([A-Z]{1,3})(\d+)")


def prepare_readings(readings: pd.DataFrame, surveys: pd.DataFrame) -> pd.DataFrame:
    """`readings` with the helper columns of `suites.READING_CHECKS` that one reading alone can tell."""
    import pandas as pd

    r = readings.copy()
    numbers = ["value", "bound", "velocity_fpm"]
    r[numbers] = r[numbers].apply(pd.to_numeric)
    face, numeric = r["kind"] == "face", r["outcome"].isin(NUMERIC)
    r["survey_known"] = r["survey_id"].isin(surveys["survey_id"])
    r["number_there"] = r["value"].where(numeric, r["bound"].where(r["outcome"] == "censored", 0.0))
    blank = r["outcome"] == "blank"
    # A grid or a row of points that is blank throughout is one thing that is missing, not many.
    some = (~blank).groupby([r["survey_id"], r["kind"]]).transform("any").astype(bool) if len(r) else ~blank
    r["point_filled"] = ~(blank & face & some)
    r["draft_point_filled"] = ~(blank & ~face & some)
    r["is_numeric"] = r["outcome"] != "not-numeric"
    r["not_coerced"] = r["outcome"] != "coerced"
    r["not_censored"] = r["outcome"] != "censored"
    r["speed"] = r["value"].where(numeric)
    r["face_speed_fpm"] = r["velocity_fpm"].where(numeric & face)
    flow = r["speed"].where(face).gt(0).groupby(r["survey_id"]).transform("any").astype(bool) if len(r) else face
    r["flows_like_the_rest"] = ~(face & numeric & (r["value"] == 0) & flow)
    median = r["face_speed_fpm"].groupby(r["survey_id"]).transform("median") if len(r) else r["face_speed_fpm"]
    stray = r["face_speed_fpm"].gt(0) & r["face_speed_fpm"].lt(FACE_STRAY_FPM) & median.ge(FACE_WINDOW_FPM[0])
    r["in_the_grids_unit"] = ~stray
    return r


def silence_misfits(r: pd.DataFrame, misfits: set[tuple[str, str]]) -> pd.DataFrame:
    """Without an opinion on the size of readings whose unit is wrong: (survey_id, kind) pairs."""
    if not misfits or r.empty:
        return r
    keys = zip(r["survey_id"], r["kind"], strict=True)
    r["face_speed_fpm"] = r["face_speed_fpm"].mask([key in misfits for key in keys])
    return r


def add_per_survey(p: pd.DataFrame, r: pd.DataFrame, problems: pd.DataFrame | None) -> None:
    """Adds to the surveys what their readings say: counts, units, and whether the numbers fit their unit."""
    face, draft = r[r["kind"] == "face"], r[r["kind"] != "face"]
    _add_counts(p, face, draft)
    p["face_units"] = _each(p, face.loc[_valued(face)].groupby("survey_id")["unit"].nunique())
    converted = r["velocity_fpm"].notna() | r["value"].isna() | r["unit"].isna()
    p["unconverted"] = _each(p, (~converted).groupby(r["survey_id"]).sum())
    p["face_median_fpm"] = p["survey_id"].map(face.groupby("survey_id")["velocity_fpm"].median()).astype(float)
    p["face_unit"] = p["survey_id"].map(face.groupby("survey_id")["unit"].first())
    p["face_fits_unit"] = _face_fits(p["face_median_fpm"], p["face_unit"])
    p["draft_low_fpm"], p["draft_high_fpm"] = _draft_range(p, draft)
    low, high = DRAFT_WINDOW_FPM
    p["draft_fits_unit"] = ~((p["draft_high_fpm"] < low) | (p["draft_low_fpm"] > high)) | ~p["face_fits_unit"]
    _silence_said(p, problems)


def _each(p: pd.DataFrame, counts: pd.Series) -> pd.Series:
    return p["survey_id"].map(counts).fillna(0).astype(float)


def _valued(r: pd.DataFrame) -> pd.Series:
    return r["value"].notna() | r["bound"].notna()


def _add_counts(p: pd.DataFrame, face: pd.DataFrame, draft: pd.DataFrame) -> None:
    for name, some in (("face", face), ("draft", draft)):
        p[f"{name}_filled"] = _each(p, (some["outcome"] != "blank").groupby(some["survey_id"]).sum())
        without = _valued(some) & some["unit"].isna()
        p[f"{name}_without_unit"] = _each(p, without.groupby(some["survey_id"]).sum())
    first = face[face["pass_number"].fillna(1) == 1]
    p["face_cells"] = _each(p, first.groupby("survey_id").size())
    lacking = ~face["outcome"].isin(NUMERIC) | face["velocity_fpm"].isna()
    p["face_complete"] = (p["face_cells"] > 0) & (_each(p, lacking.groupby(face["survey_id"]).sum()) == 0)


def _face_fits(median_fpm: pd.Series, unit: pd.Series) -> pd.Series:
    """False where the median of the face grid cannot be in its unit. A grid that stands still fits any unit."""
    low, high = FACE_WINDOW_FPM
    as_written = median_fpm / unit.map(fpm_per_unit()).astype(float)
    elsewhere = median_fpm.isna() & False
    for other in INSTRUMENT_UNITS:
        elsewhere |= (as_written * fpm_per_unit()[other]).between(low, high)
    return ~((median_fpm > 0) & (median_fpm < FACE_FLOOR_FPM)) & ~((median_fpm > high) & elsewhere)


def _draft_range(p: pd.DataFrame, draft: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    moving = draft[draft["velocity_fpm"] > 0].groupby("survey_id")["velocity_fpm"]
    return p["survey_id"].map(moving.min()).astype(float), p["survey_id"].map(moving.max()).astype(float)


def _silence_said(p: pd.DataFrame, problems: pd.DataFrame | None) -> None:
    """What the sheets room has said of units and of unread grids is not said again."""
    if problems is None or problems.empty:
        return
    codes = problems["code"]
    unit = p["survey_id"].isin(problems.loc[codes.isin(["unit-unknown", "unit-missing", "unit-mismatch"]), "survey_id"])
    for name in ("face_without_unit", "draft_without_unit", "face_units", "unconverted"):
        p[name] = p[name].mask(unit, 0.0)
    unread = codes.isin(["layout-not-recognised", "layout-ambiguous", "readings-missing"])
    absent = p["survey_id"].isin(problems.loc[unread, "survey_id"])
    p["face_filled"] = p["face_filled"].mask(absent & (p["face_filled"] == 0), 1.0)
    layout = p["survey_id"].isin(problems.loc[unread & (codes != "readings-missing"), "survey_id"])
    p["draft_filled"] = p["draft_filled"].mask(layout & (p["draft_filled"] == 0), 1.0)


def spans(r: pd.DataFrame, surveys: pd.Series, kind: str, without_unit: bool) -> list[str | None]:
    """For each of these survey_ids the range of its readings of one kind, or of those of them without a unit."""
    some = r[(r["kind"] == kind) & r["survey_id"].isin(surveys)]
    if without_unit:
        some = some[_valued(some) & some["unit"].isna()]
    cells = {name: span(rows) for name, rows in some.groupby("survey_id")["cell"]}
    return [cells.get(name) for name in surveys]


def span(cells: Iterable[str]) -> str:
    """The smallest range that holds all of these cells, 'B4:D6'; the first of them where one is no address."""
    cells = [str(cell) for cell in cells]
    found = [_ADDRESS.fullmatch(cell) for cell in cells]
    if not found or not all(found):
        return next((cell for cell in cells if cell), "")
    columns = sorted({match[1] for match in found if match}, key=lambda name: (len(name), name))
    rows = sorted({int(match[2]) for match in found if match})
    first, last = f"{columns[0]}{rows[0]}", f"{columns[-1]}{rows[-1]}"
    return first if first == last else f"{first}:{last}"
