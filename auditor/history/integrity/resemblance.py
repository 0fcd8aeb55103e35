"""`grid-resembles`: a grid that looks made out of another one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd

from auditor.history.integrity.budget import figures, in_words
from auditor.history.integrity.copies import BOTH_HELD_WITHIN_DAYS
from auditor.history.integrity.fingerprint import (
    SHARE_OF_SPREAD_BY_CHANCE,
    SPREAD_OF_HOODS_FPM,
    agree,
    tied_share,
)
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
    "offset": "Every reading is that of {other} with {amount:+.4g} ft/min added.",
    "scaled": "Every reading is that of {other} times {amount:.3f}, but for rounding.",
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
    """The pairs of one grid size that are too alike, as `_too_alike` gives them."""
    luck = Luck.of(grids)
    pairs = {way: _sharing(np.where(luck.could(way), key, np.uint64(0))) for way, key in keys(grids).items()}
    could = np.flatnonzero(luck.could("shifted"))
    head, tail = heads_and_tails(grids)
    pairs["shifted"] = np.concatenate([pairs["shifted"], could[_meeting(head[could], tail[could])]])
    pairs["scaled"] = scaled_pairs(grids, luck.could("scaled"))
    table = about.reindex(grids.survey_id)
    facts = [pd.factorize(table[name])[0] for name in ("hood_id", "surveyed_on", "workbook_sha256")]
    return pd.concat([_too_alike(way, found, grids, luck, facts) for way, found in pairs.items()], ignore_index=True)


@dataclass(frozen=True)
class Luck:
    """What chance has in each grid: `spread` (g,) in ft/min, `step` (g,), `tied` (g,) the share of equal readings, and
    `orders` (g,) the logarithm of the number of different orders of its readings; `n` readings each."""

    spread: np.ndarray
    step: np.ndarray
    tied: np.ndarray
    orders: np.ndarray
    n: int

    @classmethod
    def of(cls, grids: Grids) -> Luck:
        from scipy.special import gammaln

        n = grids.fpm.shape[1]
        ordered = np.sort(grids.own, axis=1)
        run = np.ones(len(ordered))
        repeats = np.zeros(len(ordered))  # log of the product of the factorials of the ties' sizes
        for k in range(1, n):
            run = np.where(ordered[:, k] == ordered[:, k - 1], run + 1, 1.0)
            repeats += np.log(run)
        return cls(
            np.std(grids.fpm, axis=1, ddof=1), grids.step_fpm, tied_share(grids.own), gammaln(n + 1) - repeats, n
        )  # fmt: skip

    def could(self, way: str) -> np.ndarray:
        """(g,): whether a pair of two such grids could be unlikely enough at all."""
        alone = self.chance(way, np.arange(len(self.step)), np.arange(len(self.step)), SHARE_OF_SPREAD_BY_CHANCE)
        return alone <= _allowed(np.array([True]))

    def chance(self, way: str, a: np.ndarray, b: np.ndarray, share: np.ndarray | float) -> np.ndarray:
        """The chance that an honest pair is alike in this way: that all readings agree, times the number of
        arrangements that would have been noticed. `share`: of the spread, what is chance."""
        spread = share * np.minimum(self.spread[a], self.spread[b])
        step, tied = np.maximum(self.step[a], self.step[b]), np.maximum(self.tied[a], self.tied[b])
        one = np.maximum(agree(spread, step), tied)
        first = agree(np.hypot(spread, SPREAD_OF_HOODS_FPM), step)
        if way == "scaled":
            return np.maximum(agree(spread, 2 * step), tied) ** (self.n - 1)
        if way == "offset":
            return one ** (self.n - 1)
        if way == "reordered":
            return np.minimum(1.0, np.exp(self.orders[a] + np.log(first) + (self.n - 1) * np.log(one)))
        if way == "shifted":  # all but one reading at least, moved by 1 to n - 1 places, or on by one
            return (self.n + 1) * first * one ** (self.n - 2)
        return 3 * first * one ** (self.n - 1)


def _sharing(key: np.ndarray) -> np.ndarray:
    """Pairs (m, 2) of grids with one key."""
    _, inverse, counts = np.unique(key, return_inverse=True, return_counts=True)
    shared = np.flatnonzero(counts[inverse] > 1)
    order = shared[np.argsort(key[shared], kind="stable")]
    bounds = np.flatnonzero(np.diff(key[order])) + 1
    groups = (group for group in np.split(order, bounds) if 1 < len(group) <= LARGEST_GROUP and key[group[0]] != 0)
    found = [pair for group in groups for pair in combinations(group.tolist(), 2)]
    return np.array(found, dtype=int).reshape(-1, 2)


def _meeting(head: np.ndarray, tail: np.ndarray) -> np.ndarray:
    """Pairs where one's head is another's tail."""
    first = pd.DataFrame({"key": head, "a": np.arange(len(head))})
    second = pd.DataFrame({"key": tail, "b": np.arange(len(tail))})
    few = first.groupby("key")["a"].transform("size") * first["key"].map(second.groupby("key").size()).fillna(0)
    pairs = first[few.between(1, LARGEST_GROUP)].merge(second, on="key")
    return pairs.loc[pairs["a"] != pairs["b"], ["a", "b"]].to_numpy(dtype=int).reshape(-1, 2)


def _too_alike(way: str, pairs: np.ndarray, grids: Grids, luck: Luck, facts: Sequence[np.ndarray]) -> pd.DataFrame:
    """first, second (survey ids), way, chance (over all pairs), amount_first, amount_second. `facts`: codes of each
    grid's hood, day and workbook."""
    a, b = pairs[:, 0], pairs[:, 1]
    hood, day, workbook = facts
    same_hood = hood[a] == hood[b]
    near = same_hood | (workbook[a] == workbook[b])
    chance = luck.chance(way, a, b, np.where(same_hood, SHARE_ON_ONE_HOOD, SHARE_OF_SPREAD_BY_CHANCE))
    equal = (grids.own[a] == grids.own[b]).all(axis=1) & (grids.unit[a] == grids.unit[b])
    kept = np.flatnonzero((chance <= _allowed(near)) & ~equal & ~(same_hood & (day[a] == day[b])))
    budget = figures()["budget"]
    over_all = chance * np.where(near, budget["near_pairs_count"], budget["all_pairs_count"])
    first, second = _amounts(way, grids, a[kept], b[kept])
    return pd.DataFrame(
        {
            "first": grids.survey_id[a[kept]], "second": grids.survey_id[b[kept]], "way": way,
            "chance": over_all[kept], "amount_first": first, "amount_second": second,
        }
    )  # fmt: skip


def _allowed(near: np.ndarray) -> np.ndarray:
    budget = figures()["budget"]
    return np.where(
        near, budget["near_pairs"] / budget["near_pairs_count"], budget["all_pairs"] / budget["all_pairs_count"]
    )


def _amounts(way: str, grids: Grids, a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The constant or factor, as told from the first grid's side and from the second's; NaN where there is none."""
    if way == "offset":
        difference = (grids.fpm[a] - grids.fpm[b]).mean(axis=1)
        return difference, -difference
    if way == "scaled":
        factor = grids.fpm[a].sum(axis=1) / grids.fpm[b].sum(axis=1)
        return factor, 1 / factor
    return np.full(len(a), np.nan), np.full(len(a), np.nan)


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
