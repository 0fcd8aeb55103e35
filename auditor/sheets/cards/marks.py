"""Which sheets a card is for."""

from __future__ import annotations

from collections.abc import Sequence
from fnmatch import fnmatchcase

from auditor.sheets.cards.schema import Card, Mark
from auditor.sheets.fields import pair_fields
from auditor.sheets.model import SheetAccount
from auditor.sheets.scene import Scene
from auditor.sheets.text import fold


def mark_holds(mark: Mark, scene: Scene) -> bool:
    """True where a sheet bears a mark that is not empty, in all its parts."""
    if mark.empty:
        return False
    if mark.sheet and not fnmatchcase(fold(scene.sheet.name), fold(mark.sheet)):
        return False
    if any(fold(scene.text(spot)) != fold(text) for spot, text in mark.cells):
        return False
    return not mark.texts or {fold(t) for t in mark.texts} <= {fold(scene.text(s)) for s in scene.meanings}


def firms_named(scenes: Sequence[Scene], accounts: Sequence[SheetAccount]) -> list[str]:
    """For each sheet the one contractor whom it names as such, folded; else the one whom the other sheets of its
    workbook name; '' where there is none, or more than one."""
    own = [_own_firms(scene, account) for scene, account in zip(scenes, accounts, strict=True)]
    every = set().union(*own) if own else set()
    whole = next(iter(every)) if len(every) == 1 else ""
    return [next(iter(found)) if len(found) == 1 else ("" if found else whole) for found in own]


def _own_firms(scene: Scene, account: SheetAccount) -> set[str]:
    found = {_firm(f.value) for s in account.surveys if (f := s.fields.get("contractor")) and f.value}
    if not found and scene.filled:
        pairs = [p for p in pair_fields(scene, scene.extent) if p.name == "contractor"]
        found = {_firm(p.text if p.text is not None else scene.text(p.at)) for p in pairs}
    return found - {""}


def _firm(name: object) -> str:
    return fold(str(name)).strip(" .,")


def words_apply(card: Card, scene: Scene, firm: str) -> bool:
    """True where the words of a card hold on a sheet: its mark, or else the firm that the sheet names."""
    return mark_holds(card.mark, scene) if not card.mark.empty else firm == _firm(card.contractor)
