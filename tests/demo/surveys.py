"""What was measured at a hood on a day: the true air, and the figures as a contractor wrote them down."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

from tests.demo import judge
from tests.demo.campus import BY_CODE, DRAFTY_ROOMS, Hood
from tests.demo.chance import Chance

SIDES = ("left", "centre", "right")
DIRECTIONS = ("parallel", "perpendicular", "vertical")
GOOD_SMOKE = ("drawn in", "drawn in", "captured", "drawn in to the slots")
GOOD_CLOUD = ("captured", "captured", "captured, slow clearing", "drawn in")
LAZY_SMOKE = ("lazy at left edge", "lazy at right edge", "rolling behind the sash, stays inside")
BAD_SMOKE = ("escape at sill", "reverse flow at left edge")
REMARKS = (
    None, None, None, None, None, None, None, None, "sash handle loose", "equipment raised on blocks",
    "bottles stored along the back", "light out", "slots clear", "sash label faded", "large oven near the sash",
)  # fmt: skip


@dataclass(frozen=True)
class Fault:
    """Something planted. `key` names the place in the survey ('mean', 'face:2:4', 'grid', 'hood' ...); None: absent.
    `exact` is True where the discrepancy belongs to just that cell."""

    code: str
    severity: str
    key: str | None
    field: str
    story: str
    exact: bool = True


@dataclass(frozen=True)
class TextNumber:
    """A number typed as text: '98 fpm'."""

    text: str
    value: float


@dataclass
class Survey:
    """One survey as written. `face[row][column]` and `cross[side, direction]` hold what stands in the cells: a number
    in `unit`, or whatever a fault put there. `cells` and the place are filled in by the writers."""

    hood: Hood
    year: int
    date: dt.date
    occasion: str
    contractor: str
    surveyor: str
    instrument: str
    calibrated: dt.date | None
    due: dt.date | None
    unit: str
    face: list[list[Any]]
    cross: dict[tuple[str, str], Any]
    smoke_local: str | None
    smoke_gross: str | None
    monitor: float | None
    remark: str | None = None
    mode: str = "occupied"
    mean: Any = None
    verdict: str | None = None
    written: dict[str, Any] = field(default_factory=dict)  # facts that a fault changed: hood, date, sash, unit ...
    faults: list[Fault] = field(default_factory=list)
    hood_known: bool = True
    judged: bool = True
    workbook: str = ""
    sheet: str = ""
    cells: dict[str, str] = field(default_factory=dict)

    @property
    def held(self) -> bool:
        return any(f.severity == "hold" for f in self.faults)

    @property
    def face_fpm(self) -> list[Fraction]:
        return [judge.fpm(n, self.unit) for row in self.face for v in row if (n := number(v)) is not None]

    @property
    def cross_fpm(self) -> list[Fraction]:
        return [judge.fpm(n, self.unit) for v in self.cross.values() if (n := number(v)) is not None]

    def truth(self) -> tuple[str, list[str]]:
        """(verdict, criteria not met) by the readings as written."""
        smoke = [s if s and "photo" not in s else None for s in (self.smoke_local, self.smoke_gross)]
        judged = self.judged and self.hood.hood_type != "particulate cabinet"
        return judge.judge(self.face_fpm, self.cross_fpm, smoke, judged=judged)


def number(value: object) -> float | int | None:
    """The number in a cell of the grid, None where none can be read."""
    if isinstance(value, TextNumber):
        return value.value
    return value if isinstance(value, int | float) else None


def rounded(value: Fraction | float, places: int) -> float | int:
    """Half away from zero, as a person rounds; a whole number comes back as int."""
    shift = Fraction(10) ** places
    n = int(Fraction(value) * shift + Fraction(1, 2))
    return n if places == 0 else float(Decimal(n) / (Decimal(10) ** places))


def written_mean(survey: Survey) -> float | int:
    """The average as a careful contractor writes it: one decimal in ft/min, two in m/s."""
    values = [Fraction(str(n)) for row in survey.face for v in row if (n := number(v)) is not None]
    return rounded(sum(values) / len(values), 2 if survey.unit == "m/s" else 1)


def drafty(hood: Hood, year: int) -> str | None:
    """The side from which the room blows, in a planted room and year."""
    for room in DRAFTY_ROOMS:
        if (hood.code, hood.room) == (room.building, room.room) and year in room.years:
            return room.side
    return None


def hood_mean_fpm(hood: Hood, year: int) -> float:
    """The hood's own mean in a year, before the noise of the day."""
    building = BY_CODE[hood.code]
    own = Chance("base", hood.hood_id).normal(0.0, 8.5)
    room = Chance("room air", *hood.room_key).normal(0.0, 4.0)
    level = building.start_fpm
    if hood.hood_type == "variable volume":
        level, own, room = 100.0, own * 0.5, room * 0.5
    elif hood.hood_type in ("low-flow", "radioisotope", "particulate cabinet"):
        level = {"low-flow": 73.0, "radioisotope": 110.0, "particulate cabinet": 103.0}[hood.hood_type]
        own, room = own * 0.2, 0.0
    elif building.decline_fpm_per_year:
        own, room = own * 0.55, room * 0.5
    slow = -1.0 if Chance("slow", hood.hood_id).happens(0.05) else 0.0
    return level + own + room + (building.decline_fpm_per_year or slow) * (year - 2022)


