"""A contractor's habits: the words, units, marks and places that stay the same through one workbook."""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from tests.layouts.canvas import Written
from tests.layouts.truth import FPM_PER, round_half_up

WORDS = tomllib.loads(Path(__file__).with_name("words.toml").read_text(encoding="utf-8"))
MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December"]  # fmt: skip
DECIMALS = {"ft/min": [0, 0, 0, 1], "m/s": [2, 2, 3], "cm/s": [0, 1], "mm/s": [0], "km/h": [2], "mph": [2]}
UNIT_MODES = ["field", "field", "field", "heading", "heading", "heading-next", "note-top", "note-side", "note-bottom",
              "cell", "number-format"]  # fmt: skip
DATE_STYLES = ["true", "true", "true", "iso", "d-mon-y", "d-month-y", "month-d-y", "d-mon-yy", "y/m/d", "dmy", "mdy",
               "dmy-dots", "weekday"]  # fmt: skip


@dataclass
class Firm:
    """Habits drawn once per workbook. `rng` serves every further choice."""

    rng: Random
    unit: str
    unit_word: str
    decimals: int
    unit_mode: str
    date_style: str
    date_proof: str  # what settles day and month for 'dmy' and 'mdy': 'label', 'self' or 'calibration'
    length_unit: str
    length_style: str  # 'label' (unit in the label), 'value' (in the value's text), 'next' (in the cell beyond)
    feet_inches: bool
    placement: str  # 'left', 'above', 'same', 'merged'
    gap: int
    suffix: str
    case: str
    file_format: str
    labels: dict[str, str] = field(default_factory=dict)
    features: set[str] = field(default_factory=set)

    @classmethod
    def draw(cls, rng: Random) -> Firm:
        unit = rng.choices(list(FPM_PER), [55, 30, 5, 3, 3, 4])[0]
        metric = unit in ("m/s", "cm/s", "mm/s", "km/h")
        length = rng.choices(["in", "mm", "cm", "ft"], [15, 60, 25, 0] if metric else [88, 5, 4, 3])[0]
        firm = cls(
            rng=rng,
            unit=unit,
            unit_word=rng.choice(WORDS["units"][unit]),
            decimals=rng.choice(DECIMALS[unit]),
            unit_mode=rng.choice(UNIT_MODES),
            date_style=rng.choice(DATE_STYLES),
            date_proof=rng.choice(["label", "self", "calibration"]),
            length_unit=length,
            length_style=rng.choice(["label", "label", "label", "value", "next"]),
            feet_inches=length == "in" and rng.random() < 0.08,
            placement=rng.choices(["left", "above", "same", "merged"], [60, 15, 12, 13])[0],
            gap=rng.choice([1, 1, 1, 2, 3]),
            suffix=rng.choice(["", "", ":", ":", " :", " -", "....."]),
            case=rng.choices(["as-is", "upper", "lower"], [80, 13, 7])[0],
            file_format=rng.choices(["openpyxl", "xlsxwriter", "csv", "ods", "xls"], [35, 35, 12, 9, 9])[0],
        )
        return firm

    def habits(self) -> set[str]:
        """The habits as features, to count outcomes by."""
        return {
            f"unit:{self.unit}",
            f"unit-in:{self.unit_mode}",
            f"date:{self.date_style}",
            f"label:{self.placement}",
            f"length:{self.length_unit} in {self.length_style}",
            f"format:{self.file_format}",
            f"blanks:{self.labels.get('untidy') or 'plain'}",
            f"unit mark:{self.labels.get('bracket')}",
            f"suffix:{self.suffix!r}",
            f"case:{self.case}",
        }

    def note(self, *features: str) -> None:
        self.features.update(features)

    def word(self, name: str) -> str:
        """This firm's word for a field, the same every time."""
        if name not in self.labels:
            self.labels[name] = self.rng.choice(WORDS["labels"][name])
        return self.labels[name]

    def cased(self, text: str) -> str:
        return {"upper": text.upper(), "lower": text.lower()}.get(self.case, text)

    def label(self, name: str, unit: str = "") -> str:
        """The label's text, with a unit in brackets where one is given; the unit's own letters keep their case."""
        text = self._untidy(self.cased(self.word(name)))
        if unit:
            text += {0: f" ({unit})", 1: f" [{unit}]", 2: f", {unit}", 3: f"\n({unit})"}[self._bracket()]
        if name == "surveyed_on" and self.date_style in ("dmy", "mdy") and self.date_proof == "label":
            text += " (dd/mm/yyyy)" if self.date_style == "dmy" else " (mm/dd/yyyy)"
        return text

    def _untidy(self, text: str) -> str:
        """Blanks as they get into labels: hard ones, double ones, one at the end, a line break."""
        kind = self.labels.setdefault(
            "untidy", self.rng.choices(["", "hard", "double", "end", "break"], [80, 6, 4, 6, 4])[0]
        )
        if kind == "end":
            return text + " "
        return text.replace(" ", {"hard": "\u00a0", "double": "  ", "break": "\n"}.get(kind, " "), 1)

    def _bracket(self) -> int:
        if "bracket" not in self.labels:
            self.labels["bracket"] = self.rng.choice("000123")
        return int(self.labels["bracket"])

    def number(self, value: float) -> float | int:
        return round_half_up(value, self.decimals)

    def length(self, name: str, value: float) -> tuple[str, Written, str]:
        """(label, value, unit for the next cell) of a length in this firm's length unit."""
        unit = self.length_unit
        shown = {"in": ["in", "in.", "inches", '"'], "mm": ["mm"], "cm": ["cm"], "ft": ["ft", "feet"]}[unit]
        spelled = self.labels.setdefault("spelled:" + unit, self.rng.choice(shown))
        if self.feet_inches and self.length_style != "label":
            feet, inches = divmod(round(value * 4) / 4, 12)
            tail = f"{inches:g}"
            text = self.rng.choice([f"{feet:g}' {tail}\"", f"{feet:g} ft {tail} in", f"{feet:g}'-{tail}\""])
            return self.label(name), text, ""
        if self.length_style == "label":
            text = self.labels.setdefault("lengths as text", "yes" if self.rng.random() < 0.08 else "")
            return self.label(name, spelled), f"{value:g}" if text and self.file_format != "csv" else value, ""
        if self.length_style == "value":
            joint = "" if spelled == '"' else self.rng.choice([" ", " ", ""])
            return self.label(name), f"{value:g}{joint}{spelled}", ""
        return self.label(name), value, spelled

    def date(self, day: dt.date) -> Written:
        """A date as this firm writes it."""
        d, m, y, month = day.day, day.month, day.year, MONTHS[day.month - 1]
        if self.date_style == "true":
            return dt.datetime(y, m, d)
        return {
            "iso": day.isoformat(),
            "d-mon-y": f"{d} {month[:3]} {y}",
            "d-month-y": f"{d} {month} {y}",
            "month-d-y": f"{month} {d}, {y}",
            "d-mon-yy": f"{d:02d}-{month[:3]}-{y % 100:02d}",
            "y/m/d": f"{y}/{m:02d}/{d:02d}",
            "dmy": f"{d:02d}/{m:02d}/{y}",
            "mdy": f"{m:02d}/{d:02d}/{y}",
            "dmy-dots": f"{d:02d}.{m:02d}.{y}",
            "weekday": f"{['Mon', 'Tues', 'Wed', 'Thurs', 'Fri', 'Sat', 'Sun'][day.weekday()]}, {d} {month[:3]} {y}",
        }[self.date_style]

    def pick(self, *path: str) -> list | str:
        """One of the words under a path of words.toml."""
        found = WORDS
        for step in path:
            found = found[step]
        return self.rng.choice(found)
