"""Profiles from TOML, strictly checked: an unknown key, a limit without source or a gap between grades is an error."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from auditor.criteria.hood_types import type_names
from auditor.criteria.profile import DRAFT, MARKS, Bound, Interval, Limit, Profile, ProfileError, Remark

_TOP = {
    "name": str, "title": str, "version": str, "source": str, "mark": str, "summary": str, "clause": str,
    "enabled": bool, "overlay": bool, "extends": list, "drop": list, "required": list, "mode": str, "sash": dict,
    "method": dict, "interval": dict, "limit": list, "by_type": dict,
}  # fmt: skip
_LIMIT = {
    "criterion": str, "unit": str, "pass": dict, "restricted": dict, "beyond": str, "outcomes": dict, "of": str,
    "statistic": str, "edge_exclusion_in": float, "remarks": list, "printed": dict, "printed_step": float,
    "with_smoke_escaping": str, "condition": str, "source": str, "clause": str, "mark": str, "note": str,
}  # fmt: skip
_SIDES = {"low": ("at_least", "above"), "high": ("at_most", "below")}


@cache
def criteria() -> Mapping[str, Mapping[str, Any]]:
    """The criteria by code: title, side, units or grades, and the sentences about them."""
    return tomllib.loads((resources.files("auditor.criteria") / "criteria.toml").read_text(encoding="utf-8"))


def load_profiles(extra_dirs: Iterable[str | Path] = ()) -> dict[str, Profile]:
    """Every profile by its name: those of the program, then those of a campus's own folders (*.toml).

    A campus's profile may extend one of the program's, but not take its name. ProfileError says what to mend."""
    raw: dict[str, tuple[str, dict[str, Any]]] = {}
    packaged = resources.files("auditor.criteria") / "profiles"
    files = sorted((f for f in packaged.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    own = [f for d in extra_dirs for f in sorted(_folder(d).glob("*.toml"))]
    for file in [*files, *own]:
        data = _parse(file.name, file.read_bytes())
        if data["name"] in raw:
            raise ProfileError(f"{file.name}: a profile is already called {data['name']!r} ({raw[data['name']][0]})")
        raw[data["name"]] = (file.name, data)
    built = {name: _build(name, raw, ()) for name in raw}
    for name, (where, _) in raw.items():
        _check_types(where, built[name], built)
    return built


def combine(profiles: Mapping[str, Profile], name: str) -> Profile | None:
    """A profile by its name, or several joined by '+', each later one over the earlier; None where one is unknown."""
    parts = [profiles.get(part.strip()) for part in name.split("+")]
    if any(p is None for p in parts):
        return None
    known = [p for p in parts if p is not None]
    return known[0] if len(known) == 1 else _joined(known)


def _joined(parts: list[Profile]) -> Profile:
    first = parts[0]
    limits = {limit.key: limit for part in parts for limit in part.limits}
    return Profile(
        **{
            **vars(first),
            "name": " + ".join(p.name for p in parts),
            "title": " + ".join(p.title for p in parts),
            "version": " + ".join(p.version for p in parts),
            "limits": tuple(limits.values()),
            "required": tuple(dict.fromkeys(r for p in parts for r in (p.required or _codes(p.limits)))),
            "enabled": all(p.enabled for p in parts),
            "overlay": all(p.overlay for p in parts),
        }
    )


def _codes(limits: Iterable[Limit]) -> list[str]:
    return [limit.criterion for limit in limits]


def _folder(path: str | Path) -> Path:
    folder = Path(path)
    if not folder.is_dir():
        raise ProfileError(f"{folder}: there is no such folder of profiles")
    return folder


def _parse(where: str, data: bytes) -> dict[str, Any]:
    try:
        out = tomllib.loads(data.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as wrong:
        raise ProfileError(f"{where}: not a TOML file: {wrong}") from None
    _keys(where, out, _TOP)
    for name in ("name", "title", "version", "source", "mark"):
        if not out.get(name):
            raise ProfileError(f"{where}: {name} is missing")
    if "+" in out["name"]:
        raise ProfileError(f"{where}: a name may not hold '+', which joins profiles")
    _one_of(where, "mark", out["mark"], MARKS)
    for i, limit in enumerate(out.get("limit", []), 1):
        _keys(f"{where}: limit {i} ({limit.get('criterion', 'without criterion')})", limit, _LIMIT)
    return out


def _keys(where: str, table: Mapping[str, Any], allowed: Mapping[str, type]) -> None:
    for key, value in table.items():
        if key not in allowed:
            raise ProfileError(f"{where}: {key!r} is not understood; known here: {', '.join(sorted(allowed))}")
        kind = allowed[key]
        ok = (
            isinstance(value, (int, float)) and not isinstance(value, bool)
            if kind is float
            else isinstance(value, kind)
        )
        if not ok:
            raise ProfileError(f"{where}: {key} should be a {kind.__name__}, not {value!r}")


def _one_of(where: str, key: str, value: str, allowed: Iterable[str]) -> str:
    if value not in set(allowed):
        raise ProfileError(f"{where}: {key} is {value!r}; it can be {', '.join(sorted(allowed))}")
    return value


_Raw = Mapping[str, tuple[str, dict[str, Any]]]


def _build(name: str, raw: _Raw, above: tuple[str, ...]) -> Profile:
    where, data = raw[name]
    if name in above:
        raise ProfileError(f"{where}: {' extends '.join((*above, name))}: a profile cannot extend itself")
    parents = []
    for parent in data.get("extends", []):
        if parent not in raw:
            raise ProfileError(f"{where}: it extends {parent!r}, which there is not; known: {', '.join(sorted(raw))}")
        parents.append(_build(parent, raw, (*above, name)))
    own = [_limit(f"{where}: limit {i}", limit, data) for i, limit in enumerate(data.get("limit", []), 1)]
    if len({limit.key for limit in own}) < len(own):
        raise ProfileError(f"{where}: two limits for one criterion; join them in one")
    profile = _assembled(where, data, parents, own)
    _check_whole(where, profile)
    return profile


def _assembled(where: str, data: dict[str, Any], parents: list[Profile], own: list[Limit]) -> Profile:
    inherited = {limit.key: limit for p in parents for limit in p.limits}
    dropped = set(data.get("drop", []))
    if unknown := dropped - {code for code, _ in inherited}:
        raise ProfileError(f"{where}: drop names {sorted(unknown)}, which it does not inherit")
    limits = {k: v for k, v in inherited.items() if k[0] not in dropped} | {limit.key: limit for limit in own}
    base = next((p for p in parents if not p.overlay), None)
    required = data.get("required") or [r for p in parents for r in p.required if r not in dropped] or []
    sash, method = data.get("sash", {}), data.get("method", {})
    _keys(f"{where}: sash", sash, {"height_in": float, "applies": bool})
    _keys(f"{where}: method", method, {"max_cell_ft2": float, "readings_per_cell": int})
    return Profile(
        name=data["name"], title=data["title"], version=data["version"], source=data["source"], mark=data["mark"],
        summary=data.get("summary", ""),
        limits=tuple(limits.values()),
        required=tuple(_one_of(where, "required", r, criteria()) for r in required),
        enabled=data.get("enabled", True) and all(p.enabled for p in parents),
        overlay=data.get("overlay", False),
        mode=_one_of(where, "mode", data.get("mode", "normal"), ("normal", "setback")),
        sash_height_in=sash.get("height_in", base.sash_height_in if base else None),
        sash_applies=sash.get("applies", True),
        interval=_interval(where, data.get("interval"), base),
        max_cell_ft2=method.get("max_cell_ft2", base.max_cell_ft2 if base else None),
        readings_per_cell=method.get("readings_per_cell", base.readings_per_cell if base else None),
        by_type=data.get("by_type", base.by_type if base else {}),
    )  # fmt: skip


def _interval(where: str, table: dict[str, Any] | None, base: Profile | None) -> Interval:
    if table is None:
        return base.interval if base else Interval()
    _keys(f"{where}: interval", table, {"months": int, "ends": str, "by_type": dict})
    months = table.get("months", 12)
    if not 1 <= months <= 120 or any(not 1 <= m <= 120 for m in table.get("by_type", {}).values()):
        raise ProfileError(f"{where}: interval: months should lie between 1 and 120")
    return Interval(
        months, _one_of(where, "interval ends", table.get("ends", "day"), ("day", "month")), table.get("by_type", {})
    )


def _limit(where: str, table: dict[str, Any], profile: dict[str, Any]) -> Limit:
    code = _one_of(where, "criterion", table.get("criterion", ""), criteria())
    where = f"{where} ({code})"
    known = criteria()[code]
    common = {
        "criterion": code,
        "source": table.get("source", profile["source"]),
        "clause": table.get("clause", profile.get("clause", "")),
        "mark": _one_of(where, "mark", table.get("mark", profile["mark"]), MARKS),
        "note": table.get("note", ""),
    }
    if common["mark"] == "M" and profile.get("enabled", True):
        raise ProfileError(f"{where}: a limit from memory (mark M) needs 'enabled = false' in its profile")
    if "grades" in known:
        outcomes = table.get("outcomes", {})
        if set(outcomes) != set(known["grades"]):
            raise ProfileError(f"{where}: outcomes needs one entry for each of {', '.join(known['grades'])}")
        for grade, outcome in outcomes.items():
            _one_of(where, f"outcomes.{grade}", outcome, ("pass", "restricted", "fail"))
        return Limit(**common, outcomes=outcomes)
    return Limit(**common, **_numeric(where, table, known))


def _numeric(where: str, table: dict[str, Any], known: Mapping[str, Any]) -> dict[str, Any]:
    side = known["side"]
    passes = _bound(where, "pass", table.get("pass"), side)
    restricted = _bound(where, "restricted", table["restricted"], side) if "restricted" in table else None
    if restricted and (restricted.value >= passes.value if side == "low" else restricted.value <= passes.value):
        raise ProfileError(f"{where}: the restricted grade should reach further out than the pass grade")
    beyond = _one_of(where, "beyond", table.get("beyond", "fail"), ("restricted", "fail"))
    if restricted and beyond == "restricted":
        raise ProfileError(f"{where}: with a restricted grade, beyond it can only be 'fail'")
    return {
        "side": side,
        "unit": _one_of(where, "unit", table.get("unit", ""), known["units"]),
        "passes": passes,
        "restricted": restricted,
        "beyond": beyond,
        "condition": _one_of(where, "condition", table.get("condition", ""), ("", "AM", "AI", "AU")),
        "of": _one_of(where, "of", table.get("of", "mean"), ("mean", "design")),
        "statistic": _one_of(where, "statistic", table.get("statistic", "max"), ("max", "place-mean")),
        "edge_exclusion_in": float(table.get("edge_exclusion_in", 0)),
        "remarks": tuple(_remark(where, r) for r in table.get("remarks", [])),
        "printed": _printed(where, table.get("printed")),
        "printed_step": float(table.get("printed_step", 0)),
        "with_smoke_escaping": _one_of(
            where, "with_smoke_escaping", table.get("with_smoke_escaping", ""), ("", "fail")
        ),
    }


def _bound(where: str, grade: str, table: dict[str, Any] | None, side: str) -> Bound:
    inclusive, strict = _SIDES[side]
    if not table or len(table) != 1 or not set(table) <= {inclusive, strict}:
        raise ProfileError(f"{where}: {grade} needs one of {inclusive} (inclusive) or {strict} (strict)")
    _keys(f"{where}: {grade}", table, {inclusive: float, strict: float})
    [(key, value)] = table.items()
    return Bound(float(value), key == strict)


def _remark(where: str, table: dict[str, Any]) -> Remark:
    _keys(f"{where}: remark", table, {"above": float, "up_to": float, "text": str})
    if not table.get("text"):
        raise ProfileError(f"{where}: a remark needs its text")
    return Remark(table["text"], table.get("above"), table.get("up_to"))


def _printed(where: str, table: dict[str, Any] | None) -> tuple[float, str] | None:
    if table is None:
        return None
    _keys(f"{where}: printed", table, {"value": float, "unit": str})
    return float(table["value"]), _one_of(where, "printed unit", table["unit"], ("ft/min", "m/s"))


def _check_types(where: str, profile: Profile, built: Mapping[str, Profile]) -> None:
    """Hood types that are named have to be known ones, and the profiles that judge them too."""
    for kind in [*profile.by_type, *profile.interval.by_type]:
        _one_of(where, "a type in by_type", kind, type_names())
    for name in profile.by_type.values():
        if not isinstance(name, str) or combine(built, name) is None:
            raise ProfileError(f"{where}: by_type names the profile {name!r}, which there is not")


def _check_whole(where: str, profile: Profile) -> None:
    """A profile that judges by itself judges smoke and cross-draft too: without them no hood is passed."""
    codes = set(_codes(profile.limits))
    if lacking := set(profile.required) - codes:
        raise ProfileError(f"{where}: required names {sorted(lacking)}, for which it has no limit")
    if not profile.limits:
        raise ProfileError(f"{where}: it has no limits")
    if profile.overlay:
        return
    if "smoke-local" not in codes or not codes & set(DRAFT):
        raise ProfileError(f"{where}: no limits for smoke and cross-draft; extend 'draft-and-smoke', or set them")
    if not profile.required:
        raise ProfileError(f"{where}: required is missing: the criteria without which a hood is not passed")
