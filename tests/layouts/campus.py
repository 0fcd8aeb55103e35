"""An invented campus: hoods, and what a contractor measured at them."""

from __future__ import annotations

import datetime as dt
from random import Random

from tests.layouts.firm import Firm
from tests.layouts.truth import FPM_PER, INCH_PER, Reading, Survey

BUILDINGS = ["Alder Building", "Bryony Building", "Cedar Building", "Dogwood Building", "Elder Building"]
TAG_STYLES = ["{L}-{n:04d}", "FH-{n:04d}", "FH{n:04d}", "{L}{n:04d}", "H-{n:04d}", "NB-{n:04d}", "7{n:04d}"]


def vary_tag(rng: Random, hood_id: str) -> str | int:
    """A tag as people write it: blanks, dashes, lower case, a number cell, never another tag."""
    if hood_id.isdigit():
        return rng.choice([hood_id, int(hood_id)])
    return rng.choice([
        hood_id, hood_id, hood_id, hood_id, hood_id.lower(), hood_id.replace("-", " "), " " + hood_id + " ",
        hood_id.replace("-", " - "), hood_id.replace("-", ""), hood_id.replace("-", "\u2011"),
    ])  # fmt: skip


def draw_survey(rng: Random, firm: Firm, number: int, style: str, rows: int, columns: int) -> Survey:
    """One sound survey of a hood whose number is unique in the whole run."""
    place = number % len(BUILDINGS)
    hood_id = style.format(L="ABCDE"[place], n=number)
    floor = 1 + number % 4
    day = dt.date(2026, 2, 2) + dt.timedelta(days=rng.randrange(220))
    if firm.date_style in ("dmy", "mdy", "dmy-dots") and (firm.date_proof == "self" or firm.date_style == "dmy-dots"):
        day = day.replace(day=rng.randrange(13, 29))
    sash_value, sash_in = draw_length(rng, firm, [14, 16, 18, 18, 18, 20, 12])
    mean = min(max(rng.gauss(98, 9), 78), 122)
    grid = {
        (r, c): measured(firm, mean * (1 + rng.gauss(0, 0.05)) + 3 * (r - rows / 2))
        for r in range(1, rows + 1)
        for c in range(1, columns + 1)
    }
    survey = Survey(
        hood_id=hood_id,
        hood_written=vary_tag(rng, hood_id),
        building=BUILDINGS[place],
        floor=str(floor),
        room=str(floor * 100 + number % 90 + 10),
        date=day,
        date_written=firm.date(day),
        sash_in=sash_in,
        sash_value=sash_value,
        sash_unit=firm.length_unit,
        unit=firm.unit,
        rows=rows,
        columns=columns,
        passes=[grid],
        opening_width_in=[48, 60, 72][number % 3],
        opening_height_in=28,
        instrument=rng.choice(["TA-2", "VA 11", "SN 40217", "HW-7"]),
        calibrated_on=dt.date(2026, 1, 14),
        calibration_due=dt.date(2027, 1, 25),
        text_in_unit=firm.unit_mode == "cell",
    )
    if survey.text_in_unit:
        write_units(rng, firm, survey)
    return survey


def measured(firm: Firm, fpm: float) -> Reading:
    """A velocity as the firm's instrument would show it."""
    value = firm.number(fpm / FPM_PER[firm.unit])
    return Reading(value, value)


def write_units(rng: Random, firm: Firm, survey: Survey) -> None:
    """Readings as text with the unit in the cell."""
    joint = rng.choice([" ", " ", ""])
    comma = rng.random() < 0.2 and firm.file_format != "csv"
    for one in survey.passes:
        for reading in one.values():
            if reading.planted:
                continue
            number = f"{reading.value:.{firm.decimals}f}"
            reading.written = (number.replace(".", ",") if comma else number) + joint + firm.unit_word
    survey.codes.append("reading-coerced")


def draw_length(rng: Random, firm: Firm, inches: list[int]) -> tuple[float, float]:
    """(value in the firm's length unit, inches)."""
    inch = rng.choice(inches)
    value = {
        "in": float(inch) if rng.random() < 0.8 else inch + 0.5,
        "mm": float(round(inch * 25.4)) if rng.random() < 0.7 else round(inch * 25.4, 1),
        "cm": float(round(inch * 2.54)),
        "ft": inch / 12 if inch % 3 == 0 else 1.5,
    }[firm.length_unit]
    value = int(value) if value == int(value) else value
    return value, value * INCH_PER[firm.length_unit]


def draw_cross(rng: Random, firm: Firm, count: int, most_fpm: float = 40.0) -> list[Reading]:
    return [measured(firm, min(max(2.0, rng.gauss(9, 4)), most_fpm)) for _ in range(count)]


def register_row(survey: Survey) -> dict:
    """The register's row of a survey's hood."""
    return {
        "hood_id": survey.hood_id,
        "building": survey.building,
        "floor": survey.floor,
        "room": survey.room,
        "hood_type": "general chemical",
        "opening_width_in": survey.opening_width_in,
        "opening_height_in": survey.opening_height_in,
        "air_handler": "AHU-" + survey.building[0],
        "installed_on": "2009-06-01",
        "interval_months": 12,
        "sash_type": "vertical",
    }
