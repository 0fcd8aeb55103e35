"""The words of the command line. Standard library only, so that `--help` answers at once."""

from __future__ import annotations

import argparse
import datetime as dt
import os

from auditor import __version__
from auditor.cli import document_words, paper_words

TABLES = (
    "register",
    "workbooks",
    "surveys",
    "readings",
    "discrepancies",
    "findings",
    "verdicts",
    "rates",
    "trends",
    "clusters",
)
FORMATS = ("csv", "json", "parquet", "xlsx")
CAUTION = (
    "The tool supports, and does not replace, local codes and licensed practice. Face velocity alone does not prove "
    "that a hood contains."
)


def iso_date(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is not a date; write it as 2026-03-31") from None


def span(text: str) -> tuple[dt.date, dt.date]:
    first, dots, last = text.partition("..")
    if not dots:
        raise argparse.ArgumentTypeError(f"'{text}' is not a span of dates; write it as 2026-01-01..2026-12-31")
    start, end = iso_date(first), iso_date(last)
    if end < start:
        raise argparse.ArgumentTypeError(f"'{text}' ends before it begins")
    return start, end


def setting(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise argparse.ArgumentTypeError(f"'{text}' is not FIELD=VALUE, such as unit=ft/min or sash_height='18 in'")
    return name.strip(), value.strip()


def count(text: str) -> int:
    if not text.isdigit() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number from 1 on")
    return int(text)


def today() -> dt.date:
    """Today for the audit: HOODAUDIT_TODAY, else the machine's date."""
    given = os.environ.get("HOODAUDIT_TODAY")
    if not given:
        return dt.date.today()
    try:
        return dt.date.fromisoformat(given)
    except ValueError:
        raise SystemExit(f"hoodaudit: HOODAUDIT_TODAY is '{given}'; write it as 2026-03-31") from None


def build_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="hoodaudit",
        description="Audits contractors' fume-hood survey workbooks and keeps the campus's record of them.",
        epilog=CAUTION,
    )
    parser.add_argument("--version", action="version", version=f"%(prog)s {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    _record(commands)
    _decide(commands)
    _ask(commands)
    paper_words.add(commands, _command, iso_date)
    document_words.add(commands, _command)
    return parser


def _command(commands, name: str, run: str, help_text: str, *, json: bool = True) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=help_text, description=help_text, epilog=CAUTION)
    parser.set_defaults(run=run)
    parser.add_argument(
        "--store",
        metavar="URL",
        help="the record: a file, or a database's URL (default: HOODAUDIT_STORE, else hood-surveys.db here)",
    )
    parser.add_argument(
        "--as-of", type=iso_date, metavar="DATE", help="take this date for today (default: HOODAUDIT_TODAY, else today)"
    )
    if json:
        parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
    return parser


def _judging(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--severities", metavar="FILE", help="a TOML file with this campus's severities (default: HOODAUDIT_SEVERITIES)"
    )
    parser.add_argument(
        "--profile",
        metavar="NAME",
        help="the campus's criteria profile where neither hood nor hood type has one (default: common-practice)",
    )


def _record(commands) -> None:
    demo = _command(
        commands,
        "demo",
        "demo_command:demo",
        "Load the demo campus into a fresh record, print its audit, and open the dashboard.",
    )
    demo.add_argument("--no-serve", action="store_true", help="stop before the dashboard")
    demo.add_argument("--port", type=count, default=8501, help="the dashboard's port (default: 8501)")
    _judging(demo)

    register = commands.add_parser("register", help="Load or update the register of hoods.", epilog=CAUTION)
    load = _command(
        register.add_subparsers(dest="register_command", metavar="load", required=True),
        "load", "intake_commands:register_load",
        "Load or update the register from a CSV of hoods, or a workbook with sheets hoods, instruments, events.",
    )  # fmt: skip
    load.add_argument("file", metavar="FILE")
    _judging(load)

    intake = _command(commands, "intake", "intake_commands:intake", "Audit workbooks and record them.")
    intake.add_argument(
        "paths", nargs="+", metavar="PATH", help="a workbook, a folder (read through), or - for one on standard input"
    )
    intake.add_argument("--check", action="store_true", help="audit and record nothing")
    intake.add_argument(
        "--card", action="append", metavar="FILE", help="use this layout card, and keep it under its contractor"
    )
    intake.add_argument("--campaign", type=span, metavar="FROM..TO", help="hold surveys dated outside this span")
    intake.add_argument(
        "--workers", type=count, default=1, metavar="N", help="read in this many processes (default: 1)"
    )
    _judging(intake)

    explain = _command(
        commands,
        "explain",
        "intake_commands:explain",
        "Say what would be read from each sheet, from which cells, and what is missing for certainty.",
    )
    explain.add_argument("file", metavar="FILE")
    explain.add_argument("--draft-card", action="store_true", help="write a first layout card for it")
    explain.add_argument("-o", "--output", metavar="CARD", help="where to write the card (default: standard output)")
    explain.add_argument("--card", action="append", metavar="CARD", help="explain it by this card; nothing is kept")


def _decide(commands) -> None:
    settle = _command(
        commands,
        "settle",
        "decision_commands:settle",
        "Supply a fact that a sheet lacked; the sheet's own words stay beside it.",
    )
    settle.add_argument("survey", metavar="SURVEY")
    settle.add_argument("--set", dest="settings", type=setting, action="append", required=True, metavar="FIELD=VALUE")
    settle.add_argument("--evidence", required=True, metavar="TEXT", help="how it is known")
    settle.add_argument(
        "--remember", action="store_true", help="keep it for this contractor's other sheets too, as was offered"
    )
    settle.add_argument("--by", required=True, metavar="NAME")
    _judging(settle)

    release = _command(
        commands,
        "release",
        "decision_commands:release",
        "Accept held surveys despite their discrepancies; kept in the record for ever.",
    )
    release.add_argument("surveys", nargs="+", metavar="SURVEY")
    release.add_argument("--reason", required=True, metavar="TEXT")
    release.add_argument("--by", required=True, metavar="NAME")
    _judging(release)

    tag = _command(
        commands,
        "tag",
        "decision_commands:tag",
        "Log that a 'do not use' or 'restricted' notice was posted or removed.",
    )
    tag.add_argument("hood", metavar="HOOD")
    which = tag.add_mutually_exclusive_group(required=True)
    which.add_argument("--posted", action="store_true")
    which.add_argument("--removed", action="store_true")
    tag.add_argument("--by", required=True, metavar="NAME")
    tag.add_argument("--work-order", metavar="N")

    _command(
        commands, "verify", "decision_commands:verify", "Prove that the log of decisions and readings is unbroken."
    )


def _ask(commands) -> None:
    export = _command(commands, "export", "ask_commands:export", "Write a table of the record.")
    export.add_argument(
        "table", choices=(*TABLES, "all"), metavar="TABLE",
        help=", ".join(TABLES) + "; or all, as csv files with a datapackage.json in the folder -o DIR",
    )  # fmt: skip
    export.add_argument("-o", "--output", metavar="FILE", help="default: standard output")
    export.add_argument("--format", choices=FORMATS, help="default: by the file's ending, else csv")

    again = _command(
        commands,
        "remeasure",
        "ask_commands:remeasure",
        "Draw one in twenty of a year's hoods for a blind second survey; say what earlier ones showed of each firm.",
    )
    again.add_argument("year", type=int, metavar="YEAR")
    again.add_argument("-o", "--output", metavar="FILE", help="write the plan (.csv, .xlsx, .json, .parquet)")
    again.add_argument("--seed", type=count, default=1, help="another draw (default: 1)")

    _command(
        commands,
        "due",
        "ask_commands:due",
        "List hoods not to be used, due, overdue, awaiting a retest, never surveyed.",
    )

    criteria = _command(
        commands,
        "criteria",
        "ask_commands:criteria",
        "Print the criteria profiles, or one, every limit with its source.",
    )
    criteria.add_argument("profile", nargs="?", metavar="PROFILE")

    dashboard = _command(
        commands, "dashboard", "demo_command:dashboard", "Serve the dashboard on the loopback address.", json=False
    )
    dashboard.add_argument("--port", type=count, default=8501, help="default: 8501")
    dashboard.add_argument("--read-only", action="store_true", help="nothing can be changed from the screen")
