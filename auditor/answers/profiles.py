"""The profiles that verdicts name, as they are now: one that is no longer there is never taken for another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from auditor.criteria import Profile


def profiles_named(names: Iterable[str], profiles: Mapping[str, Profile] | None = None) -> dict[str, Profile | None]:
    """Each name (two may be joined, 'a + b') with its profile; None where a part of it is not among `profiles`."""
    from auditor.criteria import combine, load_profiles

    known = load_profiles() if profiles is None else profiles
    return {name: combine(known, name) for name in names}


def title_of(name: str, profile: Profile | None) -> str:
    return profile.title if profile else f"{name} (no longer among the profiles)"
