"""The groups looked at on each level, and the units that the reference moves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.history.drafts.reference import chances, log_likelihood_ratio


@dataclass(frozen=True)
class Level:
    """One level: the column that names its groups, and the columns whose combinations are the units."""

    name: str
    group: str
    unit: tuple[str, ...]


ROOM = Level("room", "room_label", ("room_label", "hood_id"))
# In order of preference where two cover the same failures: an air handler can be mended, a floor cannot.
AREAS = (
    Level("air handler", "air_handler_label", ("air_handler_label", "room_label")),
    Level("floor", "floor_label", ("floor_label", "room_label")),
    Level("building", "building_label", ("building_label", "room_label")),
)


def looked_at(table: pd.DataFrame, level: Level, rng: np.random.Generator) -> pd.DataFrame:
    """Every group of a level: `level`, `group`, `surveys`, `failures`, `expected`, `units`, `ratio`, `p_value`.

    `table`: the frame of `cross_draft_failures` (or part of it). Surveys whose place is missing are in no group but in
    the pool."""
    placed = table.assign(failed=table["failed"].astype(float))
    keys = placed[list(level.unit)].astype("string").fillna("")
    units = placed.groupby([keys[name] for name in level.unit], sort=True)[["failed", "expected"]].sum()
    groups = placed.dropna(subset=[level.group]).groupby(level.group, sort=True)
    found = groups.agg(surveys=("failed", "size"), failures=("failed", "sum"), expected=("expected", "sum"))
    found["units"] = units.groupby(level=0).size().reindex(found.index.astype(str)).to_numpy()
    total, total_expected = float(units["failed"].sum()), float(units["expected"].sum())
    found["ratio"] = log_likelihood_ratio(
        found["failures"].to_numpy(), found["expected"].to_numpy(), total, total_expected
    )
    found["p_value"] = chances(
        found["ratio"].to_numpy(), found["units"].to_numpy(), units["failed"].to_numpy(),
        units["expected"].to_numpy(), rng,
    )  # fmt: skip
    return found.reset_index(names="group").assign(level=level.name)
