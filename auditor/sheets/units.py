"""Units in all their spellings, each resolved to one canonical name and a dimension."""

from __future__ import annotations

import re
import tomllib
from functools import cache, lru_cache
from importlib.resources import files
from typing import NamedTuple

from auditor.sheets.text import fold

# To metres per second and to millimetres; exact by definition (1 ft = 0.3048 m, 1 in = 25.4 mm, 1 mile = 1609.344 m).
VELOCITY_UNITS = ("ft/min", "m/s", "cm/s", "mm/s", "km/h", "mph")
LENGTH_UNITS = ("in", "ft", "ft-in", "cm", "mm", "m")

_SQUEEZE = re.compile(r"\s*([/·*^])\s*")
_TWICE = re.compile(r"^([^()]+?)\s*[(\[]([^()\[\]]+)[)\]]$")
_DOTS = re.compile(r"(?<=[^\W\d])\.(?=\s|$|/)")


class Unit(NamedTuple):
    """`name` is canonical; `dimension` is velocity, length, concentration, airflow, temperature, pressure or other."""

    name: str
    dimension: str


def _key(text: str) -> str:
    text = _DOTS.sub("", fold(text))
    while len(text) > 1 and (text[0], text[-1]) in {("(", ")"), ("[", "]"), ("{", "}")}:
        text = text[1:-1].strip()
    return _SQUEEZE.sub(r"\1", text)


@cache
def _spellings() -> dict[str, Unit]:
    table = tomllib.loads((files("auditor.sheets") / "units.toml").read_text(encoding="utf-8"))
    found: dict[str, Unit] = {}
    for dimension, units in table.items():
        for name, spellings in units.items():
            for spelling in [name, *spellings]:
                key = _key(spelling)
                if found.setdefault(key, Unit(name, dimension)).name != name:
                    raise ValueError(f"units.toml: {spelling!r} stands under two units")
    return found


@lru_cache(maxsize=16384)
def find_unit(text: str) -> Unit | None:
    """The unit that the whole text spells, or None. 'FPM ', '(ft/min)', 'm / s' and 'm·s-1' are all understood."""
    key = _key(text)
    found = _spellings().get(key) or (_spellings().get(key.replace(".", "")) if "." in key else None)
    twice = _TWICE.match(key) if found is None else None
    if twice:  # 'feet per minute (fpm)', the same told twice
        first, second = find_unit(twice.group(1)), find_unit(twice.group(2))
        return first if first == second else None
    return found


def velocity_unit(text: str) -> str | None:
    """The canonical velocity unit that the whole text spells, or None."""
    unit = find_unit(text)
    return unit.name if unit and unit.dimension == "velocity" else None


def length_unit(text: str) -> str | None:
    """The canonical length unit that the whole text spells, or None."""
    unit = find_unit(text)
    return unit.name if unit and unit.dimension == "length" else None


_QUOTED = re.compile(r'"([^"]*)"|\\(.)')


@lru_cache(maxsize=4096)
def unit_in_format(number_format: str) -> Unit | None:
    """The unit that a number format prints beside the number (`0.0" m/s"`), '%' for a percentage, else None."""
    if number_format in ("General", "@", ""):
        return None
    section = number_format.split(";")[0]
    literal = "".join(a or b for a, b in _QUOTED.findall(section))
    if literal.strip():
        unit = find_unit(literal)
        if unit:
            return unit
    return Unit("%", "other") if "%" in _QUOTED.sub("", section) else None