def draw_face(hood: Hood, mean_fpm: float, chance: Chance) -> list[list[float]]:
    """Three rows, the lowest fastest; spread lognormal, median 5 %, 90th percentile 9 % of the mean."""
    spread = 0.025 if hood.hood_type == "low-flow" else chance.lognormal(0.05, 0.459)
    gradient = 0.03 if hood.hood_type == "low-flow" else chance.uniform(0.05, 0.10)
    noise = max(spread**2 - (0.41 * gradient) ** 2, 0.02**2) ** 0.5
    return [
        [mean_fpm * (1 + gradient * (row - 1) / 2 + chance.normal(0, noise)) for _ in range(hood.columns)]
        for row in range(3)
    ]


def draw_cross(hood: Hood, year: int, chance: Chance) -> dict[tuple[str, str], float]:
    """Left, centre, right by three directions; the largest is lognormal, median 9, 95th percentile 20 ft/min, but in
    a planted room and year comes from the planted side, parallel to the opening."""
    side = drafty(hood, year)
    if side and chance.happens(0.88):
        largest = chance.uniform(26, 40)
        fade = dict(zip(SIDES if side == "left" else SIDES[::-1], (1.0, 0.55, 0.35), strict=True))
        weight = {"parallel": 1.0, "perpendicular": 0.45, "vertical": 0.3}
        return {
            (s, d): largest * fade[s] * weight[d] * (1 if (s, d) == (side, "parallel") else chance.uniform(0.75, 1))
            for s in SIDES
            for d in DIRECTIONS
        }
    largest = max(chance.lognormal(9.0, 0.485), 2.5)
    place = (chance.choice(SIDES), chance.choice(DIRECTIONS))
    return {(s, d): largest * (1 if (s, d) == place else chance.uniform(0.25, 0.85)) for s in SIDES for d in DIRECTIONS}


def draw_smoke(hood: Hood, year: int, chance: Chance) -> tuple[str, str]:
    local, cloud = chance.choice(GOOD_SMOKE), chance.choice(GOOD_CLOUD)
    lot = chance.uniform()
    if lot < 0.007:
        local = chance.choice(BAD_SMOKE)
    elif lot < 0.04:
        local = chance.choice(LAZY_SMOKE)
    elif drafty(hood, year) and lot < 0.25:
        local = "lazy at left edge" if drafty(hood, year) == "left" else "lazy at right edge"
    return local, cloud


def write(value_fpm: float, unit: str) -> float | int:
    """A reading as the instrument shows it: whole ft/min, or two decimals in m/s."""
    return rounded(value_fpm, 0) if unit == "ft/min" else rounded(value_fpm * 0.00508, 2)
