"""The short account of an audit that a person reads on a terminal. Text from sheets is shown inert."""

from __future__ import annotations

import sys
from typing import IO, TYPE_CHECKING, Any

import pandas as pd

from auditor import codes

if TYPE_CHECKING:
    from rich.console import Console

CAUTION = (
    "This tool supports, and does not replace, local codes and licensed practice. Face velocity alone does not prove "
    "that a hood contains."
)
SHOWN = 12  # lines of one list; the rest is counted and can be exported


def console(stream: IO[str] | None = None) -> Console:
    """A console that honours NO_COLOR and takes nothing in its text for markup."""
    from rich.console import Console

    return Console(file=stream or sys.stdout, markup=False, highlight=False, emoji=False, soft_wrap=True)


def plain(value: Any, length: int = 60) -> str:
    """One cell of a list: a sheet's text inert, a missing value empty."""
    return "" if value is None or value != value else codes.inert(str(value), length)


def number(count: int, one: str, many: str = "") -> str:
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def totals(workbooks: pd.DataFrame, surveys: pd.DataFrame, discrepancies: pd.DataFrame) -> dict[str, int]:
    """The counts that an account opens with, and that `--json` carries as `totals`."""
    status = workbooks["status"].value_counts()
    standing = surveys["status"].value_counts()
    verdicts = surveys.loc[surveys["status"].eq("accepted"), "verdict"].value_counts()
    still = discrepancies[discrepancies["state"].eq("open")]
    return {
        "workbooks": len(workbooks), "workbooks_read": int(status.get("read", 0)),
        "workbooks_unreadable": int(status.get("unreadable", 0)), "workbooks_repeat": int(status.get("repeat", 0)),
        "surveys": len(surveys), "accepted": int(standing.get("accepted", 0)), "held": int(standing.get("held", 0)),
        "superseded": int(standing.get("superseded", 0)), "passed": int(verdicts.get("pass", 0)),
        "restricted": int(verdicts.get("restricted", 0)), "failed": int(verdicts.get("fail", 0)),
        "not_judged": int(verdicts.get("not judged", 0)), "holds": int(still["severity"].eq("hold").sum()),
        "cautions": int(still["severity"].eq("caution").sum()),
    }  # fmt: skip


def tell(
    out: Console,
    workbooks: pd.DataFrame,
    surveys: pd.DataFrame,
    discrepancies: pd.DataFrame,
    states: pd.DataFrame | None = None,
) -> None:
    """The account of one intake: what must not be used, what came in, and what mends the rest.

    `states` (of `auditor.answers.hood_states`): how the campus's hoods stand now, where that is known.
    """
    count = totals(workbooks, surveys, discrepancies)
    if states is None:
        dangerous(out, surveys)
    else:
        unfit(out, states)
    out.print(_opening(count), style="bold")
    if count["accepted"]:
        out.print(
            f"  of the accepted: {count['passed']:,} pass, {count['restricted']:,} restricted, "
            f"{count['failed']:,} fail, {count['not_judged']:,} not judged; "
            f"{number(count['held'], 'held survey')} in no figure"
        )
    mend(out, discrepancies)
    if count["cautions"]:
        out.print(
            f"{number(count['cautions'], 'caution')} on accepted or held surveys: "
            "'hoodaudit export discrepancies' lists them."
        )
    out.print(CAUTION, style="dim")


def _opening(count: dict[str, int]) -> str:
    parts = [number(count["workbooks_read"], "workbook") + " read"]
    if count["workbooks_unreadable"]:
        parts.append(f"{count['workbooks_unreadable']:,} could not be read")
    if count["workbooks_repeat"]:
        parts.append(f"{count['workbooks_repeat']:,} already in the record, unchanged")
    surveys = f"{number(count['surveys'], 'survey')}: {count['accepted']:,} accepted, {count['held']:,} held"
    if count["superseded"]:
        surveys += f", {count['superseded']:,} superseded"
    return f"{', '.join(parts)}. {surveys}."


def dangerous(out: Console, surveys: pd.DataFrame) -> None:
    """Hoods that this batch found unfit: failed, or held and failing on what can be read."""
    failed = surveys[surveys["verdict"].eq("fail") & surveys["status"].eq("accepted")]
    doubtful = surveys[surveys["provisional_verdict"].eq("fail") & surveys["status"].eq("held")]
    rows = [("do not use until settled", row) for row in doubtful.to_dict("records")]
    rows += [("do not use", row) for row in failed.to_dict("records")]
    if not rows:
        return
    out.print(f"HOODS THAT FAILED IN THESE WORKBOOKS ({len(rows)})", style="bold red")
    for state, row in rows[:SHOWN]:
        day = "" if pd.isna(row["surveyed_on"]) else f"{row['surveyed_on']:%Y-%m-%d}"
        place = ", ".join(filter(None, (plain(row["building"]), plain(row["room"]))))
        source = f"[{plain(row['workbook'])}, {plain(row['sheet'])}]"
        out.print("  " + "  ".join((plain(row["hood_id"]) or "(no hood)", state, place, day, source)))
    _more(out, len(rows))
    out.print("")


def unfit(out: Console, states: pd.DataFrame) -> None:
    """The hoods of the record that must not be used now, those that a held survey puts in doubt first."""
    rows = states[states["state"].str.startswith("do not use")].to_dict("records")
    if not rows:
        return
    out.print(f"HOODS THAT MUST NOT BE USED ({len(rows)})", style="bold red")
    for row in rows[:SHOWN]:
        place = ", ".join(filter(None, (plain(row["building"]), plain(row["room"]))))
        out.print(f"  {plain(row['hood_id'])}  {row['state']}  {place}: {plain(row['reason'], 200)}")
    _more(out, len(rows))
    out.print("")


def mend(out: Console, discrepancies: pd.DataFrame) -> None:
    """The open holds, grouped by what mends them."""
    holds = discrepancies[discrepancies["severity"].eq("hold") & discrepancies["state"].eq("open")]
    if holds.empty:
        return
    out.print("\nTo mend before these count:", style="bold")
    groups = holds.assign(mends=[codes.find(code).mends for code in holds["code"]]).groupby("mends")
    for _, rows in sorted(groups, key=lambda item: -len(item[1])):
        for code, same in rows.groupby("code"):
            out.print(f"\n  {codes.find(str(code)).title} ({code}): {number(len(same), 'case')}", style="yellow")
            for row in same.head(3).to_dict("records"):
                where = " ".join(filter(None, (plain(row["workbook"]), plain(row["sheet"]), plain(row["cell"]))))
                out.print(f"    {where}: {plain(row['message'], 400)}")
            if len(same) > 3:
                out.print(f"    … and {len(same) - 3} more")
            out.print(f"    Mend: {plain(same['remedy'].iloc[0], 400)}", style="dim")
    out.print("")


def _more(out: Console, count: int) -> None:
    if count > SHOWN:
        out.print(f"  … and {count - SHOWN} more: 'hoodaudit due' lists every hood")
