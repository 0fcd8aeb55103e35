"""The one place where the rooms meet: files in, an audited record out.

Reading may run in processes of its own; everything else of a batch happens in one transaction of the store. What is
found wrong with a survey depends on its bytes, the register and the record as a whole, never on how files were
grouped into runs: surveys already in the record that a new one contradicts are judged again in the same transaction.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import nullcontext, suppress
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import pandas as pd

from auditor import audit, signs, teaching
from auditor.audit import Audited, Facts, Terms
from auditor.decisions import released_of, settled_of, typed
from auditor.files import Source
from auditor.reading import FileRead, read_bytes
from auditor.sheets import Context
from auditor.stacking import PROBLEMS, Rows, frames_of
from auditor.store import Batch, FileRecord
from auditor.survey.columns import WORKBOOKS
from auditor.workbook.own_sheet import REASON as OWN_LIST

if TYPE_CHECKING:
    from auditor.register_file import Refused
    from auditor.store import RegisterChange
    from auditor.store.store import Store
    from auditor.teaching import Offer, TaughtCard

# A batch is closed when it holds this much: it bounds memory, and the result does not depend on it.
SURVEYS_IN_A_BATCH = 4_000
BYTES_IN_A_BATCH = 256 * 2**20

Progress = Callable[[int, int, str], None]
Known = Callable[[Iterable[str]], set[str]]


class _Discard(Exception):
    """Takes back the transaction of a check."""


@dataclass
class Outcome:
    """What one intake did: the rows of its own workbooks, as the store's public tables have them."""

    workbooks: pd.DataFrame
    surveys: pd.DataFrame
    discrepancies: pd.DataFrame
    sheets: pd.DataFrame
    notes: list[str] = field(default_factory=list)

    @property
    def held(self) -> pd.DataFrame:
        return self.surveys[self.surveys["status"].eq("held")]

    @property
    def clean(self) -> bool:
        """Nothing is held, and every file could be read."""
        return self.held.empty and not self.discrepancies["severity"].eq("hold").any()


def take_in(
    sources: Sequence[Source],
    store: Store,
    terms: Terms,
    *,
    check: bool = False,
    workers: int = 1,
    by: str = "",
    progress: Progress | None = None,
    cards: Sequence[TaughtCard] = (),
) -> Outcome:
    """Audits the workbooks and records them. With `check` everything is done and nothing is kept. `cards` go before
    those that the store has for their contractors, and take their place in it."""
    shas: list[str] = []
    notes: list[str] = []
    outcome: Outcome | None = None
    with suppress(_Discard), store.transaction() if check else nullcontext():
        taught, said = teaching.teach(store, cards, by)
        notes += said
        context = Context(known_hoods=frozenset(known_hoods(store)), cards=taught)
        repeats: set[str] = set()
        for batch in _batches(_read(sources, context, workers, progress, store.known)):
            repeats |= set(_record(batch, store, terms, by))
            shas += [one.sha256 for one in batch]
            notes += [f"{one.name}: {note}" for one in batch for note in one.notes]
        if set(shas) - repeats:
            signs.look_again(store, terms.severities)
        notes += teaching.unused(cards, notes)
        outcome = outcome_of(store, shas, notes, repeats)
        if check:
            raise _Discard
    assert outcome is not None
    return outcome


# --- reading ---------------------------------------------------------------------------------------------------------
def _read(
    sources: Sequence[Source], context: Context, workers: int, progress: Progress | None, known: Known
) -> Iterator[tuple[FileRead, bytes]]:
    """Each source read, in order, in this process or in `workers` others; bytes that the record has are not read."""
    for done, (read, data) in enumerate(_each(sources, context, workers, known), start=1):
        yield read, data
        if progress:
            progress(done, len(sources), read.name)


def _each(sources: Sequence[Source], context: Context, workers: int, known: Known) -> Iterator[tuple[FileRead, bytes]]:
    if workers <= 1 or len(sources) <= 1:
        for source in sources:
            data = source.load()
            yield _repeat(source, data, known) or read_bytes(data, source.name, source.path, context), data
        return
    from concurrent.futures import Future, ProcessPoolExecutor
    from multiprocessing import get_context

    with ProcessPoolExecutor(workers, mp_context=get_context("forkserver")) as pool:
        waiting: list[tuple[FileRead | Future[FileRead], bytes]] = []

        def first() -> tuple[FileRead, bytes]:
            read, data = waiting.pop(0)
            return read if isinstance(read, FileRead) else read.result(), data

        for source in sources:
            data = source.load()
            repeat = _repeat(source, data, known)
            waiting.append((repeat or pool.submit(read_bytes, data, source.name, source.path, context), data))
            while len(waiting) > 4 * workers:
                yield first()
        while waiting:
            yield first()


def _repeat(source: Source, data: bytes, known: Known) -> FileRead | None:
    sha256 = hashlib.sha256(data).hexdigest()
    return FileRead(source.name, source.path, sha256, len(data)) if known([sha256]) else None


