"""A corrected copy that came back: the same survey again, changed only where it had been questioned."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from itertools import product

import pandas as pd

from auditor.survey.columns import WRITTEN_FIELDS

SAME_READINGS = 4  # at least so many must stand unchanged, or all but one where there are fewer
CELLS_OF_A_RANGE = 2_000
_BESIDE_OTHERS = frozenset({"survey-repeated", "grid-copied"})  # not mended on the sheet
_RANGE = re.compile(r"([A-Z]{1,3})(\d+)(?::([A-Z]{1,3})(\d+))?")


def corrected_copies(
    surveys: pd.DataFrame, readings: pd.DataFrame, holds: pd.DataFrame, returned: Collection[str] = ()
) -> dict[str, str]:
    """survey_id of a questioned survey -> survey_id of its corrected copy.

    `surveys` and `readings` as written; `holds`: survey_id, code, field, cell of what is held. One survey is the
    corrected copy of another where both stand at the same place of sheets of the same name in different workbooks,
    fewer things are held about it, and everything that differs between the two had been questioned on the other. Order
    of arrival plays no part. `returned`: SHA-256 of workbooks that are return copies of ours, in which a hood's tag may
    have become any other; elsewhere only one near to what was written.
    """
    holds = holds[~holds["code"].isin(_BESIDE_OTHERS) & holds["survey_id"].notna()]
    questions = {name: list(rows.itertuples(index=False)) for name, rows in holds.groupby("survey_id")}
    cells = {
        name: dict(zip(rows["cell"], rows["written"], strict=True)) for name, rows in readings.groupby("survey_id")
    }
    out: dict[str, str] = {}
    for _, same in surveys.groupby(["sheet", "place"]):
        if len(same) < 2 or not questions.keys() & set(same["survey_id"]):
            continue
        rows = {row["survey_id"]: row for row in same.to_dict("records")}
        for old, new in product(sorted(rows.keys() & questions.keys()), sorted(rows)):
            fewer = len(questions.get(new, ())) < len(questions.get(old, ()))
            if (
                fewer
                and rows[old]["workbook_sha256"] != rows[new]["workbook_sha256"]
                and _differs_only_where_asked(
                    rows[old], rows[new], cells.get(old, {}), cells.get(new, {}), questions[old], returned
                )
            ):
                out[old] = new
    return out


def _differs_only_where_asked(
    old: dict, new: dict, old_cells: dict, new_cells: dict, asked: Iterable, returned: Collection[str]
) -> bool:
    asked = list(asked)
    free_cells = {cell for one in asked for cell in cells_of(one.cell)}
    free_fields = {one.field for one in asked}
    changed = {cell for cell in {*old_cells, *new_cells} if old_cells.get(cell) != new_cells.get(cell)}
    if any(one.code == "reported-mean-differs" for one in asked):  # the figure or any reading may have been the slip
        free_cells |= set(old_cells)
    if not changed <= free_cells:
        return False
    unchanged = len(old_cells.keys() & new_cells.keys()) - len(changed)
    whole_grid = {one.field for one in asked if one.code == "unit-mismatch"}
    if not whole_grid and unchanged < min(SAME_READINGS, len(old_cells) - 1):
        return False
    ours = new["workbook_sha256"] in returned
    if not (_same(old, new, "hood") or ours or _may_be_the_hood(old, new)):
        return False
    return all(
        old.get(f"{name}_cell") in free_cells or name in free_fields or _same(old, new, name) for name in WRITTEN_FIELDS
    )


def _may_be_the_hood(old: dict, new: dict) -> bool:
    """A tag that was absent, or that lies nearest to the corrected one: any other is another hood's sheet."""
    return pd.isna(old.get("hood_written")) or old.get("hood_suggestion") == new.get("hood_id")


def _same(old: dict, new: dict, name: str) -> bool:
    one, other = old.get(f"{name}_written"), new.get(f"{name}_written")
    return one == other or (pd.isna(one) and pd.isna(other))


def cells_of(place: object) -> list[str]:
    """The cells of 'B7', or of 'B7:D9'; none for anything else or a range past all reason."""
    match = _RANGE.fullmatch(place) if isinstance(place, str) else None
    if match is None:
        return []
    left, top = _number(match[1]), int(match[2])
    right, bottom = (_number(match[3]), int(match[4])) if match[3] else (left, top)
    if (right - left + 1) * (bottom - top + 1) > CELLS_OF_A_RANGE:
        return []
    return [f"{_letters(c)}{r}" for r in range(top, bottom + 1) for c in range(left, right + 1)]


def _number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def _letters(number: int) -> str:
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
