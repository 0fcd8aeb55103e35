"""One survey: every figure with the cell it came from, and what was found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from auditor.answers.limits import limit_of, limit_rows, profile_named

if TYPE_CHECKING:
    from auditor.criteria import Profile
    from auditor.store.store import Store

# What a reader asks of a survey, in the order in which a form has it: field as written -> its name on screen.
FIELDS = {
    "hood": "Hood", "surveyed_on": "Surveyed on", "contractor": "Contractor", "surveyor": "Surveyor",
    "instrument_id": "Instrument", "instrument_kind": "Kind of instrument", "calibrated_on": "Calibrated on",
    "calibration_due": "Calibration due", "unit": "Unit of the readings", "sash_height": "Sash height",
    "opening_width": "Opening width", "opening_height": "Opening height", "smoke_local": "Smoke, small source",
    "smoke_gross": "Smoke, large volume", "monitor": "Monitor", "tracer": "Tracer gas",
    "operating_mode": "Operating mode", "reported_mean": "Mean as reported", "reported_verdict": "Verdict as reported",
    "observations": "Observations",
}  # fmt: skip


@dataclass(frozen=True)
class Survey:
    """`about`: its row of `surveys`; `reason`: why its verdict is what it is; `readings`: the contract's columns and
    `deviation_percent` (from the mean of the grid), `beyond` (which limit of the profile it breaks, in words, else '');
    `written`: field, name, written, cell; `findings` (with `title`), `discrepancies`, `decisions`: its own; `limits`:
    its profile's, those that are a share of the mean with what that is here (`limits_at`)."""

    about: dict[str, Any]
    reason: str
    readings: pd.DataFrame
    written: pd.DataFrame
    findings: pd.DataFrame
    discrepancies: pd.DataFrame
    decisions: pd.DataFrame
    limits: pd.DataFrame
    profile: str


def survey(store: Store, survey_id: str) -> Survey | None:
    """The survey of that key; None where the record has none."""
    found = store.table("surveys", survey_id=survey_id)
    if found.empty:
        return None
    about = {str(name): None if pd.isna(value) else value for name, value in found.iloc[0].items()}
    profile = profile_named(about["profile"])
    verdict = store.table("verdicts", survey_id=survey_id)
    return Survey(
        about=about,
        reason=str(verdict["reason"].iloc[0] or "") if len(verdict) and pd.notna(verdict["reason"].iloc[0]) else "",
        readings=marked(store.table("readings", survey_id=survey_id), about, profile),
        written=_written(store, survey_id),
        findings=_findings(store, survey_id),
        discrepancies=store.table("discrepancies", survey_id=survey_id),
        decisions=_decisions(store, survey_id),
        limits=limits_at(limit_rows(profile), about["face_mean_fpm"]),
        profile=profile.title,
    )


def _findings(store: Store, survey_id: str) -> pd.DataFrame:
    """The survey's findings with each criterion's `title`, the gravest first."""
    from auditor.criteria.loading import criteria

    table = store.table("findings", survey_id=survey_id)
    titles = {name: entry["title"] for name, entry in criteria().items()}
    grave = {"fail": 0, "restricted": 1, "not judged": 2, "pass": 3}
    table = table.assign(
        title=table["criterion"].map(titles).fillna(table["criterion"]), _g=table["outcome"].map(grave)
    )
    return table.sort_values(["_g", "criterion"], kind="stable", ignore_index=True).drop(columns="_g")


def _decisions(store: Store, survey_id: str) -> pd.DataFrame:
    """made_at, kind, words, made_by: what people decided about the survey, in their words."""
    table = store.decisions([survey_id])
    words = [_decided(detail) for detail in table["detail"]]
    return table.assign(words=pd.Series(words, index=table.index, dtype=object))[
        ["made_at", "kind", "words", "made_by"]
    ]


def _decided(detail: dict[str, Any]) -> str:
    if "values" in detail:
        supplied = ", ".join(f"{name}: {value}" for name, value in detail["values"].items())
        return f"{supplied} (known by: {detail.get('evidence', '')})"
    return str(detail.get("reason", ""))


def limits_at(limits: pd.DataFrame, mean_fpm: float | None) -> pd.DataFrame:
    """Rows of `limit_rows`; `value_fpm` of a cross-draft's share of the mean is that share of this survey's mean."""
    share = limits["criterion"].eq("cross-draft-relative") & limits["value"].notna()
    mean = float("nan") if mean_fpm is None else float(mean_fpm)
    return limits.assign(value_fpm=limits["value_fpm"].where(~share, limits["value"].astype(float) / 100 * mean))


