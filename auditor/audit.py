"""The audit itself, on frames: what can be believed, what is held, and what the believed numbers say of each hood.

Pure: frames in, frames out, no file and no store. `auditor.intake` brings the frames and keeps what comes back. The
steps are the same whether surveys have just been read from workbooks or are judged again from the record.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from auditor import codes
from auditor.survey.columns import DISCREPANCIES, IDENTITY
from auditor.survey.keys import discrepancy_ids

if TYPE_CHECKING:
    from auditor.criteria import Profile

# A reading named by one of these cannot be read with certainty: it is left out of the provisional judgement.
DOUBTFUL_READING = frozenset(
    {"unit-missing", "unit-unknown", "unit-mismatch", "reading-implausible", "reading-not-numeric"}
)
NEEDED = {
    "hood": "hood_id",
    "date": "surveyed_on",
    "unit": "unit",
    "sash": "sash_height_in",
    "readings": "face_mean_fpm",
}


@dataclass(frozen=True)
class Terms:
    """What an audit is made under."""

    today: dt.date
    profiles: Mapping[str, Profile]
    default_profile: str = "common-practice"
    campaign: tuple[dt.date, dt.date] | None = None
    severities: Mapping[str, str] = field(default_factory=codes.default_severities)
    instruments: pd.DataFrame | None = None  # what is known of the instruments named, for the uncertainty


@dataclass
class Facts:
    """Surveys as written (frames of `auditor.survey.columns`), what their sheets showed, and what people supplied.

    `problems`: survey_id, workbook, workbook_sha256, sheet, cell, field, code, written, detail.
    `settled`: survey_id, field, value, unit; `value` typed as the field is.
    `released`: discrepancy_ids that a person has accepted.
    """

    surveys: pd.DataFrame
    readings: pd.DataFrame
    problems: pd.DataFrame
    settled: pd.DataFrame | None = None
    released: frozenset[str] = frozenset()


@dataclass
class Audited:
    """The same surveys with everything derived, and the discrepancies, findings and verdicts."""

    surveys: pd.DataFrame
    readings: pd.DataFrame
    discrepancies: pd.DataFrame
    findings: pd.DataFrame
    verdicts: pd.DataFrame


def examine(facts: Facts, register: pd.DataFrame, aliases: Mapping[str, str] | None = None) -> Facts:
    """Settles, normalises, matches the register and computes: everything that one survey shows by itself."""
    from auditor.history.integrity import grid_fingerprint
    from auditor.survey import compute, match_hoods, normalise

    surveys, readings, problems = settle(facts)
    surveys, readings = normalise(surveys, readings)
    surveys = compute(match_hoods(surveys, register, aliases), readings)
    surveys["grid_fingerprint"] = grid_fingerprint(surveys, readings)
    return Facts(surveys, readings, problems, facts.settled, facts.released)


def settle(facts: Facts) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """The facts with what people supplied put in; the sheet's own words (`_written`, `_cell`) stay beside it."""
    surveys, readings, problems = facts.surveys.copy(), facts.readings, facts.problems
    if facts.settled is None or facts.settled.empty:
        return surveys, readings, problems
    for name, rows in facts.settled.groupby("field"):
        values = rows.drop_duplicates("survey_id", keep="last").set_index("survey_id")
        mine = surveys["survey_id"].isin(values.index)
        surveys.loc[mine, name] = surveys.loc[mine, "survey_id"].map(values["value"]).astype(surveys[name].dtype)
        if f"{name}_unit" in surveys:
            surveys.loc[mine, f"{name}_unit"] = surveys.loc[mine, "survey_id"].map(values["unit"])
        if name == "unit":
            readings = readings.copy()
            theirs = readings["survey_id"].isin(values.index)
            readings.loc[theirs, "unit"] = readings.loc[theirs, "survey_id"].map(values["value"])
        answered = problems["survey_id"].isin(values.index) & _about(problems, str(name))
        problems = problems[~answered]
    return surveys, readings, problems


def _about(problems: pd.DataFrame, name: str) -> pd.Series:
    """The problems that a settled value of field `name` answers."""
    about = problems["field"].eq(name)
    return about | problems["code"].str.startswith("unit-") if name == "unit" else about


