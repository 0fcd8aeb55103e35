"""What a person settled about one survey, offered for all sheets of its contractor. Nothing is kept unless asked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pandas as pd

from auditor.decisions import typed
from auditor.sheets import Context
from auditor.sheets.cards import CardError, load_card
from auditor.sheets.cards.headings import heading_over
from auditor.sheets.cards.lines import Line, new_card, with_line
from auditor.sheets.cards.marks import firm_key, firms_named
from auditor.sheets.cards.writing import quoted
from auditor.sheets.dates import parse_date_text
from auditor.sheets.labels import analyse
from auditor.sheets.understand import prepare, safe_account
from auditor.survey import match_hoods
from auditor.teaching.kept import cards_of
from auditor.teaching.past import Changed, would_change
from auditor.workbook import Unreadable, read_workbook

if TYPE_CHECKING:
    from auditor.store.store import Store


@dataclass
class Offer:
    """One thing that could be known from now on. `line` is what would be kept: of the card of `contractor`, or, where
    `alias` is a hood's other tag, of the list of aliases, which holds for all. `against` says why it cannot be."""

    says: str
    line: str
    contractor: str = ""
    alias: tuple[str, str] | None = None
    item: Line | None = None
    changes: list[Changed] = field(default_factory=list)
    unread: int = 0
    against: str = ""


def offers_for(store: Store, survey_id: str, values: Mapping[str, str]) -> list[Offer]:
    """What of the facts settled for a survey could hold for its contractor's other sheets, with the held surveys that
    each would have changed. Looked up before the facts are settled or after: the sheet's own words count."""
    surveys, readings = store.facts([survey_id])
    if surveys.empty:
        return []
    survey = surveys.iloc[0]
    found: list[Offer] = []
    if "hood" in values and (offer := _alias(store, surveys, values["hood"])):
        found.append(offer)
    if "unit" in values or "surveyed_on" in values:
        found += _lines(store, survey, readings, values)
    for offer in found:
        offer.changes = [one for one in offer.changes if one.survey_id != survey_id]
    return found


def _alias(store: Store, surveys: pd.DataFrame, hood: str) -> Offer | None:
    written = surveys["hood"].iloc[0]
    register = store.register()
    aliases = dict(store.aliases().itertuples(index=False, name=None))
    tags = pd.DataFrame({"hood": [written, hood], "surveyed_on": pd.to_datetime([None, None])})
    mine, meant = match_hoods(tags, register, aliases)["hood_id"]
    if not isinstance(written, str) or not written.strip() or not isinstance(meant, str) or isinstance(mine, str):
        return None
    offer = Offer(
        f"'{written}' is hood {meant}, on the sheets of every contractor", f"{written} = {meant}",
        alias=(written, meant),
    )  # fmt: skip
    held = store.table("surveys", status="held")
    unknown = held[~held["hood_id"].isin(register["hood_id"])]
    same, _ = store.facts(list(unknown["survey_id"])) if len(unknown) else (surveys.iloc[:0], None)
    for row in same[same["hood"].map(_key).eq(_key(written))].to_dict("records"):
        offer.changes.append(Changed(row["survey_id"], row["workbook"], row["sheet"], f"hood: unknown -> {meant}"))
    return offer


def _key(tag: Any) -> str:
    return " ".join(tag.casefold().split()) if isinstance(tag, str) else ""


def _lines(store: Store, survey: pd.Series, readings: pd.DataFrame, values: Mapping[str, str]) -> list[Offer]:
    looked = _look_again(store, survey)
    if looked is None:
        return []
    scene, firm = looked
    problems = store.problems([survey["survey_id"]])
    wanted: list[tuple[str, Line]] = []
    if "unit" in values and pd.isna(survey["unit"]):
        unit = str(typed("unit", values["unit"])[0])
        face = list(readings.loc[readings["kind"].eq("face"), "cell"])
        wanted += _unit_line(scene, survey, face, problems, unit)
    if "surveyed_on" in values and problems["code"].eq("date-ambiguous").any():
        wanted += _order_line(survey, typed("surveyed_on", values["surveyed_on"])[0])
    return [_offer(store, firm, says, line) for says, line in wanted]