@dataclass
class _Read(FileRead):
    data: bytes = b""


def _batches(files: Iterable[tuple[FileRead, bytes]]) -> Iterator[list[_Read]]:
    batch: list[_Read] = []
    for read, data in files:
        batch.append(_Read(**vars(read), data=data))
        surveys = sum(len(one.rows.surveys) for one in batch)
        if surveys >= SURVEYS_IN_A_BATCH or sum(one.size for one in batch) >= BYTES_IN_A_BATCH:
            yield batch
            batch = []
    if batch:
        yield batch


# --- recording -------------------------------------------------------------------------------------------------------
def _record(files: list[_Read], store: Store, terms: Terms, by: str) -> list[str]:
    """One batch, one transaction: what is new is audited beside what it touches in the record. Returns the SHA-256 of
    files that the record had."""
    with store.transaction():
        known = store.known(one.sha256 for one in files)
        new = list({one.sha256: one for one in files if one.sha256 not in known}.values())
        rows = Rows()
        for one in new:
            rows.extend(one.rows)
        surveys, readings, problems, sheets = frames_of(rows)
        problems = pd.concat([problems, _file_problems(new)], ignore_index=True)
        now = dt.datetime.now(dt.UTC).isoformat(timespec="seconds")
        ours = set(sheets.loc[sheets["reason"].eq(OWN_LIST), "workbook_sha256"])
        audited = _audit(Facts(surveys, readings, problems), _workbooks(new, now), store, terms, ours)
        recorded = store.record(
            Batch(
                files=[
                    FileRecord(f.sha256, f.name, f.path, f.data, now, f.status, f.reason) for f in files
                ],
                sheets=sheets.rename(columns={"workbook_sha256": "sha256"}), surveys=audited.surveys,
                readings=audited.readings, problems=problems, discrepancies=audited.discrepancies,
                findings=audited.findings, verdicts=audited.verdicts, by=by,
            )
        )  # fmt: skip
        store.tell(_failed(audited), by)
    return recorded.repeats


def _failed(audited: Audited) -> pd.DataFrame:
    """The accepted surveys that make their hood 'do not use'."""
    surveys = audited.surveys
    failed = surveys["status"].eq("accepted") & surveys["verdict"].eq("fail")
    return surveys.loc[failed, ["hood_id", "surveyed_on", "survey_id"]].dropna()


def _file_problems(files: list[_Read]) -> pd.DataFrame:
    """A file that could not be read is a discrepancy of its own."""
    rows = [(None, f.name, f.sha256, None, "", "file", f.code, "", f.reason) for f in files if f.code]
    return pd.DataFrame(rows, columns=PROBLEMS)


def _workbooks(files: list[_Read], now: str) -> pd.DataFrame:
    rows = [
        (f.name, f.sha256, f.path, now, f.status, f.reason, len(f.rows.sheets), len(f.rows.surveys), 0) for f in files
    ]
    return pd.DataFrame(rows, columns=WORKBOOKS)


def _audit(
    facts: Facts, workbooks: pd.DataFrame, store: Store, terms: Terms, returned: Collection[str] = ()
) -> Audited:
    """The surveys of a batch, and those of the record whose standing they change, audited together. `returned`: those
    of the batch's workbooks that carry our own list of what was wrong."""
    register, aliases = store.register_history(), dict(store.aliases().itertuples(index=False, name=None))
    terms = replace(terms, instruments=store.instruments())
    mine = audit.examine(facts, register, aliases)
    peers = store.occasions()
    copies = store.copies_of(mine.surveys[["sheet", "place"]].itertuples(index=False, name=None))
    touched = {*audit.touched(mine.surveys, peers), *copies} - set(mine.surveys["survey_id"])
    if touched:
        theirs = audit.examine(recall(store, sorted(touched)), register, aliases)
        mine = audit.joined(mine, theirs)
    found = audit.doubts(mine, workbooks, terms)
    kept = store.sheets()
    returned = {*returned, *kept.loc[kept["reason"].eq(OWN_LIST), "sha256"]}
    corrected = audit.corrections(mine, found, returned)
    standing = peers[~(peers["status"].eq("superseded") | peers["survey_id"].isin(list(corrected)))]
    cross = audit.compare(mine, standing, terms.severities, corrected)
    return audit.judge(mine, pd.concat([found, cross.discrepancies], ignore_index=True), terms, cross.superseded)


def recall(store: Store, survey_ids: Sequence[str]) -> Facts:
    """The facts of surveys in the record, with what people have decided about them since."""
    surveys, readings = store.facts(survey_ids)
    decided = store.decisions(survey_ids)
    return Facts(surveys, readings, store.problems(survey_ids), settled_of(decided), released_of(decided))


