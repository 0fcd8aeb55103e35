"""Better or worse: the change between years on the same hoods, apart from the change in which hoods were surveyed."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import pandas as pd

from auditor.history.frames import accepted, with_register, year_of
from auditor.history.rates import GROUPINGS, group_of, one_per_hood

CHANGE = [
    "by", "group", "year", "year_before", "hoods_before", "hoods_now", "hoods_both", "improved", "worsened",
    "change_same_hoods", "low", "high", "p_value", "change_all", "change_by_selection",
]  # fmt: skip
JUDGED = ("pass", "restricted", "fail")


def paired_change(
    surveys: pd.DataFrame, register: pd.DataFrame, by: str | Sequence[str] = ("year", "building")
) -> pd.DataFrame:
    """Change of the pass rate from each year to the next, per group; columns CHANGE.

    Each hood counts once a year (its last surveying day). `change_same_hoods`: difference of pass rates on the hoods
    judged in both years, with the 95 % interval of Bonett and Price (2012, adjusted Wald for paired proportions [M])
    and the exact two-sided McNemar p. `change_all`: difference of the plain rates; `change_by_selection` is the rest,
    which comes from surveying other hoods.
    """
    table = accepted(with_register(surveys, register).assign(year=year_of(surveys)))
    table = one_per_hood(table[table["verdict"].isin(JUDGED)].dropna(subset=["hood_id", "year"]))
    table = table.assign(passed=table["verdict"].eq("pass"))
    names = [by] if isinstance(by, str) else list(by)
    found = [_by_group(name, table) for name in names if name in GROUPINGS]
    return pd.concat(found, ignore_index=True) if found else pd.DataFrame(columns=CHANGE)


def _by_group(name: str, table: pd.DataFrame) -> pd.DataFrame:
    """One row per group and pair of years that follow each other in it."""
    group = pd.Series("all hoods", index=table.index) if name == "year" else group_of(name, table)
    own = table[["hood_id", "year", "passed"]].assign(group=group)
    each = own.groupby(["group", "year"])["passed"].agg(["size", "mean"]).reset_index()
    before = each.groupby("group")[["year", "size", "mean"]].shift()
    each = each.join(before, rsuffix="_before").dropna(subset=["year_before"])
    now = own.merge(each[["group", "year", "year_before"]], on=["group", "year"])
    both = now.merge(
        own.rename(columns={"year": "year_before", "passed": "passed_before"}), on=["group", "hood_id", "year_before"]
    )
    both["improved"] = both["passed"] & ~both["passed_before"]
    both["worsened"] = ~both["passed"] & both["passed_before"]
    counts = both.groupby(["group", "year"])[["improved", "worsened"]].sum()
    counts["hoods_both"] = both.groupby(["group", "year"]).size()
    joined = each.join(counts, on=["group", "year"]).fillna({"improved": 0, "worsened": 0, "hoods_both": 0})
    rows = [
        _one_step(name, *row)
        for row in zip(
            joined["group"], joined["year_before"], joined["year"], joined["size_before"], joined["size"],
            joined["mean_before"], joined["mean"], joined["improved"], joined["worsened"], joined["hoods_both"],
            strict=True,
        )
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=CHANGE)


def _one_step(
    name: str, group: object, before: int, now: int, hoods_before: int, hoods_now: int, rate_before: float,
    rate_now: float, improved: float, worsened: float, both: float,
) -> dict[str, object]:  # fmt: skip
    same, low, high = paired_difference(int(improved), int(worsened), int(both))
    overall = float(rate_now - rate_before)
    return {
        "by": name, "group": group, "year": int(now), "year_before": int(before), "hoods_before": hoods_before,
        "hoods_now": hoods_now, "hoods_both": int(both), "improved": int(improved), "worsened": int(worsened),
        "change_same_hoods": same, "low": low, "high": high,
        "p_value": mcnemar_exact(int(improved), int(worsened)),
        "change_all": overall, "change_by_selection": overall - same if both else np.nan,
    }  # fmt: skip


def paired_difference(improved: int, worsened: int, pairs: int) -> tuple[float, float, float]:
    """Difference of two paired proportions and its 95 % interval: Wald with one pseudo-pair added to each discordant
    cell. NaN without pairs."""
    if pairs == 0:
        return np.nan, np.nan, np.nan
    up, down = (improved + 1) / (pairs + 2), (worsened + 1) / (pairs + 2)
    half = 1.959963984540054 * np.sqrt((up + down - (up - down) ** 2) / (pairs + 2))
    return (improved - worsened) / pairs, max(up - down - half, -1.0), min(up - down + half, 1.0)


@lru_cache(maxsize=4096)
def mcnemar_exact(improved: int, worsened: int) -> float:
    """Exact two-sided McNemar p: binomial with one half on the hoods whose verdict changed; 1 where none did."""
    from scipy.stats import binomtest

    changed = improved + worsened
    return float(binomtest(improved, changed, 0.5).pvalue) if changed else 1.0


def profile_counts(surveys: pd.DataFrame, verdicts: pd.DataFrame) -> pd.DataFrame:
    """What another profile would do to the counts: `year`, `verdict`, `other_verdict`, `surveys`, `profile`.

    `verdicts`: the contract's columns, the accepted surveys judged by the other profile. One row per pair of verdicts
    that occurs in a year; surveys that the other profile did not judge count as 'not judged'.
    """
    counted = accepted(surveys)
    other = verdicts.drop_duplicates("survey_id").set_index("survey_id")
    moved = pd.DataFrame(
        {
            "year": year_of(counted),
            "verdict": counted["verdict"],
            "other_verdict": counted["survey_id"].map(other["verdict"]).fillna("not judged"),
        }
    )
    counts = moved.groupby(["year", "verdict", "other_verdict"], dropna=False).size().rename("surveys").reset_index()
    names = sorted(other["profile"].dropna().unique()) if "profile" in other else []
    return counts.assign(profile=", ".join(map(str, names)))
