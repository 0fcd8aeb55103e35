"""`review`, `labels`, `work`, and `export all`: papers and files for other people."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from auditor.cli import common
from auditor.cli.main import DONE, CannotDo, WrongUse


def review(options: Any) -> int:
    from auditor.answers.reviewing import review as gather
    from auditor.documents.figures import UNITS
    from auditor.documents.review import FILES, compose
    from auditor.documents.work import put

    folder = _folder(options.output)
    profiles = common.terms_of(options).profiles
    with common.open_store(options, read_only=True) as store, common.progress(9 + len(FILES), "Reviewing") as told:
        found = common.asked(gather, store, options.year, common.as_of(options), profiles, told)
        pack = compose(found.year, found.today, found.facts, found.tables, UNITS[options.unit])
        written = []
        for done, (ending, make) in enumerate(FILES.items(), 10):
            path = folder / f"hood-review-{options.year}.{ending}"
            put(make(pack, options.paper), path)
            written.append(path)
            if told:
                told(done, 9 + len(FILES), ending)
    files = [str(path) for path in written]
    lines = [*files, *(f"{name}: {text}" for name, text in pack.standing), pack.caution]
    _tell(options, {"year": options.year, "files": files, "standing": dict(pack.standing)}, lines)
    return DONE


def labels(options: Any) -> int:
    from auditor.answers.labelling import papers
    from auditor.documents.figures import UNITS
    from auditor.documents.labels import DEFAULTS, pdf, stocks
    from auditor.documents.work import put

    target = _file(options.output, ".pdf")
    profiles = common.terms_of(options).profiles
    day = common.as_of(options)
    with common.open_store(options, read_only=True) as store:
        found = common.asked(papers, store, day, profiles, tuple(options.hoods))
    wanted, notices = found.labels, found.notices
    if options.new:
        notices = notices[notices["posted_on"].isna()]
    wanted, notices = (
        wanted.head(0) if options.only == "notices" else wanted,
        notices.head(0) if options.only == "labels" else notices,
    )
    with common.progress(len(wanted) + len(notices), "Drawing") as told:
        data = common.asked(
            pdf, wanted, notices, stocks()[options.sheet or DEFAULTS[options.paper]], day, unit=UNITS[options.unit],
            paper=options.paper, address=_or_environment(options.address, "HOODAUDIT_ADDRESS"),
            whom=_or_environment(options.call, "HOODAUDIT_CALL"), skip=options.skip, told=told,
        )  # fmt: skip
    put(data, target)
    neither = found.neither["why"].value_counts().sort_index()
    counts = {"file": str(target), "labels": len(wanted), "notices": len(notices), "neither": neither.to_dict()}
    lines = [f"{target}: {len(wanted)} labels, {len(notices)} notices"]
    lines += [f"neither label nor notice: {number} ({why})" for why, number in neither.items()]
    _tell(options, counts, lines)
    return DONE


def work(options: Any) -> int:
    from auditor.answers.work import work as gather
    from auditor.documents.figures import UNITS
    from auditor.documents.tables import format_of
    from auditor.documents.work import in_unit, put, work_file

    day = common.as_of(options)
    kind = common.asked(format_of, options.output) if options.output else "csv"
    with common.open_store(options, read_only=True) as store:
        table = gather(store, day, common.terms_of(options).profiles, options.since)
    if options.json and not options.output:
        common.print_json(common.rows_of(in_unit(table, UNITS[options.unit])))
        return DONE
    data = work_file(table, kind, day, UNITS[options.unit])
    if not options.output:
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        return DONE
    put(data, _file(options.output, f".{kind}"))
    counts = table["status"].value_counts().sort_index().to_dict()
    said = ", ".join(f"{number} {status}" for status, number in counts.items()) or "no rows"
    _tell(options, {"file": options.output, "rows": counts}, [f"{options.output}: {said}"])
    return DONE


def package(options: Any) -> int:
    """`export all -o DIR`: every table as csv, with a datapackage.json."""
    from auditor.answers import table
    from auditor.cli.parser import TABLES
    from auditor.documents.package import write_package

    if not options.output:
        raise WrongUse("'export all' writes a folder: name it with -o DIR")
    if options.format not in (None, "csv"):
        raise WrongUse("'export all' writes csv files with a datapackage.json; for another format name one table")
    folder, day = _folder(options.output), common.as_of(options)
    with common.open_store(options, read_only=True) as store, common.progress(len(TABLES), "Exporting") as told:
        entry, seal = store.head()
        about = {"version": str(entry), "record": {"entry": entry, "seal": seal, "as_of": day.isoformat()}}
        each = ((name, table(store, name, today=day)) for name in _told(TABLES, told))
        written = common.asked(write_package, each, folder, about)
    _tell(options, {"files": [str(path) for path in written]}, [str(path) for path in written])
    return DONE


def _told(names: tuple[str, ...], told: Callable[[int, int, str], None] | None) -> Iterator[str]:
    for done, name in enumerate(names, 1):
        yield name
        if told:
            told(done, len(names), name)


def _folder(name: str) -> Path:
    folder = Path(name)
    if folder.exists() and not folder.is_dir():
        raise CannotDo(f"{folder} is a file; name a folder to write into")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _file(name: str, ending: str) -> Path:
    """The file to write. A name that says something else than what is written would mislead."""
    path = Path(name)
    if path.suffix.lower() != ending:
        raise WrongUse(f"'{name}' does not end in {ending}, which is what is written")
    if not path.parent.is_dir():
        raise CannotDo(f"there is no folder {path.parent} to write {path.name} into")
    return path


def _or_environment(given: str | None, name: str) -> str:
    return given if given is not None else os.environ.get(name, "")


def _tell(options: Any, document: dict[str, Any], lines: list[str]) -> None:
    if options.json:
        common.print_json(document)
        return
    from auditor import account

    out = account.console()
    for line in lines:
        out.print(account.plain(line, 300))
