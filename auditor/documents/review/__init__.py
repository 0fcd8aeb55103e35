"""The yearly review: one content, and four files made of it."""

from __future__ import annotations

from collections.abc import Callable

from auditor.documents.review.content import compose
from auditor.documents.review.model import Pack


def _pdf(pack: Pack, paper: str) -> bytes:
    from auditor.documents.review.paper import pdf

    return pdf(pack, paper)


def _html(pack: Pack, _paper: str) -> bytes:
    from auditor.documents.review.page import html

    return html(pack)


def _xlsx(pack: Pack, _paper: str) -> bytes:
    from auditor.documents.review.book import workbook

    return workbook(pack)


def _pptx(pack: Pack, _paper: str) -> bytes:
    from auditor.documents.review.slides import slides

    return slides(pack)


# Ending -> what makes the file of a pack, on a paper.
FILES: dict[str, Callable[[Pack, str], bytes]] = {"pdf": _pdf, "html": _html, "xlsx": _xlsx, "pptx": _pptx}

__all__ = ["FILES", "Pack", "compose"]
