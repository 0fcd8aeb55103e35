"""What is handed to the store and what it answers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd


class StoreUnavailable(Exception):
    """The store cannot be opened, read or written. The message is one line: what, where, and how to mend it."""


@dataclass(slots=True)
class FileRecord:
    """One file handed in. `status` is 'read' or 'unreadable' (then `reason` says why); a repeat is found by the
    store. `received_at` is ISO 8601. `data` is None only where the bytes are over a limit that guards the machine."""

    sha256: str
    name: str
    path: str = ""
    data: bytes | None = None
    received_at: str = ""
    status: str = "read"
    reason: str = ""


@dataclass(slots=True)
class Batch:
    """Everything of one intake, or of one new judgement. A frame that is None has nothing to say.

    Facts, stored once and never altered:
      files     list of FileRecord
      sheets    sha256, sheet, outcome ('read', 'set aside', 'held'), reason
      surveys   the as-written columns of `auditor.survey.columns` (IDENTITY, the fields with `_written`, `_cell` and
                `_unit`, SHAPE)
      readings  READINGS of `auditor.survey.columns`
      problems  what the sheets themselves showed: survey_id (missing where a whole sheet is meant), workbook_sha256,
                sheet, code, cell, field, written, detail

    Judgements, replaced whole for the surveys named in `surveys`:
      surveys        also NORMALISED, COMPUTED, hood_id, `register_*`, grid_fingerprint and `status`
                     ('accepted', 'held', 'superseded')
      readings       also READINGS_NORMALISED; `unit` may be one that a person has settled
      discrepancies  DISCREPANCIES, optionally `state`
      findings       FINDINGS
      verdicts       VERDICTS, of held surveys too: the store shows those as provisional

    `surveys` may also hold surveys that the store already has (of workbooks that are not in `files`): their
    judgements are replaced, their facts stay. `by` is who handed the files in.
    """

    files: list[FileRecord] = field(default_factory=list)
    sheets: pd.DataFrame | None = None
    surveys: pd.DataFrame | None = None
    readings: pd.DataFrame | None = None
    problems: pd.DataFrame | None = None
    discrepancies: pd.DataFrame | None = None
    findings: pd.DataFrame | None = None
    verdicts: pd.DataFrame | None = None
    by: str = ""


@dataclass(slots=True)
class Recorded:
    """What `record` did: SHA-256 of files that are new to the store, and of those that it already had."""

    new: list[str] = field(default_factory=list)
    repeats: list[str] = field(default_factory=list)


@dataclass(slots=True)
class RegisterChange:
    """Hood tags by what a register load did to them."""

    added: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
