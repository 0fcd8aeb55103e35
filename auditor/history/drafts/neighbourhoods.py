"""Neighbourhoods: circles of rooms on a floor plan, scanned for the one that stands out most."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from auditor.history.drafts.reference import highest_of_any_set, log_likelihood_ratio
from auditor.history.frames import SEPARATOR, hoods

FEWEST_ROOMS = 4  # on a floor, for a part of it to mean anything
ROUNDS = (199, 1_999, 19_999)  # draws; the next only while fewer than ENOUGH exceed
ENOUGH = 10
AT_ONCE = 500
Reaching = Callable[[np.ndarray, np.ndarray, float], int]


def neighbourhoods(table: pd.DataFrame, register: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Per floor with places (`x_ft`, `y_ft` in the register) the circle of rooms with the highest ratio.

    Circles: each room with its nearest 1, 2 ... others, up to half of the floor's rooms. p: how often rooms drawn from
    the whole campus into the same places give as high a maximum; so the search among circles is paid for. Columns as
    `levels.looked_at`, `group` 'building / floor / around ROOM (N rooms)', and `rooms`, the tuple of room labels.
    """
    rooms = _rooms(table, register)
    pool = rooms[["failed", "expected"]].to_numpy(dtype=float)
    found = []
    for floor, part in rooms.dropna(subset=["x_ft", "y_ft", "floor_label"]).groupby("floor_label", sort=True):
        if FEWEST_ROOMS <= len(part) < len(rooms):
            found.append(_scanned(str(floor), part, pool, rng))
    columns = ["group", "surveys", "failures", "expected", "units", "ratio", "p_value", "level", "rooms"]
    return pd.DataFrame(found, columns=columns)


def _rooms(table: pd.DataFrame, register: pd.DataFrame) -> pd.DataFrame:
    places = hoods(register)[["x_ft", "y_ft"]].apply(pd.to_numeric, errors="coerce")
    placed = table.dropna(subset=["room_label"]).join(places, on="hood_id")
    placed = placed.assign(failed=placed["failed"].astype(float), surveys=1)
    how = {"failed": "sum", "expected": "sum", "surveys": "sum", "x_ft": "mean", "y_ft": "mean", "floor_label": "first"}
    return placed.groupby("room_label", sort=True).agg(how)


def _scanned(floor: str, part: pd.DataFrame, pool: np.ndarray, rng: np.random.Generator) -> dict[str, object]:
    circles, centres = _circles(part[["x_ft", "y_ft"]].to_numpy(dtype=float))
    total, total_expected = float(pool[:, 0].sum()), float(pool[:, 1].sum())

    def ratios(failed: np.ndarray, expected: np.ndarray) -> np.ndarray:
        """failed, expected: (draws, rooms). The ratio of each draw in each circle."""
        return log_likelihood_ratio(failed @ circles.T, expected @ circles.T, total, total_expected)

    def reaching(failed: np.ndarray, expected: np.ndarray, top: float) -> int:
        """How many draws have a circle as high as `top`. Only those that any set of their rooms could lift so high are
        scanned; the others are decided."""
        could = highest_of_any_set(failed, expected, total, total_expected) >= top - 2e-9
        return int((ratios(failed[could], expected[could]).max(axis=1) >= top - 1e-9).sum())

    own = part[["failed", "expected"]].to_numpy(dtype=float)
    (own_ratios,) = ratios(own[None, :, 0], own[None, :, 1])
    top, best = own_ratios.max(), own_ratios.argmax()
    inside = circles[best].astype(bool)
    names = part.index[inside]
    centre = str(part.index[centres[best]]).rsplit(SEPARATOR, 1)[-1]
    return {
        "group": f"{floor}{SEPARATOR}around {centre} ({len(names)} rooms)",
        "surveys": int(part["surveys"][inside].sum()),
        "failures": own[inside, 0].sum(),
        "expected": own[inside, 1].sum(),
        "units": len(names),
        "ratio": top,
        "p_value": _chance(top, len(part), pool, reaching, rng) if top > 0 else 1.0,
        "level": "neighbourhood",
        "rooms": tuple(names),
    }


def _circles(xy: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Membership (circles, rooms) as 0 and 1, and the centre room of each; each set of rooms once."""
    distance = np.hypot(*(xy[:, None, :] - xy[None, :, :]).transpose(2, 0, 1))
    order = np.argsort(distance, axis=1, kind="stable")
    members = []
    for count in range(2, max(2, len(xy) // 2) + 1):
        inside = np.zeros((len(xy), len(xy)))
        np.put_along_axis(inside, order[:, :count], 1.0, axis=1)
        members.append(inside)
    circles, first = np.unique(np.concatenate(members), axis=0, return_index=True)
    return circles, first % len(xy)


def _chance(top: float, rooms: int, pool: np.ndarray, reaching: Reaching, rng: np.random.Generator) -> float:
    """Monte Carlo p, drawn longer the smaller it looks (Besag and Clifford 1991 [M])."""
    at_least = draws = 0
    failed, expected = pool.T.copy()  # contiguous, or the products are taken without BLAS
    for target in ROUNDS:
        while draws < target:
            order = _drawn(len(pool), rooms, min(AT_ONCE, target - draws), rng)
            at_least += reaching(failed[order], expected[order], top)
            draws += len(order)
        if at_least >= ENOUGH:
            break
    return (1 + at_least) / (1 + draws)


def _drawn(pool: int, rooms: int, count: int, rng: np.random.Generator) -> np.ndarray:
    """(count, rooms): rooms for a floor's places. Each shuffle of the pool is cut into as many floors as it holds."""
    floors = pool // rooms
    order = rng.permuted(np.tile(np.arange(pool), (-(-count // floors), 1)), axis=1)
    return order[:, : floors * rooms].reshape(-1, rooms)[:count]
