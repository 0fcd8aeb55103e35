"""What one file may cost, and how a refusal is worded."""

from __future__ import annotations

from dataclasses import dataclass

from auditor.workbook.cells import Unreadable

SHEET_ROWS = 1_048_576  # of a sheet in Excel since 2007 (ECMA-376 part 1, 18.3.1.73 and 18.18.62 are written for it)
SHEET_COLUMNS = 16_384


@dataclass(frozen=True, slots=True)
class Limits:
    """Bounds on one file. A year's survey of a campus (200 sheets) uses less than a tenth of any of them.

    Depth of XML is bounded by libxml2 itself (256 elements, `huge_tree` off), a text node by 10 MB."""

    file_bytes: int = 50_000_000
    unpacked_bytes: int = 400_000_000  # all parts of the archive together
    part_bytes: int = 64_000_000  # one part
    compression_ratio: int = 200  # of a part, judged only above `ratio_floor_bytes`
    ratio_floor_bytes: int = 1_000_000
    parts: int = 10_000
    sheets: int = 1_000
    cells: int = 1_000_000  # filled cells of all sheets together
    rows: int = SHEET_ROWS  # the last row or column that may be used
    columns: int = SHEET_COLUMNS
    text_length: int = 100_000  # characters in one cell; Excel holds 32,767
    merged_areas: int = 100_000
    binary_area: int = 4_000_000  # of .xls and .xlsb: cells between the first and the last filled one, blanks too


DEFAULT = Limits()


def too_large(what: str, found: int | float, limit: int | float, unit: str = "") -> Unreadable:
    """The refusal for a limit passed: says which, and by how much."""
    tail = f" {unit}" if unit else ""
    return Unreadable(
        "file-too-large",
        f"{what}: {found:,.0f}{tail}, where at most {limit:,.0f}{tail} may be; split the workbook or save it again "
        "without unused cells and pictures",
    )


def too_crowded(part: str, found: int, limit: int) -> Unreadable:
    return too_large(f"XML marks in part '{part}'", found, limit)


def damaged(what: str) -> Unreadable:
    """The refusal for a file that should be a workbook and is broken. `what` is a clause about what is wrong."""
    return Unreadable(
        "file-unreadable", f"The file is damaged: {what}. Open it in a spreadsheet program, save it again and resend it"
    )


def not_a_workbook(what: str) -> Unreadable:
    """The refusal for a file of another kind. `what` completes 'The file is ...'."""
    return Unreadable("file-unreadable", f"The file is {what}, not a workbook. Save the survey as .xlsx and resend it")


def too_old() -> Unreadable:
    return Unreadable(
        "file-unreadable",
        "The file is in a format older than Excel 5, which is not read. Save the workbook as .xlsx and resend it",
    )


def encrypted(what: str = "The file") -> Unreadable:
    return Unreadable(
        "file-encrypted", f"{what} needs a password to open. Save the workbook without a password and resend it"
    )
