"""The words of the commands that make papers and files for other people. Standard library only."""

from __future__ import annotations

import argparse
import datetime as dt
from collections.abc import Callable
from typing import Any

PAPERS = ("a4", "letter")
UNITS = ("ft/min", "m/s")
# The twin of auditor/documents/labels/stock.toml, which `--help` does not load.
SHEETS = (
    "a4-70x37", "a4-99x68", "a4-105x74", "a4-105x148", "letter-4x2in", "letter-4x3.33in", "letter-4.25x5.5in",
)  # fmt: skip


def add(commands: Any, command: Callable[..., argparse.ArgumentParser], iso_date: Callable[[str], dt.date]) -> None:
    """Adds `review`, `labels` and `work` to the commands. `command` makes one; `iso_date` reads a date."""
    review = command(
        commands, "review", "paper_commands:review",
        "Write the annual review: a PDF to read, one HTML file, a workbook with the tables behind it, slides.",
    )  # fmt: skip
    review.add_argument("year", type=_year, metavar="YEAR")
    review.add_argument("-o", "--output", required=True, metavar="DIR", help="the folder to write into")
    _paper(review)

    labels = command(
        commands, "labels", "paper_commands:labels",
        "Print labels for hoods that passed, and notices for those that must not be used or are restricted.",
    )  # fmt: skip
    labels.add_argument("-o", "--output", required=True, metavar="FILE", help="the PDF to write")
    labels.add_argument("--hood", dest="hoods", action="append", default=[], metavar="HOOD", help="only this hood's")
    labels.add_argument("--only", choices=("labels", "notices"), help="default: labels, then notices")
    labels.add_argument("--new", action="store_true", help="leave out notices that are logged as posted")
    labels.add_argument("--sheet", choices=SHEETS, metavar="SHEET", help=f"the label sheet: {', '.join(SHEETS)}")
    labels.add_argument("--skip", type=_skip, default=0, metavar="N", help="labels already used on the first sheet")
    labels.add_argument(
        "--address", metavar="URL",
        help="where the dashboard can be reached, for QR codes (default: HOODAUDIT_ADDRESS, else no codes)",
    )  # fmt: skip
    labels.add_argument("--call", metavar="TEXT", help="whom to call (default: HOODAUDIT_CALL, else a line to fill in)")
    _paper(labels)

    work = command(
        commands, "work", "paper_commands:work",
        "Write the work register: what is wrong with hoods, with a stable key, opened and closed by surveys.",
    )  # fmt: skip
    work.add_argument(
        "-o", "--output", metavar="FILE", help="csv, xlsx, json or parquet (default: csv on standard output)"
    )
    work.add_argument("--since", type=iso_date, metavar="DATE", help="only rows that changed on that day or later")
    _unit(work)


def _year(text: str) -> int:
    if not (len(text) == 4 and text.isascii() and text.isdigit()):
        raise argparse.ArgumentTypeError(f"'{text}' is not a year; write it as 2026")
    return int(text)


def _skip(text: str) -> int:
    if not (text.isascii() and text.isdigit()):
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number")
    return int(text)


def _paper(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--paper", choices=PAPERS, default="a4", help="default: a4")
    _unit(parser)


def _unit(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--unit", choices=UNITS, default="ft/min", help="the unit of velocities (default: ft/min)")
