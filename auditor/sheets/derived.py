"""Rows and columns that a sheet computes from its readings: kept out of the grid, and compared with it."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from auditor.sheets.blocks import Block
from auditor.sheets.model import Problem
from auditor.sheets.scene import Scene, Spot
from auditor.workbook.cells import a1


def rounding(value: float, written: str) -> float:
    """Half a unit of the last decimal that a number is written with: what honest rounding may change.

    A number with six decimals or more is taken as unrounded."""
    found = re.search(r"\d*[.,](\d+)", written)
    decimals = len(found.group(1)) if found else 0
    return 0.5 * 10.0**-decimals if decimals < 6 else 1e-6 * max(1.0, abs(value))


def agrees(stated: float, values: Sequence[float], kind: str, written: str) -> bool:
    """True where a stated mean, min, max or total is that of the values, to the rounding it is written with."""
    if kind == "mean":
        true = math.fsum(values) / len(values)
    elif kind == "min":
        true = min(values)
    elif kind == "max":
        true = max(values)
    elif kind == "total":
        true = math.fsum(values)
    else:
        return True
    return abs(stated - true) <= rounding(stated, written) * (1 + 1e-9) + 1e-9


def compare_lines(scene: Scene, block: Block, rows: list[int], columns: list[int]) -> list[Problem]:
    """Compare the derived rows and columns of a block with its readings; one problem for each block at most.

    `rows`, `columns` are the sheet indices of its reading lines. Lines with a reading that is no number are skipped."""
    wrong: list[tuple[Spot, str]] = []
    for line in block.columns:
        if line.index not in columns and line.derived in ("mean", "min", "max", "total"):
            wrong += [
                (s, line.derived)
                for r in rows
                if (s := (r, line.index)) and _differs(scene, s, [(r, c) for c in columns], line.derived)
            ]
    for line in block.rows:
        values = [c for c in columns if (line.index, c) in scene.numbers]
        if line.index not in rows and line.derived in ("mean", "min", "max", "total") and len(values) > 1:
            wrong += [
                (s, line.derived)
                for c in values
                if (s := (line.index, c)) and _differs(scene, s, [(r, c) for r in rows], line.derived)
            ]
    if not wrong:
        return []
    spot, kind = wrong[0]
    more = f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""
    detail = f"the sheet's own {kind} in {a1(*spot)} is not that of the readings beside it{more}"
    return [Problem("reported-mean-differs", a1(*spot), "reported_mean", scene.text(spot), detail)]


def _differs(scene: Scene, spot: Spot, readings: list[Spot], kind: str) -> bool:
    stated = scene.numbers.get(spot)
    parsed = [scene.numbers.get(s) for s in readings]
    if stated is None or stated.value is None or len(parsed) < 2 or any(p is None or p.value is None for p in parsed):
        return False
    values = [p.value for p in parsed if p is not None and p.value is not None]
    return not agrees(stated.value, values, kind, scene.text(spot))


def unlabelled_means(
    scene: Scene, rows: list[int], columns: list[int], last_row_named: bool, last_column_named: bool
) -> bool:
    """True where the last row or column, though nothing calls it so, is the mean of the others in every line, and
    chance would hardly bring that about (below 1 in 1,000)."""
    across = [((r, columns[-1]), [(r, c) for c in columns[:-1]]) for r in rows]
    along = [((rows[-1], c), [(r, c) for r in rows[:-1]]) for c in columns]
    checks = []
    if len(columns) > 2 and not last_column_named:
        checks.append(across)
    if len(rows) > 2 and not last_row_named:
        checks.append(along)
    return any(
        all(_is_mean(scene, s, others) for s, others in lines) and _chance(scene, lines) < 1e-3 for lines in checks
    )


def _chance(scene: Scene, lines: list[tuple[Spot, list[Spot]]]) -> float:
    """About how likely every line's last value meets the mean of the others by chance alone."""
    values = [scene.numbers[s].value or 0.0 for _, others in lines for s in others]
    spread = max(values) - min(values) or 1e-12
    tolerance = max(rounding(scene.numbers[s].value or 0.0, scene.text(s)) for s, _ in lines)
    return min(1.0, 2 * tolerance / spread) ** len(lines)


def _is_mean(scene: Scene, spot: Spot, readings: list[Spot]) -> bool:
    stated = scene.numbers.get(spot)
    parsed = [scene.numbers.get(s) for s in readings]
    if stated is None or stated.value is None or any(p is None or p.value is None for p in parsed):
        return False
    return agrees(stated.value, [p.value for p in parsed if p and p.value is not None], "mean", scene.text(spot))
