"""`sheets` and `returns`: workbooks for contractors, into a folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from auditor.cli import common
from auditor.cli.main import DONE, CannotDo

if TYPE_CHECKING:
    from auditor.answers.returning import ReturnCopy

_PAPERS = {"a4": "A4", "letter": "Letter"}
_SHOWN = 20  # hoods without a sheet that are told one by one


def sheets(options: Any) -> int:
    from auditor.answers.fieldwork import field_books, rounds
    from auditor.documents.work import put

    folder = _folder(options.output)
    terms = common.terms_of(options)
    with common.open_store(options, read_only=True) as store:
        made = common.asked(
            rounds, store, terms.today, terms.profiles, by=options.by, unit=options.unit,
            paper=_PAPERS[options.paper], within_days=options.within, default=terms.default_profile,
        )  # fmt: skip
    files = []
    with common.progress(len(made.books), "Writing") as told:
        for book in field_books(made, told):
            put(book.data, folder / book.name)
            files.append({"file": str(folder / book.name), "hoods": list(book.hoods)})
    if options.json:
        common.print_json({"files": files, "left_out": made.left_out})
        return DONE
    lines = [f"{one['file']}: {len(one['hoods'])} hoods" for one in files] or ["No hood is due: nothing was written."]
    lines += [f"no sheet for {hood}: {reason}" for hood, reason in list(made.left_out.items())[:_SHOWN]]
    if len(made.left_out) > _SHOWN:
        lines.append(f"and {len(made.left_out) - _SHOWN} more hoods without a sheet; --json lists them all")
    _tell(lines)
    return DONE


def returns(options: Any) -> int:
    from auditor.answers.returning import open_points, return_copies
    from auditor.documents.work import put

    folder, files = _folder(options.output), []
    with common.open_store(options, read_only=True) as store:
        several = open_points(store, holds_only=options.holds_only)["workbook_sha256"].nunique()
        with common.progress(several, "Marking") as told:
            copies = return_copies(
                store,
                common.as_of(options),
                contractor=options.contractor,
                holds_only=options.holds_only,
                progress=told,
            )
            for copy in copies:
                put(copy.data, folder / copy.name)
                files.append(_told(copy, folder))
    if options.json:
        common.print_json({"files": files})
        return DONE
    lines = [
        f"{one['file']}: {one['hold']} to settle, {one['caution']} to check"
        + ("" if one["marked"] else f" (a list: {one['reason']})")
        for one in files
    ]
    _tell(lines or ["Nothing is open: there is nothing to send back."])
    return DONE


def _told(copy: ReturnCopy, folder: Path) -> dict[str, Any]:
    return {
        "file": str(folder / copy.name), "workbook": copy.workbook, "workbook_sha256": copy.sha256,
        "hold": copy.holds, "caution": copy.cautions, "marked": copy.marked, "reason": copy.why or None,
    }  # fmt: skip


def _folder(name: str) -> Path:
    folder = Path(name)
    if folder.exists() and not folder.is_dir():
        raise CannotDo(f"{folder} is a file; name a folder to write into")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _tell(lines: list[str]) -> None:
    from auditor import account

    out = account.console()
    for line in lines:
        out.print(account.plain(line, 400))
    out.print(account.CAUTION, style="dim")
