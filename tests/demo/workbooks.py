"""Which workbook holds which surveys, and its bytes."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from fractions import Fraction

from tests.demo.campaigns import CONTRACTORS, contractor_of
from tests.demo.campus import BUILDINGS
from tests.demo.forms import write_amber, write_cobalt
from tests.demo.surveys import Survey, rounded
from tests.demo.tables import write_long_csv, write_long_xlsx, write_rows_csv, write_rows_xlsx, write_sienna

DAMAGED = "2026/cobalt-2026-dunlin-part-2.xlsx"
EXAMPLE_IN = "2026/amber-2026-avocet.xlsx"
AUTUMN = dt.timedelta(150)  # a half-yearly hood's second visit comes later than this after the building's first day


def archive(year: int, surveys: list[Survey]) -> dict[str, bytes]:
    """The earlier years as the department kept them, by contractor."""
    files = {}
    for contractor in CONTRACTORS:
        own = [s for s in surveys if s.contractor == contractor]
        stem = f"{year}/archive-{year}-{contractor.lower()}"
        if year == 2022:
            files[f"{stem}.csv"] = write_long_csv(own, f"{stem}.csv")
        elif year == 2023:
            files[f"{stem}.xlsx"] = write_rows_xlsx(own, f"{stem}.xlsx")
        elif year == 2025:
            files[f"{stem}.xlsx"] = write_long_xlsx(own, f"{stem}.xlsx")
        else:
            for size in sorted({s.hood.columns for s in own}):
                name = f"{stem}-{size}ft.csv"
                files[name] = write_rows_csv([s for s in own if s.hood.columns == size], name)
    return files


def _example(survey: Survey) -> Survey:
    """The template's example, which somebody forgot to take out."""
    face = [[96 + 3 * i + (5 * i + 3 * j) % 7 for j in range(survey.hood.columns)] for i in range(3)]
    return replace(
        survey,
        written={"hood": "EXAMPLE", "room": "000"},
        face=face,
        mean=rounded(Fraction(sum(map(sum, face)), 3 * survey.hood.columns), 1),
        remark="example: overwrite",
        faults=[],
        cells={},
    )


def this_year(surveys: list[Survey]) -> dict[str, bytes]:
    """The contractors' own workbooks, one to a building; retests and autumn visits in workbooks of their own."""
    files = {}
    for b in BUILDINGS:
        own = [s for s in surveys if s.hood.code == b.code and s.occasion != "retest"]
        contractor, word = contractor_of(b.code, 2026), b.name.split()[0].lower()
        first = min(s.date for s in own)
        main, autumn = [s for s in own if s.date < first + AUTUMN], [s for s in own if s.date >= first + AUTUMN]
        name = f"2026/{contractor.lower()}-2026-{word}.xlsx"
        if contractor == "Amber":
            example = _example(main[0]) if name == EXAMPLE_IN else None
            files[name] = write_amber(b.name, 2026, main, name, example)
            if autumn:
                later = name.replace(".xlsx", "-autumn.xlsx")
                files[later] = write_amber(b.name, 2026, autumn, later)
        else:
            files[name] = (write_cobalt if contractor == "Cobalt" else write_sienna)(main, name)
    for contractor in ("Amber", "Cobalt"):
        again = [s for s in surveys if s.occasion == "retest" and s.contractor == contractor]
        name = f"2026/{contractor.lower()}-2026-retests.xlsx"
        files[name] = write_cobalt(again, name) if contractor == "Cobalt" else write_amber("Retests", 2026, again, name)
    return files


def damaged(surveys: list[Survey]) -> bytes:
    """A workbook cut short on its way."""
    data = write_cobalt(surveys, DAMAGED)
    return data[: len(data) * 6 // 10]