def doubts(examined: Facts, workbooks: pd.DataFrame, terms: Terms) -> pd.DataFrame:
    """Every discrepancy that a survey or a file shows by itself: of its sheet, and of the data expectations."""
    import expectations

    found = expectations.check(
        examined.surveys, examined.readings, workbooks, problems=examined.problems, severities=terms.severities,
        campaign=terms.campaign, today=terms.today,
    )  # fmt: skip
    return pd.concat([shown(examined.problems, terms.severities), found], ignore_index=True)


def shown(problems: pd.DataFrame, severities: Mapping[str, str]) -> pd.DataFrame:
    """The problems of the sheets in the form of discrepancies, with severity, message and remedy."""
    rows = problems.to_dict("records")
    said = [codes.compose(r["code"], written=r["written"], detail=r["detail"], cell=r["cell"]) for r in rows]
    out = problems.reindex(columns=DISCREPANCIES)
    out["severity"] = [severities.get(r["code"], "hold") for r in rows]
    out["message"], out["remedy"] = [m for m, _ in said], [r for _, r in said]
    return out


@dataclass
class Compared:
    """What shows only beside other surveys. `superseded`: survey_id of a duplicate -> the survey that stands for it."""

    discrepancies: pd.DataFrame
    superseded: dict[str, str]


def touched(mine: pd.DataFrame, peers: pd.DataFrame) -> list[str]:
    """Surveys in the record, not among `mine`, that share an occasion or a grid with one of `mine`: the new survey may
    change how they stand."""
    from auditor.history.integrity.akin import akin

    others = peers[~peers["survey_id"].isin(mine["survey_id"])]
    return list(others.loc[akin(others, mine), "survey_id"])


def joined(mine: Facts, theirs: Facts) -> Facts:
    """Two examined sets of surveys as one."""

    def both(one: pd.DataFrame, other: pd.DataFrame) -> pd.DataFrame:
        return pd.concat([one, other], ignore_index=True)

    return Facts(
        both(mine.surveys, theirs.surveys), both(mine.readings, theirs.readings),
        both(mine.problems, theirs.problems), None, mine.released | theirs.released,
    )  # fmt: skip


def corrections(examined: Facts, found: pd.DataFrame, returned: Collection[str] = ()) -> dict[str, str]:
    """survey_id of a questioned survey -> survey_id of the corrected copy that takes its place. `returned`: SHA-256 of
    workbooks that carry our own list of what was wrong."""
    from auditor.history.integrity.revisions import corrected_copies

    holds = found[found["severity"].eq("hold")]
    return corrected_copies(examined.surveys, examined.readings, holds, returned)


def compare(
    examined: Facts, peers: pd.DataFrame, severities: Mapping[str, str], corrected: Mapping[str, str]
) -> Compared:
    """The examined surveys beside one another and beside `peers`, the surveys in the record: repeated surveys and
    copied grids. `peers` needs the columns COMPARED of `auditor.history.integrity.akin`. Those that a `corrected` copy
    has replaced take no part."""
    from auditor.history.integrity import copied_grids, repeated_surveys
    from auditor.history.integrity.akin import COMPARED

    mine = examined.surveys[~examined.surveys["survey_id"].isin(list(corrected))]
    everyone = pd.concat([mine.reindex(columns=COMPARED), peers.reindex(columns=COMPARED)], ignore_index=True)
    everyone = everyone.drop_duplicates("survey_id", ignore_index=True)
    claims = pd.concat([repeated_surveys(everyone), copied_grids(everyone)], ignore_index=True)
    claims = claims[claims["survey_id"].isin(mine["survey_id"])]
    twins = claims[claims["code"].isna()]
    place = mine.set_index("survey_id")[["workbook", "workbook_sha256", "sheet"]]
    problems = claims[claims["code"].notna()].join(place, on="survey_id")
    problems = problems.reindex(columns=[*IDENTITY[:4], "cell", "field", "code", "written", "detail"])
    replaced = dict(zip(twins["survey_id"], twins["duplicate_of"], strict=True)) | dict(corrected)
    return Compared(shown(problems, severities), replaced)


