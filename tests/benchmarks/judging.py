"""Processor seconds for normalising, matching, computing and judging many surveys, and for a campus's states.

python -m tests.benchmarks.judging [SURVEYS]   (default 50000, each of 20 face readings and 3 cross-drafts)
"""

from __future__ import annotations

import datetime as dt
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from auditor.criteria import judge, load_profiles
from auditor.criteria.states import hood_states
from auditor.survey import compute, match_hoods, normalise
from tests.criteria.builders import survey

FACE, CROSS = 20, 3


def campaign(count: int, hoods: int = 3000) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Surveys, readings and register of an invented campus, as written."""
    rng = np.random.default_rng(7)
    row, readings = survey(f"{FACE}x100", f"{CROSS}x9", shape=(4, 5))
    ids = [f"s{i}" for i in range(count)]
    tags = [f"H-{i}" for i in range(hoods)]
    wide = pd.DataFrame([row]).loc[np.zeros(count, int)].reset_index(drop=True)
    wide = wide.assign(survey_id=ids, hood=[tags[i % hoods] for i in range(count)])
    each = pd.DataFrame(readings)
    many = each.loc[np.tile(np.arange(len(each)), count)].reset_index(drop=True)
    face = (many["kind"] == "face").to_numpy()
    value = np.where(face, rng.normal(98, 9, len(many)), rng.lognormal(2.2, 0.4, len(many))).round(0)
    many = many.assign(survey_id=np.repeat(ids, len(each)), value=value)
    register = pd.DataFrame({"hood_id": tags, "building": "Wren Hall", "room": "1", "hood_type": "general chemical"})
    return wide, many, register


def timed(name: str, work: Callable[[], Any]) -> Any:
    began = time.process_time()
    out = work()
    print(f"{name:12} {time.process_time() - began:6.2f} s")
    return out


def main(count: int) -> None:
    surveys, readings, register = campaign(count)
    profiles = load_profiles()
    surveys, readings = timed("normalise", lambda: normalise(surveys, readings))
    surveys = timed("match", lambda: match_hoods(surveys, register))
    surveys = timed("compute", lambda: compute(surveys, readings))
    j = timed("judge", lambda: judge(surveys, readings, profiles))
    told = surveys.assign(status="accepted", verdict=j.verdicts["verdict"].to_numpy())
    nothing = pd.DataFrame()
    timed("states", lambda: hood_states(register, told, j.verdicts, nothing, nothing, dt.date(2026, 11, 16)))
    print(j.verdicts["verdict"].value_counts().to_string())


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50_000)
