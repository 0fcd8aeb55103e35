"""What the failing hoods of a cluster share, what that points to, and what to try first."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

import numpy as np
import pandas as pd

from auditor.history.drafts.strongest import strongest_drafts

MOSTLY = 0.75  # this share of the failures counts as 'mostly'
EVIDENCE = 0.05  # chance below which an instrument or a contractor is blamed
SEASONS = {12: "winter", 1: "winter", 2: "winter", 3: "spring", 4: "spring", 5: "spring", 6: "summer", 7: "summer",
           8: "summer", 9: "autumn", 10: "autumn", 11: "autumn"}  # fmt: skip
GUST = 2.0
NEEDED = ["survey_id", "hood_id", "surveyed_on", "failed", "air_handler", "instrument_id", "contractor"]


@dataclass(frozen=True)
class Shared:
    """`text`: what is shared; `remedy`: steps in order; `follows`: 'instrument X' or 'contractor Y' where the failures
    follow it and not the place."""

    text: str = ""
    remedy: str = ""
    follows: str = ""


@lru_cache(maxsize=1)
def texts() -> dict[str, Any]:
    """The sentences and steps of causes.toml."""
    return tomllib.loads(files(__package__).joinpath("causes.toml").read_text(encoding="utf-8"))


def shared_causes(
    table: pd.DataFrame, groups: Iterable[tuple[np.ndarray, str]], readings: pd.DataFrame | None
) -> list[Shared]:
    """What the failures of each group share. `table`: the frame of `cross_draft_failures`; `groups`: the positions of
    a group's surveys in it, and its level. What all groups need of table and readings is looked up once."""
    told = table[[name for name in NEEDED if name in table]].reset_index(drop=True)
    told["season"] = pd.to_datetime(told["surveyed_on"]).dt.month.map(SEASONS)
    failing = told.loc[told["failed"], "survey_id"]
    drafts = None if readings is None or readings.empty else strongest_drafts(failing, readings)
    by_survey = None if drafts is None else drafts.set_index("survey_id")
    found = []
    for positions, level in groups:
        inside = np.zeros(len(told), dtype=bool)
        inside[positions] = True
        found.append(_shared_cause(told, inside, level, by_survey))
    return found


def _shared_cause(table: pd.DataFrame, inside: np.ndarray, level: str, drafts: pd.DataFrame | None) -> Shared:
    """For the surveys `inside` (booleans on `table`): what their failures share.

    An instrument or contractor that explains them comes first, then the air handler (unless that is the level itself),
    the side and direction of the strongest draft, gusts, season, one date."""
    bad = table[inside & table["failed"].to_numpy()]
    if bad.empty:
        return Shared()
    found = [
        *_followed(table, inside, bad),
        *_air_handler(table, inside, bad, level),
        *_drafts(bad, drafts),
        *_season(table[inside], bad),
        *_one_date(bad),
    ]
    causes = [cause for cause, _ in found] or ["nothing"]
    sentences = [_sentence(cause, values) for cause, values in found] or [_sentence("nothing", {})]
    follows = next(
        (f"{cause} {values['value']}" for cause, values in found if cause in ("instrument", "contractor")), ""
    )
    return Shared(" ".join(sentences), _steps(causes), follows)


def _sentence(cause: str, values: dict[str, str]) -> str:
    said = str(texts()["causes"][cause]["said"])
    for name, value in values.items():  # not str.format: a value from a sheet may hold braces
        said = said.replace("{" + name + "}", value)
    return said


def _steps(causes: list[str]) -> str:
    """The steps of all causes, each once, in the order of the trade: cheapest first, face velocity last."""
    wanted = {step for cause in causes for step in texts()["causes"][cause]["remedies"]}
    steps = [text for step, text in texts()["steps"].items() if step in wanted]
    return "; ".join(f"{number}. {text}" for number, text in enumerate(steps, start=1)) + "."


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _followed(table: pd.DataFrame, inside: np.ndarray, bad: pd.DataFrame) -> list[tuple[str, dict[str, str]]]:
    """The instrument or contractor that most failures come from, where it also fails elsewhere, and the place is not
    worse than that (or, with another one, is no worse than the campus)."""
    for name, cause in (("instrument_id", "instrument"), ("contractor", "contractor")):
        if name not in table or bad[name].isna().all():
            continue
        value = bad[name].mode().iloc[0]
        mine = table[name].eq(value).fillna(False).to_numpy(dtype=bool)
        if _explains(table["failed"].to_numpy(dtype=bool), inside, mine):
            share = float(bad[name].eq(value).mean())
            elsewhere = float(table.loc[mine & ~inside, "failed"].mean())
            return [(cause, {"value": str(value), "share": _percent(share), "elsewhere": _percent(elsewhere)})]
    return []


