"""What the readings show about a cause: the shape of the grid, where drafts come from, what was seen and written.

Every feature is a column of booleans over the surveys (missing knowledge is False), `figures` are the numbers that the
sentences about them need. Thresholds: a part of the grid is low where its mean is under 85 % of the rest's.
"""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
import pandas as pd

from auditor.criteria.measures import Evidence
from auditor.survey.frames import at, group_argmax, group_argmin, group_mean, numbers, texts
from auditor.survey.units import FloatArray

LOW_PART = 0.85
ODD_CELL = 0.75
EVEN_CELL = 0.85
LOW_AIRFLOW, HIGH_AIRFLOW = 0.90, 1.10
FELL = 0.90


@cache
def rules() -> dict[str, Any]:
    """The rules of causes.toml: words, features, causes, questions, actions."""
    return tomllib.loads((resources.files("auditor.criteria") / "causes.toml").read_text(encoding="utf-8"))


def features(e: Evidence) -> tuple[pd.DataFrame, pd.DataFrame]:
    """(flags, figures), one row per survey of the evidence, in its order."""
    flags, figures = _grid(e)
    for part in (_drafts, _smoke, _air, _seen):
        more, numbers_ = part(e)
        flags |= more
        figures |= numbers_
    index = e.surveys.index
    known = {name: np.asarray(values, dtype=bool) for name, values in flags.items()}
    return pd.DataFrame(known, index=index), pd.DataFrame(figures, index=index)


_Parts = tuple[dict[str, Any], dict[str, Any]]


def _grid(e: Evidence) -> _Parts:
    cells = e.cells
    velocity, row, column = (cells[c].to_numpy(float) for c in ("velocity_fpm", "row", "column"))
    read = (e.cell_of >= 0) & ~np.isnan(velocity)
    of, v, r, c = e.cell_of[read], velocity[read], row[read], column[read]
    rows, columns = _extent(of, r, e.n), _extent(of, c, e.n)
    placed = ~np.isnan(r) & ~np.isnan(c)
    across, down = np.divide(c - 0.5, columns[of]), np.divide(r - 0.5, rows[of])
    border = (r == 1) | (r == rows[of]) | (c == 1) | (c == columns[of])
    wide, tall = columns >= 3, rows >= 2
    odd = _odd_cells(of, v, e.n)
    parts = {
        "low_left": wide & _low(of, v, placed & (across < 1 / 3), placed, e.n),
        "low_right": wide & _low(of, v, placed & (across > 2 / 3), placed, e.n),
        "low_top": tall & _low(of, v, placed & (down < np.minimum(1 / 3, 1)), placed, e.n),
        "low_bottom": tall & _low(of, v, placed & (down > 2 / 3), placed, e.n),
        "low_centre": wide & (rows >= 3) & _low(of, v, placed & ~border, placed, e.n),
        "low_edge": wide & (rows >= 3) & _low(of, v, placed & border, placed, e.n),
    }
    single = odd["one_low_cell"] | odd["one_high_cell"]
    parts = {name: flag & ~single for name, flag in parts.items()}
    # a centre or border that is low is no side: the side flags say more
    side = parts["low_left"] | parts["low_right"] | parts["low_top"] | parts["low_bottom"]
    parts["low_edge"] &= ~(side & ~(parts["low_left"] & parts["low_right"]))
    parts["low_centre"] &= ~side
    mean = group_mean(of, v, e.n)
    even = group_spread(of, v, mean, e.n) <= 0.25
    shaped = np.any(list(parts.values()), axis=0) | single
    figures = {"mean": mean, "odd_cell": odd["cell_position"]}
    names = at(texts(cells, "cell")[read], odd["cell_position"], None)
    return parts | {
        "one_low_cell": odd["one_low_cell"],
        "one_high_cell": odd["one_high_cell"],
        "low_throughout": even & ~shaped & (np.bincount(of, minlength=e.n) > 1),
        "shape_unknown": np.bincount(of[~placed], minlength=e.n) > 0,
    }, {k: x for k, x in figures.items() if k != "odd_cell"} | {"cell": names}


def _extent(of: np.ndarray, place: FloatArray, n: int) -> FloatArray:
    known = ~np.isnan(place)
    return at(place[known], group_argmax(of[known], place[known], n))


def group_spread(of: np.ndarray, v: FloatArray, mean: FloatArray, n: int) -> FloatArray:
    """Largest distance from the mean as a fraction of it."""
    with np.errstate(invalid="ignore", divide="ignore"):
        away = np.abs(v - mean[of]) / mean[of]
    away = np.nan_to_num(away, nan=np.inf)
    return at(away, group_argmax(of, away, n), np.inf).astype(float)


def _low(of: np.ndarray, v: FloatArray, part: np.ndarray, placed: np.ndarray, n: int) -> np.ndarray:
    """Whether a part of the grid is clearly below the rest of it."""
    rest = placed & ~part
    with np.errstate(invalid="ignore"):
        return group_mean(of[part], v[part], n) < LOW_PART * group_mean(of[rest], v[rest], n)