def grid_before(store: Store, survey_id: str) -> tuple[pd.DataFrame, dict[str, Any]]:
    """The survey's placed face readings beside those of the hood's last accepted survey before it with the same grid:
    row, column, cell, velocity_fpm, before_fpm, change_fpm; and that survey's row. Empty where there is none."""
    columns = ["row", "column", "cell", "velocity_fpm", "before_fpm", "change_fpm"]
    about = store.table("surveys", survey_id=survey_id)
    nothing: tuple[pd.DataFrame, dict[str, Any]] = (pd.DataFrame(columns=columns), {})
    if about.empty or pd.isna(about["hood_id"].iloc[0]) or pd.isna(about["surveyed_on"].iloc[0]):
        return nothing
    now = about.iloc[0]
    others = store.table("surveys", hood_id=now["hood_id"], status="accepted")
    same = others["grid_rows"].eq(now["grid_rows"]) & others["grid_columns"].eq(now["grid_columns"])
    earlier = others[same & others["surveyed_on"].lt(now["surveyed_on"])].sort_values("surveyed_on")
    if earlier.empty:
        return nothing
    before = earlier.iloc[-1]
    new, old = (_placed(store, str(key)) for key in (survey_id, before["survey_id"]))
    joined = new.merge(old, on=["row", "column"], how="left", suffixes=("", "_old"))
    joined = joined.rename(columns={"velocity_fpm_old": "before_fpm"})
    table = joined.assign(change_fpm=joined["velocity_fpm"] - joined["before_fpm"])[columns]
    return table, {str(name): None if pd.isna(value) else value for name, value in before.items()}


def _placed(store: Store, survey_id: str) -> pd.DataFrame:
    """The face readings with a place, repeated passes averaged."""
    table = store.table("readings", survey_id=survey_id, kind="face")
    table = table[table["row"].notna() & table["column"].notna()].astype({"velocity_fpm": float})
    return table.groupby(["row", "column"], as_index=False).agg(
        cell=("cell", "first"), velocity_fpm=("velocity_fpm", "mean")
    )


def marked(readings: pd.DataFrame, about: dict[str, Any], profile: Profile) -> pd.DataFrame:
    """The readings with `deviation_percent` (face, from the survey's mean) and `beyond`."""
    face = readings["kind"].eq("face")
    velocity = readings["velocity_fpm"].astype(float)
    mean = float(about["face_mean_fpm"]) if about["face_mean_fpm"] else float("nan")
    deviation = (100 * (velocity - mean) / mean).where(face) if mean else pd.Series(float("nan"), index=readings.index)
    beyond = pd.Series("", index=readings.index, dtype=object)
    beyond = _note(beyond, face & _broken(velocity, profile, "face-point-low"), "below the lowest point allowed")
    beyond = _note(beyond, face & _broken(velocity, profile, "face-point-high"), "above the highest point allowed")
    beyond = _note(beyond, face & _broken(deviation.abs(), profile, "face-point-spread"), "uneven")
    beyond = _note(
        beyond, ~face & _broken(velocity.abs(), profile, "cross-draft-absolute"), "above the cross-draft limit"
    )
    share = 100 * velocity.abs() / mean if mean else velocity * float("nan")
    beyond = _note(beyond, ~face & _broken(share, profile, "cross-draft-relative"), "above its share of the mean")
    return readings.assign(deviation_percent=deviation, beyond=beyond)


def _broken(values: pd.Series, profile: Profile, criterion: str) -> pd.Series:
    """Which values are outside the pass grade of a criterion; velocities are compared in the limit's own unit."""
    from auditor.survey.units import VELOCITY, convert

    limit = limit_of(profile, criterion)
    if limit is None or limit.passes is None or (criterion == "face-point-spread" and limit.of != "mean"):
        return pd.Series(False, index=values.index)
    own = pd.Series(convert(values, "ft/min", limit.unit), index=values.index) if limit.unit in VELOCITY else values
    bound = limit.passes
    if limit.side == "low":
        return own.le(bound.value) if bound.strict else own.lt(bound.value)
    return own.ge(bound.value) if bound.strict else own.gt(bound.value)


def _note(said: pd.Series, where: pd.Series, words: str) -> pd.Series:
    joined = said.where(said.eq(""), said + "; ") + words
    return said.where(~where, joined)


def _written(store: Store, survey_id: str) -> pd.DataFrame:
    """What the sheet says, field by field, each with its cell."""
    facts, _ = store.facts([survey_id])
    columns = ["field", "name", "written", "cell"]
    if facts.empty:
        return pd.DataFrame(columns=columns)
    row = facts.iloc[0]
    said = [(key, name, row.get(f"{key}_written"), row.get(f"{key}_cell")) for key, name in FIELDS.items()]
    table = pd.DataFrame(said, columns=columns)
    return table[table["written"].notna() | table["cell"].notna()].reset_index(drop=True)
