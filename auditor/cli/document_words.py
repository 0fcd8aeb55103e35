"""The words of the commands that make workbooks for contractors. Standard library only."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

WAYS = ("building", "contractor", "route")
PAPERS = ("a4", "letter")
UNITS = ("ft/min", "m/s")


def add(commands: Any, command: Callable[..., argparse.ArgumentParser]) -> None:
    """Adds `sheets` and `returns` to the commands. `command` makes one."""
    sheets = command(
        commands, "sheets", "document_commands:sheets",
        "Write blank field workbooks for the hoods due, filled in from the register, that 'intake' reads back.",
    )  # fmt: skip
    sheets.add_argument("-o", "--output", required=True, metavar="DIR", help="the folder to write into")
    sheets.add_argument(
        "--by", choices=WAYS, default="building",
        help="one workbook to each building, contractor of the last survey, or route: a floor in walking order "
        "(default: building)",
    )  # fmt: skip
    sheets.add_argument(
        "--within", type=_days, default=30, metavar="DAYS", help="hoods that fall due in so many days too (default: 30)"
    )
    sheets.add_argument("--unit", choices=UNITS, default="ft/min", help="the unit they start with (default: ft/min)")
    sheets.add_argument("--paper", choices=PAPERS, default="a4", help="default: a4")

    returns = command(
        commands, "returns", "document_commands:returns",
        "Write a marked copy of every workbook with open discrepancies, to send back to its contractor.",
    )  # fmt: skip
    returns.add_argument("-o", "--output", required=True, metavar="DIR", help="the folder to write into")
    returns.add_argument("--contractor", default="", metavar="NAME", help="only this contractor's workbooks")
    returns.add_argument("--holds-only", action="store_true", help="leave out what is only a caution")


def _days(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 5):
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number of days")
    return int(text)
