"""`grid-resembles`: a grid that looks made out of another one."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import lgamma

import numpy as np
import pandas as pd

from auditor.history.integrity.budget import figures, in_words
from auditor.history.integrity.copies import BOTH_HELD_WITHIN_DAYS
from auditor.history.integrity.fingerprint import SHARE_OF_SPREAD_BY_CHANCE, SPREAD_OF_HOODS_FPM
from auditor.history.integrity.grids import Grids, restricted, selected
from auditor.history.integrity.likeness import heads_and_tails, keys, scaled_pairs
from auditor.history.integrity.wording import SIGN, described, rows

FEWEST_READINGS = 6
LARGEST_GROUP = 40  # more grids with one key are a template or rounding, not a pair to ask about
SHARE_ON_ONE_HOOD = 0.5  # of a grid's spread that is chance from one survey to the next of the same hood
SAID = {
    "shifted": "The readings are those of {other}, moved along by some places.",
    "mirrored": "The readings are those of {other}, with left and right or top and bottom exchanged.",
    "transposed": "The readings are those of {other}, with rows and columns exchanged.",
    "reordered": "The readings are those of {other}, in another order.",
    "offset": "Every reading is that of {other} with {amount} ft/min added.",
    "scaled": "Every reading is that of {other} times {amount}, but for rounding.",
}


def grid_resembles(surveys: pd.DataFrame, readings: pd.DataFrame, grids: Sequence[Grids] | None = None) -> pd.DataFrame:
    """`grid-resembles` rows: SIGN and `chance`, that of such a likeness over all pairs compared (below 1 in 1,000).

    Looks for shifted, mirrored, transposed, reordered, offset and scaled grids among all complete grids of 6 readings
    and more, in one unit (scaled: in any). Equal grids are `copied_grids`'; two surveys of one hood on one date are
    left alone. Both are named where less than 300 days lie between, else the later; each with its least likely
    partner. The chance assumes independent readings with the part of the spread that is luck; pairs of one hood or one
    workbook are few and are judged by a larger chance each. The result does not depend on the order of rows. `grids`:
    those of `complete_grids`, where they are at hand.
    """
    about = surveys.dropna(subset=["hood_id", "surveyed_on"]).drop_duplicates("survey_id").set_index("survey_id")
    about = about.assign(surveyed_on=pd.to_datetime(about["surveyed_on"]))
    found = [
        _of_size(one, about)
        for one in (selected(readings, about.index) if grids is None else restricted(grids, about.index))
        if one.fpm.shape[1] >= FEWEST_READINGS and len(one.fpm) > 1
    ]
    pairs = pd.concat(found, ignore_index=True) if found else pd.DataFrame()
    if pairs.empty:
        return pd.DataFrame(columns=[*SIGN, "chance"])
    named = _named(pairs, about)
    other = described(named["other_survey_id"], surveys)
    said = [
        f"{SAID[way].format(other=name, amount=amount)} By chance {in_words(chance)} over all pairs compared."
        for way, name, amount, chance in zip(named["way"], other, named["amount"], named["chance"], strict=True)
    ]
    return rows(named, "grid-resembles", said, chance=named["chance"].to_numpy(dtype=float))


def _of_size(grids: Grids, about: pd.DataFrame) -> pd.DataFrame:
    """first, second (survey ids), way, chance, amount: the pairs of one grid size that are too alike."""
    spread = np.std(grids.fpm, axis=1, ddof=1)
    pairs: list[tuple[int, int, str]] = []
    for way, key in keys(grids).items():
        pairs += [(a, b, way) for a, b in _sharing(key)]
    head, tail = heads_and_tails(grids)
    pairs += [(a, b, "shifted") for a, b in _meeting(head, tail)]
    likely = _agree(SHARE_ON_ONE_HOOD * spread, 2 * grids.step_fpm) ** (grids.fpm.shape[1] - 1)
    pairs += [(int(a), int(b), "scaled") for a, b in scaled_pairs(grids, likely <= _allowed(near=True))]
    return _too_alike(pairs, grids, spread, about)


def _sharing(key: np.ndarray) -> list[tuple[int, int]]:
    _, inverse, counts = np.unique(key, return_inverse=True, return_counts=True)
    shared = np.flatnonzero(counts[inverse] > 1)
    order = shared[np.argsort(key[shared], kind="stable")]
    bounds = np.flatnonzero(np.diff(key[order])) + 1
    groups = (group for group in np.split(order, bounds) if 1 < len(group) <= LARGEST_GROUP and key[group[0]] != 0)
    return [(int(a), int(b)) for group in groups for a, b in combinations(group, 2)]


def _meeting(head: np.ndarray, tail: np.ndarray) -> list[tuple[int, int]]:
    """Pairs where one's head is another's tail."""
    common = np.intersect1d(head, tail)
    found = []
    for key in common:
        first, second = np.flatnonzero(head == key), np.flatnonzero(tail == key)
        if len(first) * len(second) <= LARGEST_GROUP:
            found += [(int(a), int(b)) for a in first for b in second if a != b]
    return found


def _too_alike(
    pairs: list[tuple[int, int, str]], grids: Grids, spread: np.ndarray, about: pd.DataFrame
) -> pd.DataFrame:
    kept = []
    for a, b, way in pairs:
        first, second = about.loc[grids.survey_id[a]], about.loc[grids.survey_id[b]]
        if np.array_equal(grids.own[a], grids.own[b]) and grids.unit[a] == grids.unit[b]:
            continue
        same_hood = first["hood_id"] == second["hood_id"]
        if same_hood and first["surveyed_on"] == second["surveyed_on"]:
            continue
        near = same_hood or first["workbook_sha256"] == second["workbook_sha256"]
        share = SHARE_ON_ONE_HOOD if same_hood else SHARE_OF_SPREAD_BY_CHANCE
        chance = _chance(way, grids, a, b, share * min(spread[a], spread[b]))
        if chance <= _allowed(near):
            count = figures()["budget"]["near_pairs_count" if near else "all_pairs_count"]
            kept.append((grids.survey_id[a], grids.survey_id[b], way, chance * count, *_amounts(way, grids, a, b)))
    return pd.DataFrame(kept, columns=["first", "second", "way", "chance", "amount_first", "amount_second"])


def _allowed(near: bool) -> float:
    budget = figures()["budget"]
    kind = "near_pairs" if near else "all_pairs"
    return float(budget[kind] / budget[f"{kind}_count"])


def _chance(way: str, grids: Grids, a: int, b: int, luck_fpm: float) -> float:
    """The chance that one honest pair is alike in this way: that all readings agree, times the number of arrangements
    that would have been noticed."""
    n, step = grids.fpm.shape[1], float(max(grids.step_fpm[a], grids.step_fpm[b]))
    one = float(_agree(luck_fpm, step))
    first = float(_agree(np.hypot(luck_fpm, SPREAD_OF_HOODS_FPM), step))
    if way == "scaled":
        return float(_agree(luck_fpm, 2 * step)) ** (n - 1)
    if way == "offset":
        return one ** (n - 1)
    if way == "reordered":
        _, counts = np.unique(grids.own[a], return_counts=True)
        arrangements = lgamma(n + 1) - sum(lgamma(count + 1) for count in counts)
        return float(min(1.0, np.exp(arrangements + np.log(first) + (n - 1) * np.log(one))))
    if way == "shifted":  # all but one reading at least, moved by 1 to n - 1 places, or on by one
        return (n + 1) * first * one ** (n - 2)
    return 3 * first * one ** (n - 1)


def _agree(spread_fpm: np.ndarray | float, step_fpm: np.ndarray | float) -> np.ndarray:
    return np.asarray(1 / np.sqrt(1 + (2 * np.sqrt(np.pi) * np.asarray(spread_fpm) / step_fpm) ** 2))


def _amounts(way: str, grids: Grids, a: int, b: int) -> tuple[str, str]:
    """The constant or factor, as told from the first grid's side and from the second's."""
    if way == "offset":
        difference = float(np.mean(grids.fpm[a] - grids.fpm[b]))
        return f"{difference:+.4g}", f"{-difference:+.4g}"
    if way == "scaled":
        factor = float(grids.fpm[a].sum() / grids.fpm[b].sum())
        return f"{factor:.3f}", f"{1 / factor:.3f}"
    return "", ""


def _named(pairs: pd.DataFrame, about: pd.DataFrame) -> pd.DataFrame:
    """survey_id, other_survey_id, way, chance, amount: one row per survey to ask about."""
    days = (
        about["surveyed_on"].reindex(pairs["first"]).to_numpy()
        - about["surveyed_on"].reindex(pairs["second"]).to_numpy()
    ) / np.timedelta64(1, "D")
    near = np.abs(days) < BOTH_HELD_WITHIN_DAYS
    first = pairs.rename(columns={"first": "survey_id", "second": "other_survey_id", "amount_first": "amount"})
    second = pairs.rename(columns={"second": "survey_id", "first": "other_survey_id", "amount_second": "amount"})
    both = pd.concat([first[near | (days > 0)], second[near | (days < 0)]], ignore_index=True)
    order = both.sort_values(["survey_id", "chance", "other_survey_id", "way"], kind="stable")
    return order.drop_duplicates("survey_id").reset_index(drop=True)
