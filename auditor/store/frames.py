"""Between frames and rows: plain lists for the driver on the way in, typed columns on the way out."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import re
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import pandas as pd

from auditor.survey.columns import DATE_FIELDS, IDENTITY, QUANTITY_FIELDS, SHAPE, TEXT_FIELDS, WRITTEN_FIELDS

# No database keeps these: NUL, and halves of surrogate pairs.
_UNSTORABLE = re.compile("[\x00\ud800-\udfff]")


_encode = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode


def canonical(value: Any) -> str:
    """The one JSON text of a value, over which digests are taken: sorted keys, no blanks."""
    return _encode(value)


def digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def storable(text: str) -> str:
    """`text` with characters that cannot be kept replaced by U+FFFD."""
    return _UNSTORABLE.sub("\ufffd", text)


def columns_of(frame: pd.DataFrame | None, kinds: dict[str, str]) -> list[list]:
    """The columns of `kinds` as lists of plain values, None where missing; a column that is absent is all None."""
    if frame is None:
        return [[] for _ in kinds]
    absent = [None] * len(frame)
    return [plain(frame[name], kind) if name in frame.columns else absent for name, kind in kinds.items()]


def plain(series: pd.Series, kind: str) -> list:
    """A column as a list of values that every driver takes, None where missing."""
    missing = series.isna().to_numpy()
    if kind == "date":
        return _iso_dates(series, missing)
    if kind == "float":
        numbers = series.to_numpy(dtype=float, na_value=np.nan) + 0.0  # SQLite knows no -0.0
        values = numbers.tolist()
        lost = ~np.isfinite(numbers)
    else:
        values = series.tolist()
        lost = missing
    for place in np.flatnonzero(lost).tolist():
        values[place] = None
    if kind != "float":
        cast = {"int": int, "bool": bool, "text": str}[kind]
        if not set(map(type, values)) <= {cast, type(None)}:
            values = [None if value is None else cast(value) for value in values]
    return _all_storable(values) if kind == "text" else values


def _iso_dates(series: pd.Series, missing: np.ndarray) -> list[str | None]:
    if not pd.api.types.is_datetime64_any_dtype(series):
        return [None if gone else _iso_date(value) for value, gone in zip(series.tolist(), missing, strict=True)]
    days = np.datetime_as_string(series.to_numpy().astype("datetime64[D]"), unit="D").tolist()
    return [None if gone else day for day, gone in zip(days, missing, strict=True)]


def _iso_date(value: Any) -> str:
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    return value.isoformat() if isinstance(value, dt.date) else str(value)[:10]


def _all_storable(values: list[str | None]) -> list[str | None]:
    if _UNSTORABLE.search("".join(filter(None, values))) is None:
        return values
    return [None if value is None else storable(value) for value in values]


def typed_frame(rows: Sequence[Sequence], kinds: dict[str, str], *, empty_is_missing: bool = False) -> pd.DataFrame:
    """Rows out of the store as a frame whose columns have the types of `kinds`."""
    columns: list = list(zip(*rows, strict=True)) if rows else [()] * len(kinds)
    if empty_is_missing:
        texts = [kind == "text" for kind in kinds.values()]
        columns = [[v or None for v in c] if text else c for c, text in zip(columns, texts, strict=True)]
    made = {name: _typed(column, kind) for (name, kind), column in zip(kinds.items(), columns, strict=True)}
    return pd.DataFrame(made)


def _typed(values: Iterable, kind: str) -> pd.Series:
    if kind == "float":
        return pd.Series(np.array(values, dtype=float))  # None becomes NaN
    if kind == "date":
        return pd.Series(np.array([value or "NaT" for value in values], dtype="datetime64[D]").astype("datetime64[us]"))
    if kind == "int":
        numbers = np.array(values, dtype=float)
        gone = np.isnan(numbers)
        return pd.Series(pd.arrays.IntegerArray(np.where(gone, 0, numbers).astype(np.int64), gone))
    if kind == "bool":
        return pd.Series([None if value is None else bool(value) for value in values], dtype="boolean")
    return pd.Series(list(values), dtype="str")


# --- as-written surveys ----------------------------------------------------------------------------------------------
def field_texts(surveys: pd.DataFrame) -> list[str]:
    """Per survey its as-written fields as JSON: {field: [cell, written, value, unit]}, without the empty ones."""
    parts: list[tuple[str, list, list, list, list]] = []
    for name in WRITTEN_FIELDS:
        kinds = {f"{name}_cell": "text", f"{name}_written": "text", name: _field_kind(name), f"{name}_unit": "text"}
        cell, written, value, unit = columns_of(surveys, kinds)
        if any(map(any, (cell, written, unit))) or value.count(None) < len(value):
            parts.append((name, cell, written, value, unit))
    texts = []
    for row in range(len(surveys)):
        kept = {}
        for name, cell, written, value, unit in parts:
            entry = [cell[row], written[row], value[row], unit[row]]
            if entry != [None, None, None, None]:
                kept[name] = entry
        texts.append(canonical(kept))
    return texts


def _field_kind(name: str) -> str:
    return "float" if name in QUANTITY_FIELDS else "date" if name in DATE_FIELDS else "text"


def written_frame(rows: Sequence[Sequence]) -> pd.DataFrame:
    """The wide as-written frame from rows of (survey_id, workbook, sha256, sheet, place, grid_rows, grid_columns,
    fields): the inverse of `field_texts`."""
    fields = [json.loads(row[7]) for row in rows]
    nothing = [None, None, None, None]
    made: dict[str, pd.Series] = {}
    for place, name in enumerate(IDENTITY):
        made[name] = _typed([row[place] for row in rows], "text")
    for name in TEXT_FIELDS + DATE_FIELDS + QUANTITY_FIELDS:
        entries = [entry.get(name, nothing) for entry in fields]
        made[name] = _typed([entry[2] for entry in entries], _field_kind(name))
        made[f"{name}_written"] = _typed([entry[1] for entry in entries], "text")
        made[f"{name}_cell"] = _typed([entry[0] for entry in entries], "text")
        if name in QUANTITY_FIELDS:
            made[f"{name}_unit"] = _typed([entry[3] for entry in entries], "text")
    for place, name in enumerate(SHAPE, start=5):
        made[name] = _typed([row[place] for row in rows], "float")
    return pd.DataFrame(made)
