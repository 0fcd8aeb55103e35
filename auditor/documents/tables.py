"""Tables as files: csv, json, parquet, xlsx. Text stays text in all of them, whatever it looks like."""

from __future__ import annotations

import datetime as dt
import json
import math
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

import numpy as np
import pandas as pd

FORMATS = ("csv", "json", "parquet", "xlsx")
# A spreadsheet would take text that begins so for a formula (or for one hidden behind a blank).
_ALIVE = ("=", "+", "-", "@", "\t", "\r")
_CELL_LIMIT = 32_767  # characters in a cell of a spreadsheet
_ROW_LIMIT = 1_048_576
# XML 1.0 has no place for these.
_NOT_IN_XML = dict.fromkeys([*range(0, 9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF], "\ufffd")


def format_of(path: str | Path) -> str:
    """The format that a file's ending names. Raises ValueError for any other."""
    ending = Path(path).suffix.lower().removeprefix(".")
    if ending not in FORMATS:
        raise ValueError(f"{path}: the ending names no format; use one of {', '.join('.' + f for f in FORMATS)}")
    return ending


def write_table(frame: pd.DataFrame, target: str | Path | IO[bytes], fmt: str | None = None) -> None:
    """Writes `frame` to a path or a binary stream, in `fmt` or the format that the path's ending names.

    Missing is empty (csv, xlsx) or null; dates are ISO 8601. A path gets the whole table or stays as it was.
    Raises ValueError for an unknown format, or for more rows than a sheet of a workbook has.
    """
    if fmt is None:
        if not isinstance(target, str | Path):
            raise ValueError("a stream has no ending: name the format")
        fmt = format_of(target)
    if fmt not in FORMATS:
        raise ValueError(f"there is no format {fmt!r}; use one of {', '.join(FORMATS)}")
    writer = {"csv": _write_csv, "json": _write_json, "parquet": _write_parquet, "xlsx": _write_xlsx}[fmt]
    with _binary(target) as stream:
        writer(frame, stream)


@contextmanager
def _binary(target: str | Path | IO[bytes]) -> Iterator[IO[bytes]]:
    """The stream, or a new file beside the path that takes its place once it is whole."""
    if not isinstance(target, str | Path):
        yield target
        target.flush()
        return
    path = Path(target)
    if path.exists() and not path.is_file():  # a device or a pipe is written to as it is
        with path.open("wb") as stream:
            yield stream
        return
    part = path.with_name(path.name + ".part")
    try:
        with part.open("wb") as stream:
            yield stream
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


# --- columns ---------------------------------------------------------------------------------------------------------
def _dates(series: pd.Series) -> np.ndarray:
    """ISO days as text objects, None where missing."""
    days = np.datetime_as_string(series.to_numpy().astype("datetime64[D]"), unit="D").astype(object)
    days[series.isna().to_numpy()] = None
    return days


def _is_date(series: pd.Series) -> bool:
    return pd.api.types.is_datetime64_any_dtype(series.dtype)


def _is_text(series: pd.Series) -> bool:
    return pd.api.types.is_string_dtype(series.dtype) or pd.api.types.is_object_dtype(series.dtype)


def _plain_columns(frame: pd.DataFrame) -> list[list[Any]]:
    """Columns as lists of str, int, float, bool and None."""
    made = []
    for name in frame.columns:
        series = frame[name]
        if _is_date(series):
            made.append(_dates(series).tolist())
            continue
        gone = series.isna().to_numpy()
        made.append([None if lost else _plain(v) for v, lost in zip(series.tolist(), gone, strict=True)])
    return made


def _plain(value: Any) -> Any:
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, dt.datetime | dt.date):
        return value.isoformat()[:10]
    return None if isinstance(value, float) and not math.isfinite(value) else value


# --- csv -------------------------------------------------------------------------------------------------------------
def guarded(text: Any) -> Any:
    """Text that a spreadsheet would take for a formula, with an apostrophe before it; line breaks in text are line
    feeds, since readers of csv take a lone carriage return for the end of the row. Anything else as it is."""
    if not isinstance(text, str):
        return text
    safe = "'" + text if text.startswith(_ALIVE) else text
    return safe.replace("\r\n", "\n").replace("\r", "\n") if "\r" in safe else safe