def judge_again(store: Store, terms: Terms, survey_ids: Sequence[str] | None = None) -> int:
    """Derives the judgements of surveys in the record again (of all of them where none are named): after a decision, a
    new register, other criteria. Returns how many."""
    with store.transaction():
        if survey_ids is None:
            survey_ids = list(store.occasions()["survey_id"])
        for start in range(0, len(survey_ids), SURVEYS_IN_A_BATCH):
            some = survey_ids[start : start + SURVEYS_IN_A_BATCH]
            audited = _audit(recall(store, some), pd.DataFrame(columns=WORKBOOKS), store, terms)
            store.replace_judgements(
                Batch(
                    surveys=audited.surveys, readings=audited.readings, discrepancies=audited.discrepancies,
                    findings=audited.findings, verdicts=audited.verdicts,
                )
            )  # fmt: skip
            store.tell(_failed(audited))
    return len(survey_ids)


# --- what came of it -------------------------------------------------------------------------------------------------
def outcome_of(store: Store, shas: Sequence[str], notes: Sequence[str] = (), repeats: Collection[str] = ()) -> Outcome:
    """The rows of these workbooks, out of the store's public tables. `repeats`: those that the record had before."""
    shas = list(dict.fromkeys(shas))
    workbooks = store.table("workbooks", sha256=shas)
    again = workbooks["sha256"].isin(list(repeats))
    workbooks.loc[again, "status"] = "repeat"
    workbooks.loc[again, "reason"] = "the same bytes are already in the record"
    return Outcome(
        workbooks,
        store.table("surveys", workbook_sha256=shas),
        store.table("discrepancies", workbook_sha256=shas),
        store.sheets()[lambda frame: frame["sha256"].isin(shas)].reset_index(drop=True),
        list(notes),
    )


# --- the register and decisions --------------------------------------------------------------------------------------
@dataclass
class RegisterLoaded:
    """What a register file did: the change to the hoods, the rows refused, the surveys judged again."""

    change: RegisterChange
    refused: list[Refused]
    judged_again: int


def load_register(store: Store, data: bytes, name: str, terms: Terms, by: str = "") -> RegisterLoaded:
    """Brings the register up to a file, and judges again the surveys that this touches: those of hoods that are new or
    changed, and those whose hood was not known. ValueError where the file cannot be read as a register."""
    from auditor.register_file import read_register

    file = read_register(data, name)
    with store.transaction():
        change = store.load_register(
            file.hoods, terms.today, instruments=file.instruments, events=file.events, aliases=file.aliases, by=by
        )
        count = 0
        if change.added or change.changed or not file.aliases.empty:
            count = judge_again(store, terms, _of_hoods(store, {*change.added, *change.changed}))
            if count:
                signs.look_again(store, terms.severities)
    return RegisterLoaded(change, file.refused, count)


def _of_hoods(store: Store, hoods: set[str]) -> list[str]:
    occasions = store.occasions()
    known = set(store.register()["hood_id"]) - hoods
    return list(occasions.loc[~occasions["hood_id"].isin(known), "survey_id"])


def known_hoods(store: Store) -> tuple[str, ...]:
    """The tags of every hood in the register."""
    return tuple(store.register()["hood_id"])


def settle(
    store: Store,
    survey_id: str,
    values: Mapping[str, str],
    *,
    evidence: str,
    by: str,
    terms: Terms,
    remember: bool = False,
) -> list[Offer]:
    """A person supplies facts that a sheet lacked; the survey is checked again. ValueError says what is amiss.

    Returns what of it could hold for the contractor's other sheets; with `remember` that is kept, by name."""
    for name, text in values.items():
        typed(name, text)
    offers = teaching.offers_for(store, survey_id, values)  # reads workbooks again: nobody waits for the lock meanwhile
    with store.transaction():
        store.settle(survey_id, values, evidence, by)
        again = teaching.remember(store, offers, survey_id, by) if remember else []
        judge_again(store, terms, list(dict.fromkeys([survey_id, *again])))
    return offers


def release(store: Store, survey_ids: Sequence[str], *, reason: str, by: str, terms: Terms) -> None:
    """A person accepts held surveys despite their discrepancies. ValueError where one is not held, or where a fact that
    a verdict needs is unknown: that is for `settle`."""
    with store.transaction():
        surveys = store.table("surveys", survey_id=list(survey_ids))
        unknown = set(survey_ids) - set(surveys["survey_id"])
        if unknown:
            raise ValueError(f"no such survey: {', '.join(sorted(unknown))}")
        standing = surveys[surveys["status"].ne("held")]
        if not standing.empty:
            raise ValueError(f"survey {standing['survey_id'].iloc[0]} is not held; there is nothing to release")
        for survey_id, lacks in audit.missing_needs(surveys).items():
            raise ValueError(
                f"survey {survey_id} cannot be released: unknown {', '.join(lacks)}. Supply it with 'hoodaudit settle'."
            )
        store.release(list(survey_ids), reason, by)
        judge_again(store, terms, list(survey_ids))
