"""The workbook of the review: what it stands on, and every table behind it, one a sheet."""

from __future__ import annotations

import datetime as dt
import io

import pandas as pd

from auditor.documents.fixed import fixed
from auditor.documents.review.model import Pack
from auditor.documents.tables import fill_sheet

_WIDEST, _NARROWEST = 60, 9  # of a column, in characters


def workbook(pack: Pack) -> bytes:
    """An .xlsx: sheet 'about', then one sheet per table with the columns of the export. Text stays text."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    for name, frame in [("about", _about(pack)), *pack.frames.items()]:
        sheet = book.create_sheet(name[:31])
        for place, width in enumerate(_widths(frame)):
            sheet.column_dimensions[_letter(place + 1)].width = width
        fill_sheet(sheet, frame)
        sheet.auto_filter.ref = f"A1:{_letter(max(len(frame.columns), 1))}{len(frame) + 1}"
    book.properties.title, book.properties.creator = pack.title, ""
    out = io.BytesIO()
    book.save(out)
    return fixed(out.getvalue(), dt.date.fromisoformat(pack.day))


def _about(pack: Pack) -> pd.DataFrame:
    """The summary as rows."""
    lines = [("Review", pack.title), *pack.standing]
    lines += [(words, value) for value, words in pack.figures]
    lines += [("Summary", text) for text in pack.summary]
    lines += [(f"Sheet '{sheet}'", title) for sheet, title in _titles(pack).items()]
    return pd.DataFrame([*lines, ("Caution", pack.caution)], columns=["about", "text"])


def _titles(pack: Pack) -> dict[str, str]:
    shown = {table.sheet: f"{section.title}: {table.title}" for section in pack.sections for table in section.tables}
    return {name: shown.get(name, "behind the figures") for name in pack.frames}


def _widths(frame: pd.DataFrame) -> list[int]:
    widths = []
    for name in frame.columns:
        texts = frame[name].head(200).astype("string").dropna().str.len()
        widths.append(int(min(max(texts.max() if len(texts) else 0, len(str(name)), _NARROWEST), _WIDEST)) + 1)
    return widths


def _letter(column: int) -> str:
    from openpyxl.utils import get_column_letter

    return get_column_letter(column)
