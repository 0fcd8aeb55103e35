"""One PDF of labels on label sheets, and of notices, one a page."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable
from typing import Any
from urllib.parse import quote

import pandas as pd

from auditor.documents.figures import FPM, Unit
from auditor.documents.labels.label import draw_label
from auditor.documents.labels.notice import draw_notice
from auditor.documents.labels.stock import Stock
from auditor.documents.pages import PAPERS, fonts


def pdf(
    labels: pd.DataFrame,
    notices: pd.DataFrame,
    sheet: Stock,
    day: dt.date,
    *,
    unit: Unit = FPM,
    paper: str = "a4",
    address: str = "",
    whom: str = "",
    skip: int = 0,
    told: Callable[[int, int, str], None] | None = None,
) -> bytes:
    """Labels (columns of `auditor.answers.labelling.LABEL`) on `sheet`, from its place `skip` on; then notices (NOTICE)
    on `paper`, lying. `address`: where the dashboard can be reached, for the QR codes; none without it. `whom`: whom to
    call. The same input gives the same bytes. ValueError for an address that is none, or nothing to print."""
    from reportlab.pdfgen.canvas import Canvas

    if labels.empty and notices.empty:
        raise ValueError("there is nothing to print: no hood in service has passed, and none needs a notice")
    where = checked(address)
    fonts()
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=PAPERS[sheet.paper], invariant=1, lang="en")
    canvas.setTitle(f"Hood labels and notices, {day.isoformat()}")
    total = len(labels) + len(notices)
    for done, (row, place) in enumerate(zip(labels.to_dict("records"), sheet.places(skip), strict=False), 1):
        new, x, y = place
        if new:
            canvas.showPage()
        draw_label(canvas, (x, y), sheet, row, unit, f"{where}/hood?hood={_quoted(row)}" if where else "")
        if told:
            told(done, total, str(row["hood_id"]))
    if len(labels):
        canvas.showPage()
    wide = PAPERS[paper][::-1]
    for done, row in enumerate(notices.to_dict("records"), len(labels) + 1):
        canvas.setPageSize(wide)
        draw_notice(canvas, wide, row, day, whom)
        canvas.showPage()
        if told:
            told(done, total, str(row["hood_id"]))
    canvas.save()
    return out.getvalue()


def _quoted(row: dict[Any, Any]) -> str:
    return quote(str(row["hood_id"]), safe="")


def checked(address: str) -> str:
    """The address without its last slash. ValueError where it is no web address."""
    from urllib.parse import urlsplit

    given = address.strip().rstrip("/")
    parts = urlsplit(given)
    if given and (parts.scheme not in ("http", "https") or not parts.netloc or parts.query or parts.fragment):
        raise ValueError(f"'{address}' is not the dashboard's address; write it as https://hoods.example.edu")
    return given
