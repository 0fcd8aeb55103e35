"""Bytes of any kind to a Workbook, or one refusal."""

from __future__ import annotations

from auditor.workbook.cells import Unreadable, Workbook
from auditor.workbook.limits import DEFAULT, Limits, not_a_workbook, too_large, too_old
from auditor.workbook.ole import SIGNATURE

_OLD_BINARY = (b"\x09\x00\x04\x00", b"\x09\x02\x06\x00", b"\x09\x04\x06\x00")
_OTHER_KINDS = (
    (b"%PDF", "a PDF document"),
    (b"{\\rtf", "a text document (RTF)"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "a compressed archive"),
    (b"7z\xbc\xaf\x27\x1c", "a compressed archive"),
    (b"Rar!", "a compressed archive"),
)


def read_workbook(data: bytes, name: str, limits: Limits | None = None) -> Workbook:
    """The cells of the workbook whose bytes are `data`; its format is told by its content, `name` only names it.

    Raises Unreadable, and nothing else, with the code file-unreadable, file-encrypted or file-too-large and a sentence
    that says what is wrong and how to mend it."""
    try:
        return _read(data, name, limits or DEFAULT)
    except Unreadable:
        raise
    except Exception as error:  # the one place that may: a stranger's file must not stop a batch
        reason = f"{type(error).__name__}: {str(error)[:160]}" if str(error) else type(error).__name__
        code = "file-too-large" if isinstance(error, MemoryError) else "file-unreadable"
        raise Unreadable(code, f"The file cannot be read ({reason}). Save the workbook again and resend it") from error


def _read(data: bytes, name: str, limits: Limits) -> Workbook:
    if not data:
        raise not_a_workbook("empty")
    if len(data) > limits.file_bytes:
        raise too_large("Size of the file", len(data), limits.file_bytes, "bytes")
    if data.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return _read_archive(data, name, limits)
    if data.startswith(SIGNATURE):
        from auditor.workbook.legacy import read_xls

        return read_xls(data, name, limits)
    if data.startswith(_OLD_BINARY):
        raise too_old()
    for start, what in _OTHER_KINDS:
        if data.startswith(start):
            raise not_a_workbook(what)
    from auditor.workbook.csv_text import read_csv

    return read_csv(data, name, limits)


def _read_archive(data: bytes, name: str, limits: Limits) -> Workbook:
    from auditor.workbook.ods import is_open_document, read_ods
    from auditor.workbook.xlsx import read_xlsx, workbook_part
    from auditor.workbook.zip_guard import Archive

    archive = Archive(data, limits)
    if is_open_document(archive):
        return read_ods(archive, name, limits)
    part = workbook_part(archive)
    if part is None:
        raise not_a_workbook("a zip archive")
    if part.lower().endswith(".bin"):
        from auditor.workbook.legacy import read_xlsb

        return read_xlsb(data, archive, part, name, limits)
    return read_xlsx(archive, part, name, limits)