def _look_again(store: Store, survey: pd.Series) -> tuple[Any, str] | None:
    """The survey's sheet and the contractor that it names; None where its bytes are gone."""
    data = store.workbook_bytes(survey["workbook_sha256"])
    if data is None:
        return None
    try:
        scenes, env = prepare(read_workbook(data, survey["workbook"]), Context(frozenset(store.register()["hood_id"])))
    except Unreadable:
        return None
    firms = firms_named(scenes, [safe_account(scene, env) for scene in scenes])
    found = [(s, f) for s, f in zip(scenes, firms, strict=True) if s.sheet.name == survey["sheet"]]
    return found[0] if found else None


def _unit_line(
    scene: Any, survey: pd.Series, face: list[str], problems: pd.DataFrame, unit: str
) -> list[tuple[str, Line]]:
    """The words that the unit can be tied to: the firm's own spelling of it, else the heading of the readings, else
    all its sheets that say none."""
    if problems["code"].eq("unit-mismatch").any():
        return []
    strange = problems.loc[problems["code"].eq("unit-unknown"), "written"]
    for text in strange:
        word = analyse(text).strange_unit or text
        if 0 < len(word) <= 40:
            return [(f"the unit '{word}' is {unit}", Line("unit_words", word, quoted(unit)))]
    spot = heading_over(scene, face) if face else None
    if spot is None:
        return [(f"velocities are in {unit} where the sheet says no unit", Line("", "unit", quoted(unit)))]
    label = " ".join(scene.text(spot).split())
    value = f'{{ means = "face", unit = {quoted(unit)} }}'
    return [(f"'{label}' is face velocity in {unit}", Line("labels", label, value))]


def _order_line(survey: pd.Series, settled: Any) -> list[tuple[str, Line]]:
    written = survey["surveyed_on_written"]
    if not isinstance(written, str) or not isinstance(settled, dt.date):
        return []
    orders = [order for order in ("dmy", "mdy") if parse_date_text(written, order).value == settled]
    words = {"dmy": "the day stands first in dates", "mdy": "the month stands first in dates"}
    return [(words[orders[0]], Line("", "date_order", quoted(orders[0])))] if len(orders) == 1 else []


def _offer(store: Store, firm: str, says: str, line: Line) -> Offer:
    offer = Offer(f"on the sheets of {firm or 'this contractor'}, {says}", line.text, firm, item=line)
    if not firm:
        offer.against = "the workbook names no contractor (or several), so that there is no card to keep it in"
        return offer
    try:
        card = load_card(with_line(_text_of(store, firm), line), f"the card of {firm}")
    except CardError as error:
        offer.against = str(error)
        return offer
    before, _ = cards_of(store)
    others = [c for c in before if firm_key(c.contractor) != firm_key(firm)]
    offer.changes, offer.unread = would_change(store, before, [*others, card], firm)
    return offer


def _text_of(store: Store, firm: str) -> str:
    """The text of a contractor's card as it holds now, or the head of a new one."""
    kept = store.cards()
    mine = kept.loc[kept["contractor"].map(firm_key).eq(firm_key(firm)), "body"]
    return mine.iloc[0] if len(mine) else new_card(firm)


def remember(store: Store, offers: Sequence[Offer], survey_id: str, by: str) -> list[str]:
    """Keeps what was offered, by name: aliases in the store's list, lines in the contractor's card. Returns the held
    surveys whose hood is known by it now: they are to be judged again. Facts as written never change."""
    again: list[str] = []
    for offer in offers:
        if offer.against:
            continue
        if offer.alias:
            store.add_alias(*offer.alias, by)
            again += [one.survey_id for one in offer.changes]
        elif offer.item:
            text = with_line(_text_of(store, offer.contractor), offer.item)
            store.add_card(offer.contractor, text, by, why=f"settled for survey {survey_id}: {offer.line}")
    return again
