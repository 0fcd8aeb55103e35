"""Sheets on paper: one page a hood, whatever the paper."""

from __future__ import annotations

from typing import Any

from auditor.documents.field.model import PAPERS, Book


def one_page(sheet: Any, book: Book, name: str, *, tall: int = 1) -> None:
    """Portrait, as wide as the page; `tall` 0 lets it run on."""
    sheet.set_paper(PAPERS[book.paper])
    sheet.set_portrait()
    sheet.set_margins(left=0.5, right=0.5, top=0.5, bottom=0.6)
    sheet.fit_to_pages(1, tall)
    sheet.center_horizontally()
    shown = name.replace("&", "&&")[:100]
    sheet.set_footer(
        f"&L&8{' ' if shown[:1].isdigit() else ''}{shown}&C&8Issued {book.issued_on.isoformat()}&R&8&P / &N"
    )
