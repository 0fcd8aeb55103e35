"""The review's content: the sentences of sections.toml filled with figures, and frames made ready to be shown. No
figure is computed here."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import pandas as pd

from auditor.documents import figures
from auditor.documents.figures import Unit
from auditor.documents.review.model import Chart, Column, Pack, Section, Table

if TYPE_CHECKING:
    import datetime as dt

_RIGHT = {"count", "number", "percent", "points", "p", "velocity", "slope", "plain"}
_NAME = re.compile(r"\{(\w+)\}")
_FPM = re.compile(r"_fpm(?=_|$)")
_MOST, _MOST_ON_SLIDE = 40, 9  # rows of a table
_BARS = 30  # categories of a chart, so that it has room on a page


@lru_cache(maxsize=1)
def words() -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath("sections.toml").read_text(encoding="utf-8"))


def compose(
    year: int, today: dt.date, facts: Mapping[str, Any], tables: Mapping[str, pd.DataFrame], unit: Unit = figures.FPM
) -> Pack:
    """The review of `facts` and `tables` (see `auditor.answers.reviewing`), velocities in `unit`."""
    said = _facts(facts, unit)
    spec = words()
    return Pack(
        title=_fill(spec["title"], said),
        year=year,
        day=today.isoformat(),
        unit=unit.name,
        caution=spec["caution"],
        standing=tuple((one["name"], _fill(one["text"], said)) for one in spec["standing"]),
        figures=tuple((_fill(one["value"], said), _fill(one["words"], said)) for one in spec["figures"]),
        summary=_sentences(spec["summary"], facts, said),
        sections=tuple(_section(one, facts, tables, said, unit) for one in spec["section"]),
        frames={name: _beside(frame, unit) for name, frame in tables.items()},
    )


def _facts(facts: Mapping[str, Any], unit: Unit) -> dict[str, str]:
    kinds = words()["kinds"]
    said = {}
    for name, value in facts.items():
        kind = kinds.get(name, "count" if isinstance(value, int) else "text")
        said[name] = _shown(value, kind, unit)
    return said | {"unit": unit.name}


def _shown(value: Any, kind: str, unit: Unit) -> str:
    if kind == "plain":  # a year has no thousands' comma
        return figures.MISSING if figures.missing(value) else str(int(value)) if not isinstance(value, str) else value
    if kind == "yes":
        return "yes" if not figures.missing(value) and bool(value) else ""
    return figures.shown(value, kind, unit)


def _fill(template: str, said: Mapping[str, str]) -> str:
    """In one pass, so that nothing in a value is taken for a name."""
    return _NAME.sub(lambda found: said[found[1]], template)


def _sentences(parts: list[dict[str, Any]], facts: Mapping[str, Any], said: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(_fill(one["text"], said) for one in parts if _wanted(one, facts))


def _wanted(part: Mapping[str, Any], facts: Mapping[str, Any]) -> bool:
    def holds(name: str) -> bool:
        value = facts[name]
        return not figures.missing(value) and value != 0

    return not ("when" in part and not holds(part["when"])) and not ("unless" in part and holds(part["unless"]))


def _section(
    spec: Mapping[str, Any],
    facts: Mapping[str, Any],
    tables: Mapping[str, pd.DataFrame],
    said: Mapping[str, str],
    unit: Unit,
) -> Section:
    return Section(
        key=spec["key"],
        title=_fill(spec["title"], said),
        paragraphs=_sentences(spec.get("say", []), facts, said),
        charts=tuple(_chart(one, tables[one["table"]], said) for one in spec.get("chart", ())),
        tables=tuple(_table(one, tables[one["table"]], said, unit) for one in spec.get("table", ())),
    )


def _table(spec: Mapping[str, Any], frame: pd.DataFrame, said: Mapping[str, str], unit: Unit) -> Table:
    columns = [(of, _fill(head, said), kind, share) for of, head, kind, share in spec["columns"]]
    cells = [_column(frame, of, kind, unit) for of, _, kind, _ in columns]
    return Table(
        title=_fill(spec["title"], said),
        columns=tuple(Column(head, share, kind in _RIGHT) for _, head, kind, share in columns),
        rows=tuple(zip(*cells, strict=True)),
        most=spec.get("most", _MOST),
        most_on_slide=spec.get("most_on_slide", _MOST_ON_SLIDE) if spec.get("slide", True) else 0,
        sheet=spec["table"],
        empty=spec.get("empty", "Nothing to show."),
    )


def _column(frame: pd.DataFrame, of: str, kind: str, unit: Unit) -> list[str]:
    if "|" in of:
        low, high = of.split("|")
        pairs = zip(frame[low].tolist(), frame[high].tolist(), strict=True)
        return [figures.between(a, b, kind, unit) for a, b in pairs]
    return [_shown(value, kind, unit) for value in frame[of].tolist()]


def _chart(spec: Mapping[str, Any], frame: pd.DataFrame, said: Mapping[str, str]) -> Chart:
    category = spec["category"]
    frame = frame[frame[category].ne(spec["drop"])] if "drop" in spec else frame
    title = _fill(spec["title"], said)
    if len(frame) > _BARS:
        title += f" (the {_BARS} largest of {len(frame)})"
        size = frame[[of for of, _, _ in spec["series"]]].astype(float).sum(axis=1)
        frame = frame.loc[size.sort_values(ascending=False, kind="stable").index[:_BARS].sort_values()]
    return Chart(
        kind=spec["kind"],
        title=title,
        categories=tuple(
            _shown(value, "plain" if category == "year" else "text", figures.FPM) for value in frame[category]
        ),
        series=tuple(name for _, name, _ in spec["series"]),
        values=tuple(_numbers(frame[of]) for of, _, _ in spec["series"]),
        colours=tuple(colour for _, _, colour in spec["series"]),
        axis=spec["axis"],
        percent=spec.get("percent", False),
        low=_numbers(frame[spec["low"]]) if "low" in spec else (),
        high=_numbers(frame[spec["high"]]) if "high" in spec else (),
    )


def _numbers(column: pd.Series) -> tuple[float | None, ...]:
    return tuple(None if figures.missing(value) else float(value) for value in column.tolist())


def _beside(frame: pd.DataFrame, unit: Unit) -> pd.DataFrame:
    """The frame with every velocity column in the unit asked for too, beside the record's own."""
    if unit is figures.FPM:
        return frame
    made = {}
    for name in frame.columns:
        made[name] = frame[name]
        if _FPM.search(str(name)):
            made[_FPM.sub("_mps", str(name))] = frame[name].astype(float) * unit.per_fpm
    return pd.DataFrame(made)
