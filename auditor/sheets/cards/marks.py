"""Which sheets a card is for."""

from __future__ import annotations

from collections.abc import Sequence
from fnmatch import fnmatchcase

from auditor.sheets.cards.schema import Card, Mark
from auditor.sheets.fields import pair_fields
from auditor.sheets.model import SheetAccount
from auditor.sheets.scene import Scene
from auditor.sheets.text import fold, is_blank


def mark_holds(mark: Mark, scene: Scene) -> bool:
    """True where a sheet bears a mark that is not empty, in all its parts."""
    if mark.empty:
        return False
    if mark.sheet and not fnmatchcase(fold(scene.sheet.name), fold(mark.sheet)):
        return False
    if any(fold(scene.text(spot)) != fold(text) for spot, text in mark.cells):
        return False
    if any(is_blank(scene.text(spot)) for spot in mark.filled):
        return False
    return not mark.texts or {fold(t) for t in mark.texts} <= {fold(scene.text(s)) for s in scene.meanings}


def firms_named(scenes: Sequence[Scene], accounts: Sequence[SheetAccount]) -> list[str]:
    """For each sheet the one contractor whom it names as such; else the one whom the other sheets of its workbook name;
    '' where there is none, or more than one. Names are as written."""
    own = [_own_firms(scene, account) for scene, account in zip(scenes, accounts, strict=True)]
    every: dict[str, str] = {}
    for found in own:
        every |= found
    whole = next(iter(every.values())) if len(every) == 1 else ""
    return [next(iter(found.values())) if len(found) == 1 else ("" if found else whole) for found in own]


def _own_firms(scene: Scene, account: SheetAccount) -> dict[str, str]:
    """Key -> name as written."""
    names = [str(f.value) for s in account.surveys if (f := s.fields.get("contractor")) and f.value]
    if not names and scene.filled:
        pairs = [p for p in pair_fields(scene, scene.extent) if p.name == "contractor"]
        names = [p.text if p.text is not None else scene.text(p.at) for p in pairs]
    return {firm_key(name): name.strip() for name in names if firm_key(name)}


def firm_key(name: str) -> str:
    """What two spellings of a firm's name have in common."""
    return fold(name).strip(" .,")


def words_apply(card: Card, scene: Scene, firm: str) -> bool:
    """True where the words of a card hold on a sheet: its mark, or else the firm that the sheet names."""
    return mark_holds(card.mark, scene) if not card.mark.empty else firm_key(firm) == firm_key(card.contractor)
