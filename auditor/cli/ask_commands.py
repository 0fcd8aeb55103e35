"""`export`, `due`, `criteria`: questions to the record."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from auditor.cli import common
from auditor.cli.main import DONE


def export(options: Any) -> int:
    if options.table == "all":
        from auditor.cli.paper_commands import package

        return package(options)
    from auditor.answers import table
    from auditor.documents.tables import format_of, write_table

    target = options.output
    kind = options.format or ("json" if options.json else format_of(target) if target else "csv")
    with common.open_store(options, read_only=True) as store:
        frame = table(store, options.table, today=common.as_of(options))
    if target:
        common.asked(write_table, frame, Path(target), kind)
    else:
        common.asked(write_table, frame, sys.stdout.buffer, kind)
    return DONE


def due(options: Any) -> int:
    from auditor import account
    from auditor.answers import hood_states

    with common.open_store(options, read_only=True) as store:
        states = hood_states(store, common.as_of(options), common.terms_of(options).profiles)
    wanted = states[~states["state"].isin(["in service", "out of service"])]
    if options.json:
        common.print_json(common.rows_of(wanted))
        return DONE
    out = account.console()
    for state, hoods in wanted.groupby("state", sort=False):
        out.print(f"\n{str(state).upper()} ({len(hoods)})", style="bold")
        for row in hoods.to_dict("records"):
            place = ", ".join(filter(None, (account.plain(row.get("building")), account.plain(row.get("room")))))
            out.print(f"  {account.plain(row['hood_id'])}  {place}  {account.plain(row['reason'], 300)}")
    if wanted.empty:
        out.print("Every hood in service is surveyed and in order.")
    out.print(account.CAUTION, style="dim")
    return DONE


def criteria(options: Any) -> int:
    from auditor.cli.main import WrongUse
    from auditor.criteria import describe

    profiles = common.terms_of(options).profiles
    if options.profile and options.profile not in profiles:
        raise WrongUse(f"there is no profile '{options.profile}'; there are: {', '.join(profiles)}")
    chosen = [profiles[options.profile]] if options.profile else list(profiles.values())
    described = [{name: getattr(one, name) for name in _ABOUT} | {"limits": describe(one)} for one in chosen]
    if options.json:
        common.print_json(described)
    else:
        _tell_criteria(described)
    return DONE


_ABOUT = ("name", "title", "version", "source", "mark", "summary", "enabled", "overlay")


def _tell_criteria(described: list[dict[str, Any]]) -> None:
    from auditor import account

    out = account.console()
    for profile in described:
        off = "" if profile["enabled"] else "  (unconfirmed: switched off)"
        out.print(f"\n{profile['name']}  {profile['title']}{off}", style="bold")
        for limit in profile["limits"]:
            cited = ", ".join(filter(None, (limit["source"], limit["clause"])))
            mark = "" if limit["mark_means"] == cited else f" [{limit['mark_means']}]"
            needed = ", required" if limit["required"] else ""
            out.print(f"  {limit['criterion']}: {limit['limit']}{needed}  ({cited or 'no source'}{mark})")
    out.print(account.CAUTION, style="dim")


def remeasure(options: Any) -> int:
    from auditor import account
    from auditor.answers.remeasuring import firms, plan
    from auditor.documents.tables import format_of, write_table

    with common.open_store(options, read_only=True) as store:
        drawn, found = plan(store, options.year, seed=options.seed), firms(store, options.year)
    if options.output:
        common.asked(write_table, drawn, Path(options.output), format_of(options.output))
    if options.json:
        common.print_json({"plan": common.rows_of(drawn), "firms": common.rows_of(found)})
        return DONE
    out = account.console()
    out.print(
        f"{account.number(len(drawn), 'hood')} to be surveyed a second time, blind, in {options.year}.", style="bold"
    )
    if not options.output:
        for row in drawn.to_dict("records"):
            shown = ("hood_id", "building", "room", "contractor")
            out.print("  " + "  ".join(account.plain(row[name]) for name in shown))
    for row in found[found["bias_fpm"].notna()].to_dict("records"):
        interval = f"{row['bias_low_fpm']:+.1f} to {row['bias_high_fpm']:+.1f}"
        out.print(
            f"{account.plain(row['contractor'])}: {row['bias_fpm']:+.1f} ft/min against the second survey "
            f"(95 %: {interval}), on {account.number(row['hoods'], 'hood')}"
        )
    return DONE
