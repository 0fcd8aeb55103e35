"""What a criteria profile is: limits with their unit, clause, source and mark, and the rules of the judgement."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

OUTCOMES = ("pass", "restricted", "fail", "not judged")
MARKS = {
    "S": "read in the issuing body's own text",
    "S2": "seen second-hand",
    "M": "unconfirmed",
    "common practice": "common practice",
    "campus": "the campus's own",
}
SMOKE = ("smoke-local", "smoke-gross")
DRAFT = ("cross-draft-absolute", "cross-draft-relative")


class ProfileError(ValueError):
    """A profile that cannot be used; the message says which file, which place in it, and what would mend it."""


@dataclass(frozen=True)
class Bound:
    """One side of a grade. `strict`: the value itself is outside (above, below), else inside (at_least, at_most)."""

    value: float
    strict: bool = False


@dataclass(frozen=True)
class Remark:
    """A sentence that goes with values above `above` and up to and with `up_to` (each may be open)."""

    text: str
    above: float | None = None
    up_to: float | None = None


@dataclass(frozen=True)
class Limit:
    """One criterion's grades. Numbers: inside `passes` is pass, else inside `restricted` (which lies further out) is
    restricted, else `beyond`: so that the grades cover the whole line. Words: `outcomes` by grade."""

    criterion: str
    source: str
    mark: str
    clause: str = ""
    note: str = ""
    condition: str = ""  # of a tracer-gas limit: AM, AI or AU
    unit: str = ""
    side: str = ""  # 'low' or 'high', the side on which the limit is broken
    passes: Bound | None = None
    restricted: Bound | None = None
    beyond: str = "fail"
    outcomes: Mapping[str, str] = field(default_factory=dict)
    of: str = "mean"  # of a spread: 'mean' or 'design'
    statistic: str = "max"  # of a cross-draft: 'max' (largest reading) or 'place-mean' (largest mean of a place)
    edge_exclusion_in: float = 0.0  # points this close to the opening's side do not count
    remarks: tuple[Remark, ...] = ()
    printed: tuple[float, str] | None = None  # the source's rounded figure in its other unit
    printed_step: float = 0.0  # the source prints its figures in steps of this
    with_smoke_escaping: str = ""

    @property
    def key(self) -> tuple[str, str]:
        return self.criterion, self.condition

    @property
    def cited(self) -> str:
        """Source and clause in one line, and how far they can be relied on."""
        words = ", ".join(w for w in (self.source, self.clause) if w)
        return words + {"S2": " (seen second-hand)", "M": " (unconfirmed)"}.get(self.mark, "")


@dataclass(frozen=True)
class Interval:
    """How long a survey holds: months, by hood type where it differs, to the same day or to the end of that month."""

    months: int = 12
    ends: str = "day"
    by_type: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Profile:
    """A named set of limits. An overlay is only used joined to another ('california-100-70 + draft-30pct')."""

    name: str
    title: str
    version: str
    source: str
    mark: str
    limits: tuple[Limit, ...]
    required: tuple[str, ...]
    summary: str = ""
    enabled: bool = True
    overlay: bool = False
    mode: str = "normal"  # the operating mode it judges: 'normal' or 'setback'
    sash_height_in: float | None = None
    sash_applies: bool = True
    interval: Interval = Interval()
    max_cell_ft2: float | None = None
    readings_per_cell: int | None = None
    by_type: Mapping[str, str] = field(default_factory=dict)  # as a campus's default: the profile of a hood type

    @property
    def label(self) -> str:
        return self.title if self.enabled else f"{self.title} (unconfirmed, switched off)"
