"""Tern Hill, a campus that does not exist: buildings, rooms, air handlers and hoods. Lengths in inches and feet."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

from tests.demo.chance import Chance

TITLE = "Tern Hill campus"
TODAY = dt.date(2026, 11, 16)
YEARS = (2022, 2023, 2024, 2025, 2026)


@dataclass(frozen=True)
class Building:
    code: str
    name: str
    hoods: int
    floors: int
    month: int  # in which its yearly visit begins
    departments: tuple[str, ...]
    widths: tuple[int, ...] = (48, 60, 60, 72, 72, 72, 96)
    decline_fpm_per_year: float = 0.0
    start_fpm: float = 98.0  # mean of its hoods in the first year


SMALL = (48, 60, 60, 72, 72)
BUILDINGS = (
    Building("AV", "Avocet Hall", 34, 3, 2, ("Chemistry", "Analytical services")),
    Building("BT", "Bittern House", 28, 3, 3, ("Biochemistry", "Radiochemistry")),
    Building("CU", "Curlew Laboratories", 40, 3, 4, ("Chemistry", "Materials")),
    Building("DU", "Dunlin Hall", 22, 2, 3, ("Geology", "Soil science")),
    Building("FU", "Fulmar Building", 30, 3, 5, ("Materials", "Polymers"), decline_fpm_per_year=-5.0, start_fpm=107.0),
    Building("GD", "Godwit House", 26, 2, 6, ("Pharmacy", "Biology")),
    Building("HN", "Heron Hall", 36, 3, 4, ("Chemistry", "Teaching laboratories"), SMALL),
    Building("LP", "Lapwing Laboratories", 24, 2, 7, ("Physics", "Surface science"), SMALL),
    Building("PL", "Plover Building", 20, 2, 9, ("Agronomy", "Food science"), SMALL, -4.0, 105.0),
)
BY_CODE = {b.code: b for b in BUILDINGS}


@dataclass(frozen=True)
class Hood:
    hood_id: str
    building: str
    floor: str
    room: str
    department: str
    hood_type: str
    opening_width_in: int
    opening_height_in: int
    working_sash_in: int
    design_face_velocity_fpm: int
    design_airflow_cfm: int
    air_handler: str
    installed_on: dt.date
    profile: str
    interval_months: int
    in_service: str
    sash_type: str
    x_ft: float
    y_ft: float

    @property
    def code(self) -> str:
        return self.hood_id[:2]

    @property
    def columns(self) -> int:
        """Columns of the measuring grid: cells at most a foot wide."""
        return -(-self.opening_width_in // 12)

    @property
    def room_key(self) -> tuple[str, str]:
        return (self.building, self.room)


@dataclass(frozen=True)
class DraftyRoom:
    """A room where the air of the room blows past the hoods in these years, from one side."""

    building: str
    floor: str
    room: str
    hoods: int
    air_handler: str
    side: str
    years: tuple[int, ...]
    cause: str


DIFFUSER = "supply outlets of one air handler blow along the hoods from the left"
DRAFTY_ROOMS = (
    DraftyRoom("CU", "2", "210", 4, "AHU-CU4", "left", (2022, 2023, 2025, 2026), DIFFUSER),
    DraftyRoom("CU", "2", "212", 3, "AHU-CU4", "left", (2022, 2024, 2025, 2026), DIFFUSER),
    DraftyRoom("CU", "2", "214", 5, "AHU-CU4", "left", (2022, 2023, 2024, 2025, 2026), DIFFUSER),
    DraftyRoom("CU", "2", "216", 4, "AHU-CU4", "left", (2023, 2025, 2026), DIFFUSER),
    DraftyRoom("HN", "1", "118", 3, "AHU-HN1", "right", (2022, 2024, 2025, 2026), "a corridor door on the right"),
)
QUIET_ROOM_ON_THE_SAME_AIR_HANDLER = ("CU", "2", "220", 2, "AHU-CU4")

# A few hoods that are not the general kind: type by building and running number.
SPECIAL = {
    **{f"AV-{n}": "perchloric acid" for n in (109, 110, 121)},
    **{f"BT-{n}": "radioisotope" for n in (105, 106, 117, 118)},
    **{f"DU-{n}": "particulate cabinet" for n in (108, 109, 116)},
    **{f"GD-{n}": "low-flow" for n in (104, 105, 112, 113, 119)},
}
NEW_HOODS = {  # hood: year of its first (initial) survey
    "AV-134": 2023, "CU-140": 2023, "DU-122": 2024, "LP-124": 2024, "HN-136": 2025, "BT-128": 2025,
}  # fmt: skip
NEVER_SURVEYED = {"AV-133": dt.date(2026, 8, 3), "GD-126": dt.date(2026, 9, 14), "LP-123": dt.date(2026, 8, 24)}
OUT_OF_SERVICE_SINCE_2025 = ("HN-135", "DU-121", "CU-139")
MISSED_IN = {  # hoods that the contractor could not get to: 'room locked', 'hood blocked'
    "AV-127": (2026,), "BT-123": (2026,), "GD-121": (2025, 2026), "HN-129": (2026,), "LP-117": (2025, 2026),
}  # fmt: skip


def _rooms(building: Building) -> list[tuple[str, str, int, str]]:
    """(floor, room, hoods, air handler) of a building, the planted rooms among them."""
    planted = [(r.floor, r.room, r.hoods, r.air_handler) for r in DRAFTY_ROOMS if r.building == building.code]
    if building.code == QUIET_ROOM_ON_THE_SAME_AIR_HANDLER[0]:
        planted.append(QUIET_ROOM_ON_THE_SAME_AIR_HANDLER[1:])
    taken = {room for _, room, _, _ in planted}
    left = building.hoods - sum(hoods for _, _, hoods, _ in planted)
    chance, rooms, n = Chance("rooms", building.code), list(planted), 0
    while left:
        floor = n % building.floors + 1
        room = str(100 * floor + 2 + 2 * (n // building.floors))
        n += 1
        if room in taken:
            continue
        hoods = min(left, chance.choice((1, 2, 2, 3, 3, 4)))
        rooms.append((str(floor), room, hoods, f"AHU-{building.code}{floor}"))
        left -= hoods
    return sorted(rooms)


def _hood(building: Building, number: int, room: tuple[str, str, int, str], place: int) -> Hood:
    floor, room_number, _, air_handler = room
    hood_id = f"{building.code}-{number}"
    chance = Chance("hood", hood_id)
    kind = SPECIAL.get(hood_id) or ("variable volume" if building.code == "LP" else "general chemical")
    cabinet = kind == "particulate cabinet"
    width = 48 if cabinet else chance.choice(building.widths)
    sash = 10 if cabinet else chance.choice((18, 18, 18, 18, 16, 20))
    design = {"low-flow": 75, "radioisotope": 110}.get(kind, 100)
    visit = dt.date(NEW_HOODS[hood_id], building.month, 1) - dt.timedelta(20) if hood_id in NEW_HOODS else None
    index = (int(room_number) % 100) // 2
    return Hood(
        hood_id=hood_id,
        building=building.name,
        floor=floor,
        room=room_number,
        department=building.departments[int(floor) % 2],
        hood_type=kind,
        opening_width_in=width,
        opening_height_in=10 if cabinet else 28,
        working_sash_in=sash,
        design_face_velocity_fpm=design,
        design_airflow_cfm=5 * round(design * width * sash / 144 / 5),
        air_handler=air_handler,
        installed_on=NEVER_SURVEYED.get(hood_id)
        or visit
        or dt.date(chance.integer(1998, 2019), chance.integer(1, 12), chance.integer(1, 28)),
        profile="common-practice",
        interval_months=6 if kind == "radioisotope" else 12,
        in_service="no" if hood_id in OUT_OF_SERVICE_SINCE_2025 else "yes",
        sash_type="none" if cabinet else "vertical",
        x_ft=float(12 + 32 * ((index + 1) // 2) + 7 * place),
        y_ft=14.0 if index % 2 else 58.0,
    )


def make_hoods() -> list[Hood]:
    """All hoods of the campus, in order of building, room and place."""
    hoods: list[Hood] = []
    for building in BUILDINGS:
        number = 100
        for room in _rooms(building):
            for place in range(room[2]):
                number += 1
                hoods.append(_hood(building, number, room, place))
    planted = {(r.building, r.room) for r in DRAFTY_ROOMS}
    return [_ordinary(h) if (h.code, h.room) in planted else h for h in hoods]


def _ordinary(hood: Hood) -> Hood:
    return replace(hood, working_sash_in=18, design_airflow_cfm=5 * round(100 * hood.opening_width_in * 18 / 144 / 5))