def _odd_cells(of: np.ndarray, v: FloatArray, n: int) -> dict[str, np.ndarray]:
    """Surveys where one cell stands apart and the others agree."""
    low, high = group_argmin(of, v, n), group_argmax(of, v, n)
    out: dict[str, np.ndarray] = {}
    position = np.full(n, -1)
    for name, odd in (("one_low_cell", low), ("one_high_cell", high)):
        others = np.ones(len(v), dtype=bool)
        others[odd[odd >= 0]] = False
        mean = group_mean(of[others], v[others], n)
        agree = group_spread(of[others], v[others], mean, n) <= 1 - EVEN_CELL
        few = np.bincount(of[others], minlength=n) < 3
        with np.errstate(invalid="ignore"):
            apart = at(v, odd) < ODD_CELL * mean if name == "one_low_cell" else at(v, odd) > (2 - ODD_CELL) * mean
        out[name] = apart & agree & ~few
        position = np.where(out[name], odd, position)
    out["cell_position"] = position
    return out


_SIDES = {"left": r"\bleft\b|\bl\b|lhs", "right": r"\bright\b|\br\b|rhs"}
_DIRECTIONS = {
    "parallel": r"parallel|lateral|sideways|across|left|right|horizontal|^x$",
    "perpendicular": r"perpendicular|normal|toward|into|front|^y$|^z-in$",
    "vertical": r"vertical|down|up|^z$",
}


def _matches(words: np.ndarray, pattern: str) -> np.ndarray:
    """Whether each text holds the pattern; False where there is no text."""
    which, distinct = pd.factorize(words)
    found = [bool(re.search(pattern, str(w), re.IGNORECASE)) for w in distinct]
    return np.array([*found, False], dtype=bool)[which]


def _drafts(e: Evidence) -> _Parts:
    velocity = e.drafts["velocity_fpm"].to_numpy(float)
    read = (e.draft_of >= 0) & ~np.isnan(velocity)
    of, v = e.draft_of[read], velocity[read]
    worst = group_argmax(of, v, e.n)
    top = at(v, worst)
    position, direction = (at(texts(e.drafts, c)[read], worst, None) for c in ("position", "direction"))
    with np.errstate(invalid="ignore"):
        strong = (top > 20) | (top > 0.2 * e.mean)
        even = at(v, group_argmin(of, v, e.n)) > 0.6 * top
    flags = {"draft": strong, "draft_everywhere": strong & even & (np.bincount(of, minlength=e.n) >= 3)}
    for side, pattern in _SIDES.items():
        flags[f"draft_{side}"] = strong & _matches(position, pattern) & ~flags["draft_everywhere"]
    for name, pattern in _DIRECTIONS.items():
        flags[f"draft_{name}"] = strong & _matches(direction, pattern)
    return flags, {"draft": top}


def _smoke(e: Evidence) -> _Parts:
    grades = [texts(e.surveys, f"smoke_{k}_grade") for k in ("local", "gross")]
    said = [texts(e.surveys, f"smoke_{k}") for k in ("local", "gross")]
    lost = np.isin(grades[0].astype(str), ("escape", "reverse")) | np.isin(grades[1].astype(str), ("escape", "reverse"))
    flags: dict[str, Any] = {}
    for side, pattern in _SIDES.items():
        flags[f"smoke_{side}"] = lost & (_matches(said[0], pattern) | _matches(said[1], pattern))
    flags["smoke_sill"] = lost & (
        _matches(said[0], r"sill|bottom|deck|airfoil") | _matches(said[1], r"sill|bottom|deck")
    )
    return flags, {}


def _air(e: Evidence) -> _Parts:
    """Airflow against design, the monitor, the sash and the survey before."""
    mean = e.mean
    airflow = numbers(e.surveys, "opening_area_ft2") * mean
    design = numbers(e.surveys, "register_design_airflow_cfm")
    monitor, before = numbers(e.surveys, "monitor_fpm"), numbers(e.surveys, "previous_face_mean_fpm")
    sash, working = numbers(e.surveys, "sash_height_in"), numbers(e.surveys, "register_working_sash_in")
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(design > 0, airflow / design, np.nan)
        off = np.abs(monitor - mean) / mean
        flags = {
            "airflow_low": share < LOW_AIRFLOW,
            "airflow_high": share > HIGH_AIRFLOW,
            "airflow_as_designed": (share >= LOW_AIRFLOW) & (share <= HIGH_AIRFLOW),
            "monitor_off": off > 0.2,
            "sash_high": sash > working + 1,
            "fell": mean < FELL * before,
            "slow": mean < 80,
            "fast": mean > 150,
        }
    return flags, {
        "airflow": airflow,
        "design_airflow": design,
        "monitor": monitor,
        "before": before,
        "sash": sash,
        "working": working,
    }


def _seen(e: Evidence) -> _Parts:
    """What the surveyor wrote in the observations."""
    words = texts(e.surveys, "observations")
    return {f"seen_{name}": _matches(words, pattern) for name, pattern in rules()["words"].items()}, {}
