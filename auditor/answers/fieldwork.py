"""The hoods due for a survey, gathered into rounds: what the field workbooks are made of."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from auditor.answers.limits import limit_rows, profile_named
from auditor.answers.record import rows
from auditor.answers.states import hood_states

if TYPE_CHECKING:
    from auditor.criteria import Profile
    from auditor.documents.field import Book, HoodToSurvey, Limits, Previous
    from auditor.store.store import Store

WAYS = ("building", "contractor", "route")
WITHIN_DAYS = 30
NOBODY = "no contractor yet"
Progress = Callable[[int, int, str], None]


@dataclass(frozen=True)
class FieldBook:
    """One field workbook: its file name, its bytes and its hoods in the order of the round."""

    name: str
    data: bytes
    hoods: tuple[str, ...]


@dataclass
class Rounds:
    """The books to write, and why hoods that are due have no sheet: hood_id -> reason."""

    books: list[tuple[str, Book]] = field(default_factory=list)
    left_out: dict[str, str] = field(default_factory=dict)


def hoods_due(
    store: Store, today: dt.date, profiles: Mapping[str, Profile] | None = None, *, within_days: int = WITHIN_DAYS
) -> pd.DataFrame:
    """Rows of `hood_states` that a technician should visit, with `why` and `occasion`: never surveyed, overdue or due
    within so many days, awaiting a retest, or not to be used until a held survey is settled; none out of service."""
    states = hood_states(store, today, profiles)
    ahead = pd.Timestamp(today) + pd.Timedelta(days=within_days)
    coming = pd.to_datetime(states["next_due"]).le(ahead)
    waiting = states["awaiting_retest"].fillna(False).astype(bool) | states["state"].eq("awaiting retest")
    held = states["state"].eq("do not use until settled")
    never = states["state"].eq("never surveyed")
    due = (coming | waiting | held | never) & ~states["state"].eq("out of service")
    late = states["overdue_days"].fillna(0).gt(0)
    reasons = np.select(
        [waiting, held, never, late], ["retest", "its last survey is held", "never surveyed", "overdue"], "due"
    )
    day = pd.to_datetime(states["next_due"]).dt.strftime("%Y-%m-%d")
    told = [
        f"{reason}, due {on}"
        if reason == "overdue" and isinstance(on, str)
        else f"due {on}"
        if reason == "due"
        else reason
        for reason, on in zip(reasons.tolist(), day.tolist(), strict=True)
    ]
    occasion = np.select([waiting, never], ["retest", "initial"], "annual")
    return states.assign(why=told, occasion=occasion)[due].reset_index(drop=True)


def rounds(
    store: Store,
    today: dt.date,
    profiles: Mapping[str, Profile] | None = None,
    *,
    by: str = "building",
    unit: str = "ft/min",
    paper: str = "A4",
    within_days: int = WITHIN_DAYS,
    default: str | None = None,
) -> Rounds:
    """The books for the hoods due, one to each building, contractor (of the last survey) or route (the floor of a
    building, in walking order). `default`: the profile of hoods that name none. ValueError for another way of
    grouping."""
    from auditor.documents.field import Book, CannotDraw, grid_of

    if by not in WAYS:
        raise ValueError(f"there are no rounds by '{by}'; use one of {', '.join(WAYS)}")
    due = hoods_due(store, today, profiles, within_days=within_days)
    register = store.register().set_index("hood_id", drop=False)
    last, out = _last_surveys(store), Rounds()
    groups: dict[str, list[HoodToSurvey]] = {}
    contractors: dict[str, list[str]] = {}
    for row in due.to_dict("records"):
        about = register.loc[row["hood_id"]].to_dict()
        reason = _routed(about)
        if reason:
            out.left_out[row["hood_id"]] = reason
            continue
        hood = _hood(
            about | {"profile": _text(about.get("profile")) or default}, row, last.get(row["hood_id"]), profiles
        )
        try:
            grid_of(hood)
        except CannotDraw as trouble:
            out.left_out[row["hood_id"]] = str(trouble).partition(": ")[2]
            continue
        contractor = _text((last.get(row["hood_id"]) or {}).get("contractor"))
        group = _group(by, about, contractor)
        groups.setdefault(group, []).append(hood)
        contractors.setdefault(group, []).append(contractor)
    instruments = store.instruments()
    for group, hoods in sorted(groups.items(), key=lambda item: natural(item[0])):
        mine = {name for name in contractors[group] if name}
        contractor = mine.pop() if len(mine) == 1 else ""
        book = Book(
            group, _in_order(hoods, register), today, unit, paper, contractor, _instruments(instruments, contractor)
        )
        out.books.append((_file_name(group), book))
    return out


def field_books(made: Rounds, progress: Progress | None = None) -> Iterator[FieldBook]:
    """The workbooks of the rounds, one after the other."""
    from auditor.documents.field import field_workbook

    taken: set[str] = set()
    for done, (name, book) in enumerate(made.books, start=1):
        own, number = name, 1
        while own.casefold() in taken:
            number += 1
            own = f"{name}-{number}"
        taken.add(own.casefold())
        yield FieldBook(f"field-{own}.xlsx", field_workbook(book), tuple(hood.hood_id for hood in book.hoods))
        if progress:
            progress(done, len(made.books), book.title)


# --- one hood --------------------------------------------------------------------------------------------------------
def _routed(about: Mapping[str, Any]) -> str:
    from auditor.criteria.hood_types import hood_type

    return hood_type(_text(about.get("hood_type"))).routed


def _hood(about: Mapping[str, Any], due: Mapping[str, Any], last: dict | None, profiles: Any) -> HoodToSurvey:
    from auditor.documents.field import HoodToSurvey

    return HoodToSurvey(
        hood_id=str(about["hood_id"]), building=_text(about.get("building")), floor=_text(about.get("floor")),
        room=_text(about.get("room")), hood_type=_text(about.get("hood_type")),
        opening_width_in=_number(about.get("opening_width_in")),
        opening_height_in=_number(about.get("opening_height_in")),
        working_sash_in=_number(about.get("working_sash_in")), sash_type=_text(about.get("sash_type")) or "vertical",
        occasion=str(due["occasion"]), why=str(due["why"]), limits=limits_of(_text(about.get("profile")), profiles),
        previous=_previous(last),
    )  # fmt: skip


def limits_of(name: str, profiles: Mapping[str, Profile] | None = None) -> Limits:
    """The pass limits of a profile that a technician can look at on the spot, in ft/min and percent."""
    from auditor.documents.field import Limits

    profile = profile_named(name, profiles)
    table = limit_rows(profile)
    passing = table[table["grade"].eq("pass")].drop_duplicates("criterion").set_index("criterion")

    def figure(criterion: str, column: str) -> float | None:
        return _number(passing[column].get(criterion)) if criterion in passing.index else None

    spread = next((limit for limit in profile.limits if limit.criterion == "face-point-spread"), None)
    return Limits(
        point_low_fpm=figure("face-point-low", "value_fpm"),
        spread_percent=figure("face-point-spread", "value") if spread and spread.of == "mean" else None,
        mean_low_fpm=figure("face-mean-low", "value_fpm"), mean_high_fpm=figure("face-mean-high", "value_fpm"),
        draft_fpm=figure("cross-draft-absolute", "value_fpm"), draft_percent=figure("cross-draft-relative", "value"),
        max_cell_ft2=min(profile.max_cell_ft2 or 1.0, 1.0),
    )  # fmt: skip


def _last_surveys(store: Store) -> dict[str, dict]:
    """hood_id -> its last accepted survey."""
    found = rows(
        store,
        'SELECT "hood_id", "surveyed_on", "contractor", "face_mean_fpm", "face_min_fpm", "cross_draft_max_fpm", '
        '"verdict" FROM surveys WHERE "status" = \'accepted\' AND "hood_id" IS NOT NULL '
        'ORDER BY "surveyed_on", "survey_id"',
    )
    return {str(row["hood_id"]): row for row in found.dropna(subset="surveyed_on").to_dict("records")}


def _previous(last: dict | None) -> Previous | None:
    from auditor.documents.field import Previous

    if not last:
        return None
    return Previous(
        last["surveyed_on"].date(), _number(last["face_mean_fpm"]), _number(last["face_min_fpm"]),
        _number(last["cross_draft_max_fpm"]), _text(last["verdict"]),
    )  # fmt: skip


# --- the round -------------------------------------------------------------------------------------------------------
def _group(by: str, about: Mapping[str, Any], contractor: str) -> str:
    building, floor = _text(about.get("building")), _text(about.get("floor"))
    if by == "contractor":
        return contractor or NOBODY
    return f"{building}, floor {floor}" if by == "route" and floor else building or "no building"


def _in_order(hoods: list[HoodToSurvey], register: pd.DataFrame) -> list[HoodToSurvey]:
    """By building and floor; on a floor, from hood to nearest hood where the register says where they stand, else by
    room."""
    floors: dict[tuple, list[HoodToSurvey]] = {}
    for hood in sorted(hoods, key=lambda h: natural(h.building, h.floor, h.room, h.hood_id)):
        floors.setdefault((hood.building, hood.floor), []).append(hood)
    return [hood for some in floors.values() for hood in _walk(some, register)]


def _walk(hoods: list[HoodToSurvey], register: pd.DataFrame) -> list[HoodToSurvey]:
    tags = [hood.hood_id for hood in hoods]
    spots = register.loc[tags, ["x_ft", "y_ft"]].to_numpy(float)
    if np.isnan(spots).any():
        return hoods
    order, left = [0], set(range(1, len(hoods)))
    while left:
        here = spots[order[-1]]
        nearest = min(left, key=lambda n: (round(float(np.hypot(*(spots[n] - here))), 6), n))
        order.append(nearest)
        left.remove(nearest)
    return [hoods[n] for n in order]


def natural(*texts: str) -> tuple:
    """A key that sorts 'Room 2' before 'Room 10'."""
    return tuple(tuple(_piece(part) for part in re.split(r"(\d+)", text) if part) for text in texts)


def _piece(part: str) -> tuple[int, int, str]:
    return (0, int(part), "") if part.isascii() and part.isdigit() else (1, 0, part.casefold())


def _instruments(instruments: pd.DataFrame, contractor: str) -> list[str]:
    if instruments.empty:
        return []
    own = instruments
    if contractor and "contractor" in instruments:
        of = instruments["contractor"].fillna("").astype(str).str.casefold()
        own = instruments[of.isin(["", contractor.casefold()])]
    return sorted({str(tag) for tag in own["instrument_id"].dropna()})


def _file_name(group: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", group.casefold()).strip("-")[:80] or "round"


def _number(value: Any) -> float | None:
    return None if value is None or value != value else float(value)


def _text(value: Any) -> str:
    return "" if value is None or value != value else str(value)