def judge(
    examined: Facts, discrepancies: pd.DataFrame, terms: Terms, superseded: Mapping[str, str] | None = None
) -> Audited:
    """Status, findings and verdicts. A held survey is judged too, on the readings that can be read: provisionally."""
    import expectations
    from auditor.criteria import judge as judge_hoods

    surveys, readings = examined.surveys.copy(), examined.readings
    known = named(discrepancies, examined.released)
    readable = certain(readings, known[known["state"].eq("open")])
    judgement = judge_hoods(
        surveys, readable, terms.profiles, default=terms.default_profile, instruments=terms.instruments
    )
    verdict = judgement.verdicts.set_index("survey_id")
    for column in ("verdict", "guarded_verdict", "profile", "reason"):
        surveys[column] = surveys["survey_id"].map(verdict[column])
    said = expectations.check_verdicts(surveys, severities=terms.severities)
    discrepancies = named(pd.concat([discrepancies, said], ignore_index=True), examined.released)
    discrepancies.loc[discrepancies["survey_id"].isin(list(superseded or ())), "state"] = "corrected"
    open_holds = discrepancies["severity"].eq("hold") & discrepancies["state"].eq("open")
    held = surveys["survey_id"].isin(discrepancies.loc[open_holds, "survey_id"].dropna())
    surveys["status"] = held.map({True: "held", False: "accepted"})
    surveys.loc[surveys["survey_id"].isin(list(superseded or ())), "status"] = "superseded"
    surveys["hood_id"] = surveys["hood_id"].where(surveys["hood_id"].notna(), surveys["hood"])
    return Audited(surveys, readings, discrepancies, judgement.findings, judgement.verdicts)


def certain(readings: pd.DataFrame, discrepancies: pd.DataFrame) -> pd.DataFrame:
    """The readings without the numbers that cannot be read with certainty (they stay, with no velocity)."""
    doubt = discrepancies[discrepancies["code"].isin(DOUBTFUL_READING) & discrepancies["survey_id"].notna()]
    if doubt.empty:
        return readings
    cells = set(zip(doubt["survey_id"], doubt["cell"], strict=True))
    named_cells = set(zip(readings["survey_id"], readings["cell"], strict=True))
    of_a_cell = [pair in named_cells for pair in zip(doubt["survey_id"], doubt["cell"], strict=True)]
    units = doubt[doubt["code"].str.startswith("unit-") & ~np.array(of_a_cell, dtype=bool)]
    of_drafts = units["field"].eq("cross_draft")
    face = readings["kind"].eq("face")
    hit = face & readings["survey_id"].isin(units.loc[~of_drafts, "survey_id"])
    hit |= ~face & readings["survey_id"].isin(units.loc[of_drafts, "survey_id"])
    hit |= pd.Series(
        [pair in cells for pair in zip(readings["survey_id"], readings["cell"], strict=True)],
        index=readings.index, dtype=bool,
    )  # fmt: skip
    out = readings.copy()
    out.loc[hit, ["velocity_fpm", "bound_fpm"]] = float("nan")
    return out


def named(discrepancies: pd.DataFrame, released: frozenset[str]) -> pd.DataFrame:
    """Each discrepancy once, with its stable id and its state."""
    same = ["survey_id", "workbook_sha256", "sheet", "cell", "field", "code", "written"]
    out = discrepancies.drop_duplicates(same, ignore_index=True)
    out["discrepancy_id"] = discrepancy_ids(out)
    out["state"] = out["discrepancy_id"].isin(released).map({True: "released", False: "open"})
    return out


def missing_needs(surveys: pd.DataFrame) -> dict[str, list[str]]:
    """For each survey_id, which of hood, date, unit, sash and readings are unknown: such a survey needs `settle`."""
    lacks: dict[str, list[str]] = {}
    for word, column in NEEDED.items():
        for survey in surveys.loc[surveys[column].isna(), "survey_id"]:
            lacks.setdefault(survey, []).append(word)
    return lacks
