"""Better or worse: the change between years on the same hoods, apart from the change in which hoods were surveyed."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

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
    group = pd.Series("all hoods", index=table.index) if name == "year" else group_of(name, table)
    rows = [
        _one_step(name, key, before, now, part)
        for key, part in table.groupby(group)
        for before, now in _steps(part["year"])
    ]
    return pd.DataFrame(rows, columns=CHANGE)


def _steps(years: pd.Series) -> list[tuple[int, int]]:
    present = sorted(int(year) for year in years.unique())
    return list(pairwise(present))


def _one_step(name: str, key: object, before: int, now: int, part: pd.DataFrame) -> dict[str, object]:
    first = part[part["year"] == before].set_index("hood_id")["passed"]
    second = part[part["year"] == now].set_index("hood_id")["passed"]
    both = pd.concat([first, second], axis=1, join="inner", keys=["first", "second"])
    improved = int((~both["first"] & both["second"]).sum())
    worsened = int((both["first"] & ~both["second"]).sum())
    same, low, high = paired_difference(improved, worsened, len(both))
    overall = float(second.mean() - first.mean())
    return {
        "by": name, "group": key, "year": now, "year_before": before, "hoods_before": len(first),
        "hoods_now": len(second), "hoods_both": len(both), "improved": improved, "worsened": worsened,
        "change_same_hoods": same, "low": low, "high": high, "p_value": mcnemar_exact(improved, worsened),
        "change_all": overall, "change_by_selection": overall - same if len(both) else np.nan,
    }  # fmt: skip


def paired_difference(improved: int, worsened: int, pairs: int) -> tuple[float, float, float]:
    """Difference of two paired proportions and its 95 % interval: Wald with one pseudo-pair added to each discordant
    cell. NaN without pairs."""
    if pairs == 0:
        return np.nan, np.nan, np.nan
    up, down = (improved + 1) / (pairs + 2), (worsened + 1) / (pairs + 2)
    half = 1.959963984540054 * np.sqrt((up + down - (up - down) ** 2) / (pairs + 2))
    return (improved - worsened) / pairs, max(up - down - half, -1.0), min(up - down + half, 1.0)


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
