"""Which surveys belong to which group, looked up once per table and not once per question."""

from __future__ import annotations

from collections.abc import Hashable, Iterable

import numpy as np
import pandas as pd

from auditor.history.drafts.levels import AREAS, ROOM

COLUMN = {level.name: level.group for level in (ROOM, *AREAS)}
NOBODY = np.empty(0, dtype=np.intp)


class Members:
    """The positions, in the frame of `cross_draft_failures`, of the surveys of each group."""

    def __init__(self, table: pd.DataFrame) -> None:
        self.surveys = len(table)
        self._of = {level: table.groupby(column).indices for level, column in COLUMN.items()}

    def of(self, level: str, group: Hashable, rooms: Iterable[str] = ()) -> np.ndarray:
        """Ascending positions of one group's surveys; a neighbourhood's are those of its `rooms`."""
        if level == "neighbourhood":
            parts = [self._of["room"].get(room, NOBODY) for room in rooms]
            return np.sort(np.concatenate([NOBODY, *parts]))
        return self._of[level].get(group, NOBODY)

    def of_each(self, groups: pd.DataFrame) -> list[np.ndarray]:
        """The positions of each row's surveys; `groups` has `level`, `group` and, with neighbourhoods, `rooms`."""
        rooms = groups["rooms"] if "rooms" in groups else [()] * len(groups)
        return [self.of(*one) for one in zip(groups["level"], groups["group"], rooms, strict=True)]

    def inside(self, groups: pd.DataFrame) -> np.ndarray:
        """Booleans: which surveys are in any of the groups."""
        inside = np.zeros(self.surveys, dtype=bool)
        for positions in self.of_each(groups):
            inside[positions] = True
        return inside