def _explains(failed: np.ndarray, inside: np.ndarray, mine: np.ndarray) -> bool:
    """Whether one instrument (or contractor), `mine`, explains the failures inside. All of: most are its; elsewhere it
    fails more than the others do (Fisher's exact test); inside it fails no more than elsewhere (same test); and with
    others the place fails no more than other places."""
    if (failed & inside & mine).sum() < MOSTLY * (failed & inside).sum():
        return False
    fails_elsewhere = more_often(failed, mine & ~inside, ~mine & ~inside)
    worse_here = more_often(failed, mine & inside, mine & ~inside)
    place_with_others = more_often(failed, ~mine & inside, ~mine & ~inside)
    return fails_elsewhere <= EVIDENCE < min(worse_here, place_with_others)


def more_often(failed: np.ndarray, here: np.ndarray, there: np.ndarray) -> float:
    """One-sided Fisher p that the surveys `here` fail more often than those `there`; 1 where either is empty."""
    from scipy.stats import hypergeom

    n_here, n_there = int(here.sum()), int(there.sum())
    if not n_here or not n_there:
        return 1.0
    bad_here, bad_there = int((failed & here).sum()), int((failed & there).sum())
    return float(hypergeom.sf(bad_here - 1, n_here + n_there, bad_here + bad_there, n_here))


def _air_handler(
    table: pd.DataFrame, inside: np.ndarray, bad: pd.DataFrame, level: str
) -> list[tuple[str, dict[str, str]]]:
    """The air handler of most failing hoods, where its hoods outside the group fail more than others too (or it has
    none); for a room whose air handler is quiet elsewhere, that the cause is in the room."""
    known = bad["air_handler"].dropna()
    if known.empty:
        return []
    value, share = known.mode().iloc[0], float(known.eq(known.mode().iloc[0]).sum() / len(bad))
    if level == "air handler":
        return [("air_handler", {"value": str(value)})]
    if share < MOSTLY:
        return []
    supplied = table["air_handler"].eq(value).fillna(False).to_numpy(dtype=bool)
    elsewhere = supplied & ~inside
    failed = table["failed"].to_numpy(dtype=bool)
    if elsewhere.any() and more_often(failed, elsewhere, ~supplied & ~inside) > EVIDENCE:
        quiet = {"value": str(value), "elsewhere": _percent(float(failed[elsewhere].mean()))}
        return [("room_itself", quiet)] if level in ("room", "neighbourhood") else []
    if bad["hood_id"].nunique() < 2:
        return []
    cause = "air_handler" if share == 1.0 else "air_handler_mostly"
    return [(cause, {"value": str(value), "share": _percent(share)})]


def _drafts(bad: pd.DataFrame, drafts: pd.DataFrame | None) -> list[tuple[str, dict[str, str]]]:
    """`drafts`: the frame of `strongest_drafts`, on `survey_id`."""
    if drafts is None:
        return []
    drafts = drafts[drafts.index.isin(bad["survey_id"])]
    found = []
    for column, section in (("position", "positions"), ("direction", "directions")):
        known = drafts[column].dropna()
        if len(known) >= max(2, len(bad) / 2):
            value, share = known.mode().iloc[0], float(known.value_counts(normalize=True).iloc[0])
            cause = texts()[section][value]["cause"]
            if share >= MOSTLY and not (section == "positions" and cause == "direction"):
                found.append((cause, {"value": value, "share": _percent(share)}))
    gusty = drafts["ratio_to_mean"].dropna()
    if len(gusty) >= 2 and (gusty >= GUST).mean() >= MOSTLY:
        found.append(("gusts", {"share": _percent(float((gusty >= GUST).mean()))}))
    return found


def _season(here: pd.DataFrame, bad: pd.DataFrame) -> list[tuple[str, dict[str, str]]]:
    """The season of most failures, where the surveys themselves fall into several."""
    seasons = here["season"]
    failing = seasons.loc[bad.index]
    value, share = failing.mode().iloc[0], float(failing.value_counts(normalize=True).iloc[0])
    usual = float(seasons.eq(value).mean())
    outside = more_often(
        here["failed"].to_numpy(dtype=bool), seasons.eq(value).to_numpy(), seasons.ne(value).to_numpy()
    )
    if share >= MOSTLY and outside <= EVIDENCE:
        return [("season", {"value": value, "share": _percent(share), "elsewhere": _percent(usual)})]
    return []


def _one_date(bad: pd.DataFrame) -> list[tuple[str, dict[str, str]]]:
    dates = pd.to_datetime(bad["surveyed_on"]).dt.strftime("%Y-%m-%d")
    share = float(dates.value_counts(normalize=True).iloc[0])
    if len(bad) >= 3 and share >= MOSTLY:
        return [("occasion", {"value": dates.mode().iloc[0], "share": _percent(share)})]
    return []