def _guarded_column(series: pd.Series) -> pd.Series:
    """`guarded` over a column; where no text needs it, as is usual, found in one sweep."""
    if not isinstance(series.dtype, pd.StringDtype):
        return series.map(guarded)
    doubtful = series.str.contains(r"^[=+\-@\t]|\r", regex=True, na=False)
    return series.mask(doubtful, series[doubtful].map(guarded)) if doubtful.any() else series


def _write_csv(frame: pd.DataFrame, stream: IO[bytes]) -> None:
    safe = {}
    for name in frame.columns:
        series = frame[name]
        if _is_date(series):
            safe[name] = pd.Series(_dates(series), index=frame.index, dtype=object)
        elif pd.api.types.is_bool_dtype(series.dtype):
            safe[name] = series.map({True: "true", False: "false"})
        elif _is_text(series):
            safe[name] = _guarded_column(series)
        else:
            safe[name] = series
    pd.DataFrame(safe, columns=frame.columns).to_csv(stream, index=False, lineterminator="\n", encoding="utf-8")


# --- json ------------------------------------------------------------------------------------------------------------
def _write_json(frame: pd.DataFrame, stream: IO[bytes]) -> None:
    """An array of rows, one a line."""
    names = [str(name) for name in frame.columns]
    columns = _plain_columns(frame)
    encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode
    stream.write(b"[")
    for number, row in enumerate(zip(*columns, strict=True)):
        text = encode(dict(zip(names, row, strict=True))).encode("utf-8", "replace")
        stream.write((b",\n" if number else b"\n") + text)
    stream.write(b"\n]\n")


# --- parquet ---------------------------------------------------------------------------------------------------------
def _write_parquet(frame: pd.DataFrame, stream: IO[bytes]) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    arrays, fields = [], []
    for name in frame.columns:
        series = frame[name]
        if _is_date(series):
            array = pa.array(series.to_numpy().astype("datetime64[D]"), type=pa.date32(), from_pandas=True)
        elif _is_text(series):
            gone = series.isna().to_numpy()
            texts = [None if lost else str(v) for v, lost in zip(series.tolist(), gone, strict=True)]
            array = pa.array(texts, type=pa.string())
        else:
            array = pa.array(series, from_pandas=True)
        arrays.append(array)
        fields.append(pa.field(str(name), array.type))
    pq.write_table(pa.Table.from_arrays(arrays, schema=pa.schema(fields)), stream)


# --- xlsx ------------------------------------------------------------------------------------------------------------
def _write_xlsx(frame: pd.DataFrame, stream: IO[bytes]) -> None:
    from openpyxl import Workbook

    if len(frame) >= _ROW_LIMIT:
        raise ValueError(
            f"a sheet of a workbook has {_ROW_LIMIT:,} rows, too few for {len(frame):,}; use csv or parquet"
        )
    book = Workbook(write_only=True)
    fill_sheet(book.create_sheet("table"), frame)
    book.save(stream)


def fill_sheet(sheet: Any, frame: pd.DataFrame) -> None:
    """Writes `frame` into a sheet of an openpyxl workbook in write-only mode: a heading that stays, text kept text."""
    sheet.freeze_panes = "A2"
    sheet.append([_heading(sheet, str(name)) for name in frame.columns])
    dates = [_is_date(frame[name]) for name in frame.columns]
    for row in zip(*_plain_columns(frame), strict=True):
        sheet.append([_cell(sheet, value, date) for value, date in zip(row, dates, strict=True)])


def _heading(sheet: Any, text: str) -> Any:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    cell = WriteOnlyCell(sheet, text)
    cell.data_type = "s"
    cell.font = Font(bold=True)
    return cell


def _cell(sheet: Any, value: Any, date: bool) -> Any:
    """What openpyxl takes for the value; text that it, or a person editing, would make a formula is kept text."""
    if not isinstance(value, str):
        return value
    if date:
        return dt.date.fromisoformat(value) if value >= "1900-03-01" else value
    value = value.translate(_NOT_IN_XML)[:_CELL_LIMIT]
    if not value.startswith((*_ALIVE, "#")):
        return value
    from openpyxl.cell import WriteOnlyCell

    cell = WriteOnlyCell(sheet, value)
    cell.data_type = "s"
    cell.quotePrefix = value.startswith(_ALIVE)
    return cell
