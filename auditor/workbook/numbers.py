"""Numbers as XML writes them, and nothing looser."""

from __future__ import annotations

import math
import re

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[Ee][+-]?[0-9]+)?")


def xml_number(text: str) -> int | float | None:
    """The number that `text` writes as XML schema's double has it; None for anything else, infinities and NaN too."""
    text = text.strip(" \t\r\n")
    if len(text) > 400 or not _NUMBER.fullmatch(text):
        return None
    if "." not in text and "e" not in text and "E" not in text:
        whole = int(text)
        return whole if abs(whole) < 10**18 else float(whole)
    value = float(text)
    return value if math.isfinite(value) else None
