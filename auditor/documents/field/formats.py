"""The look of field workbooks: cells to fill in are boxed and tinted, the rest is plain and locked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

INK, BAND, TINT, LINE, RED, PALE_RED, GREY = (
    "#1F2933", "#24506B", "#FFF8DC", "#7B8794", "#A4161A", "#FBD5D5", "#52606D",
)  # fmt: skip


@dataclass(frozen=True)
class Formats:
    """Formats of xlsxwriter by what they are for."""

    title: Any
    band: Any
    small: Any
    label: Any
    fact: Any
    fill: Any
    fill_date: Any
    fill_number: Any
    fill_text: Any
    follows: Any
    follows_date: Any
    axis: Any
    cell: Any
    check: Any
    so_far: Any
    doubtful: Any
    link: Any
    ready: Any


def formats(book: Any) -> Formats:
    base = {"font_name": "Arial", "font_size": 10, "font_color": INK, "valign": "vcenter"}

    def made(**more: Any) -> Any:
        return book.add_format(base | more)

    box = {"border": 1, "border_color": LINE, "bg_color": TINT, "locked": False, "align": "left", "indent": 1}
    follow = {"border": 1, "border_color": "#CBD2D9", "align": "left", "indent": 1}
    return Formats(
        title=made(bold=True, font_size=15),
        band=made(bold=True, font_color="#FFFFFF", bg_color=BAND, indent=1),
        small=made(font_size=9, font_color=GREY, text_wrap=True, valign="top"),
        label=made(indent=1),
        fact=made(text_wrap=True, indent=1),
        fill=made(**box),
        fill_date=made(**box, num_format="yyyy-mm-dd"),
        fill_number=made(**box),
        fill_text=made(**(box | {"valign": "top"}), text_wrap=True),
        follows=made(**follow, locked=False),
        follows_date=made(**follow, num_format="yyyy-mm-dd", locked=False),
        axis=made(align="center", font_color=GREY, font_size=9, text_wrap=True),
        cell=made(**(box | {"align": "center", "indent": 0}), font_size=12),
        check=made(font_color=RED, bold=True, font_size=9, text_wrap=True, indent=1),
        so_far=made(bold=True, font_size=11, text_wrap=True, indent=1),
        doubtful=book.add_format({"bg_color": PALE_RED, "font_color": RED, "bold": True}),
        link=made(font_color="#0B5394", underline=1),
        ready=made(bold=True, indent=1),
    )
