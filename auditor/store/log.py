"""The log: who did what and when, each entry's hash covering the one before, so that nothing in it can be altered,
dropped or moved without a trace. Entries of workbooks carry a digest of their bytes, surveys and readings."""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from auditor.store import bulk, contract
from auditor.store import tables as t
from auditor.store.frames import canonical, digest

START = "0" * 64
_ENTRY = ("entry_no", "kind", "subject", "made_by", "made_at", "body", "previous_hash", "hash")
_FACTS = [t.fact_reading.c[name] for name in contract.READING_FACTS]
PROBLEM = ("sheet", "code", "cell", "field", "written", "detail")


def entry_hash(number: int, kind: str, subject: str, by: str, at: str, body: str, previous: str) -> str:
    return digest(canonical([number, kind, subject, by, at, body, previous]))


def append(connection: Connection, entries: Iterable[tuple[str, str, str, str, dict]]) -> int:
    """Adds (kind, subject, by, at, body) entries; the number of the last. Only in a writing transaction."""
    number, previous = head(connection)
    began, rows = number, []
    for kind, subject, by, at, body in entries:
        number += 1
        text = canonical(body)
        new = entry_hash(number, kind, subject, by, at, text, previous)
        rows.append((number, kind, subject, by, at, text, previous, new))
        previous = new
    if not rows:
        return number
    bulk.insert(connection, t.log_entry, _ENTRY, rows)
    if began == 0:
        connection.execute(t.log_head.insert().values(only=1, entry_no=number, hash=previous))
    else:
        connection.execute(t.log_head.update().values(entry_no=number, hash=previous))
    return number


def head(connection: Connection) -> tuple[int, str]:
    """Number and hash of the last entry. Written down elsewhere, it proves later that nothing was cut off."""
    row = connection.execute(sa.select(t.log_head.c.entry_no, t.log_head.c.hash)).first()
    return (row[0], row[1]) if row else (0, START)


def workbook_digest(surveys: Iterable[tuple[Sequence, Iterable[Sequence]]], problems: Iterable[Sequence]) -> str:
    """Over a workbook's surveys as written (survey_id, sheet, place, grid_rows, grid_columns, fields), each with its
    readings (READING_FACTS), and what its sheets showed to be wrong."""
    total = hashlib.sha256()
    for survey, readings in surveys:
        total.update(canonical([list(survey), [list(reading) for reading in readings]]).encode())
    total.update(canonical([list(problem) for problem in problems]).encode())
    return total.hexdigest()


def breaks(connection: Connection, expected_head: tuple[int, str] | None = None) -> list[str]:
    """What is not as it was recorded, one plain sentence each; empty when the record is unbroken."""
    found = list(_chain_breaks(connection, expected_head))
    entries = _bodies(connection)
    found += _decision_breaks(connection, entries)
    found += _workbook_breaks(connection, entries)
    found += _register_breaks(connection, entries)
    found += _dating_breaks(connection)
    found += _card_breaks(connection, entries)
    return found


def _chain_breaks(connection: Connection, expected_head: tuple[int, str] | None) -> Iterator[str]:
    previous, count, hashes = START, 0, {0: START}
    columns = [t.log_entry.c[name] for name in _ENTRY]
    for number, kind, subject, by, at, body, before, kept in connection.execute(
        sa.select(*columns).order_by(t.log_entry.c.entry_no)
    ):
        count += 1
        if number != count:
            yield f"log: entry {count} is missing"
            count = number
        if before != previous:
            yield f"log: entry {number} does not follow the entry before it"
        if entry_hash(number, kind, subject, by, at, body, before) != kept:
            yield f"log: entry {number} ({kind} of {subject}) was altered"
        previous = hashes[number] = kept
    if head(connection) != (count, previous):
        yield f"log: entries after {count} were removed, or the mark of its end was altered"
    if expected_head is not None and hashes.get(expected_head[0]) != expected_head[1]:
        yield f"log: entry {expected_head[0]} is not the one whose hash was written down"


def _bodies(connection: Connection) -> list[tuple[int, str, str, str, str, dict]]:
    columns = [t.log_entry.c[name] for name in _ENTRY[:6]]
    rows = connection.execute(sa.select(*columns).order_by(t.log_entry.c.entry_no))
    return [(number, kind, subject, by, at, _body(body)) for number, kind, subject, by, at, body in rows]


def _body(text: str) -> dict:
    """An entry's body; empty where it was altered into something else, which the chain's check tells."""
    try:
        body = json.loads(text)
    except ValueError:
        return {}
    return body if isinstance(body, dict) else {}


def _decision_breaks(connection: Connection, entries: list) -> list[str]:
    logged = {
        body["decision_no"]: (kind, subject, by, at, canonical(body.get("detail")))
        for _, kind, subject, by, at, body in entries
        if isinstance(body.get("decision_no"), int)
    }
    d = t.decision.c
    found = []
    kept = set()
    for number, kind, survey, hood, detail, by, at in connection.execute(
        sa.select(d.decision_no, d.kind, d.survey_id, d.hood_id, d.detail, d.made_by, d.made_at)
    ):
        kept.add(number)
        if logged.get(number) != (kind, survey or hood or "", by, at, detail):
            found.append(f"decision {number} ({kind} of {survey or hood}) is not what the log says")
    return found + [f"decision {number} is in the log but was removed" for number in sorted(set(logged) - kept)]


def _workbook_breaks(connection: Connection, entries: list) -> Iterator[str]:
    logged = {subject: body for _, kind, subject, _, _, body in entries if kind == "workbook"}
    files = connection.execute(sa.select(t.fact_file.c.file_no, t.fact_file.c.sha256, t.fact_file.c.workbook)).all()
    for file_no, sha256, name in files:
        body = logged.pop(sha256, None)
        if body is None:
            yield f"workbook {name} ({sha256[:12]}) is not in the log"
            continue
        packing, data = connection.execute(
            sa.select(t.fact_file.c.packing, t.fact_file.c.data).where(t.fact_file.c.file_no == file_no)
        ).one()
        if body.get("bytes", True) and not _bytes_agree(packing, data, sha256):
            yield f"workbook {name} ({sha256[:12]}): its bytes were altered"
        if kept_digest(connection, file_no) != body.get("digest"):
            yield f"workbook {name} ({sha256[:12]}): its surveys or readings were altered"
    for sha256, body in logged.items():
        yield f"workbook {body.get('workbook')} ({sha256[:12]}) is in the log but was removed"


def _bytes_agree(packing: str | None, data: bytes | None, sha256: str) -> bool:
    try:
        return data is not None and hashlib.sha256(unpacked(packing, data)).hexdigest() == sha256
    except zlib.error:
        return False


def packed(data: bytes | None) -> tuple[str | None, bytes | None]:
    """How a file's bytes are kept: zip-based formats as they are, others compressed."""
    if data is None:
        return None, None
    return ("plain", data) if data[:2] == b"PK" else ("zlib", zlib.compress(data, 6))


def unpacked(packing: str | None, data: bytes) -> bytes:
    return zlib.decompress(data) if packing == "zlib" else bytes(data)


def kept_digest(connection: Connection, file_no: int) -> str:
    """`workbook_digest` over what the store holds now."""
    s, r, p = t.fact_survey.c, t.fact_reading.c, t.fact_problem.c
    surveys = connection.execute(
        sa.select(s.survey_no, s.survey_id, s.sheet, s.place, s.grid_rows, s.grid_columns, s.fields)
        .where(s.file_no == file_no)
        .order_by(s.survey_no)
    ).all()
    readings: dict[int, list] = {row[0]: [] for row in surveys}
    for row in connection.execute(
        sa.select(r.survey_no, *_FACTS)
        .join_from(t.fact_reading, t.fact_survey, r.survey_no == s.survey_no)
        .where(s.file_no == file_no)
        .order_by(r.survey_no, r.reading_no)
    ):
        readings[row[0]].append(row[1:])
    problems = connection.execute(
        sa.select(*(p[name] for name in PROBLEM)).where(p.file_no == file_no).order_by(p.problem_no)
    )
    return workbook_digest(((row[1:], readings[row[0]]) for row in surveys), problems)


def _register_breaks(connection: Connection, entries: list) -> Iterator[str]:
    beside = {kind_of(table): table for table in (t.register_instrument, t.register_event, t.register_alias)}
    rows = dict.fromkeys(beside, 0)
    for number, kind, _, _, _, body in entries:
        if kind == "register" and register_digest(connection, number) != body.get("digest"):
            yield f"register: rows of the load in log entry {number} were altered"
        if kind in beside:
            rows[kind] += body.get("added", 0)
            if beside_digest(connection, beside[kind], body.get("first", 0), body.get("added", 0)) != body.get(
                "digest"
            ):
                yield f"register: {kind} of the load in log entry {number} were altered"
    for kind, table in beside.items():
        if connection.execute(sa.select(sa.func.count()).select_from(table)).scalar_one() != rows[kind]:
            yield f"register: there are {kind} that no load brought, or some were removed"


def _dating_breaks(connection: Connection) -> Iterator[str]:
    """Each row of a hood ends on the day on which its next row begins, and the last one is open."""
    r = t.register_row.c
    rows = connection.execute(sa.select(r.hood_id, r.valid_from, r.valid_to).order_by(r.hood_id, r.row_no)).all()
    for (hood, _, ends), (following, begins, _) in pairwise([*rows, (None, None, None)]):
        if ends != (begins if following == hood else None):
            yield f"register: the day on which a row of hood {hood} ended was altered"


def _card_breaks(connection: Connection, entries: list) -> Iterator[str]:
    """Each layout card is the text that was taught, under the contractor and by the person that the log names."""
    logged = {
        body.get("card_no"): (subject, by, at, body.get("digest"))
        for _, kind, subject, by, at, body in entries
        if kind == "card"
    }
    c = t.card.c
    rows = connection.execute(sa.select(c.card_no, c.contractor, c.contractor_key, c.body, c.made_by, c.made_at))
    for number, contractor, key, body, by, at in rows:
        kept = (contractor, by, at, hashlib.sha256(body.encode()).hexdigest())
        if logged.pop(number, None) != kept or key != " ".join(contractor.casefold().split()):
            yield f"card {number} (of {contractor}) is not what the log says"
    for number, (contractor, *_) in logged.items():
        yield f"card {number} (of {contractor}) is in the log but was removed"


def kind_of(table: sa.Table) -> str:
    """What the log calls rows of a table beside the hoods: instruments, events, aliases."""
    word = table.name.removeprefix("register_")
    return word + ("es" if word.endswith("s") else "s")


def beside_digest(connection: Connection, table: sa.Table, first: int, many: int) -> str:
    """Over `many` rows of instruments, events or aliases from number `first` on."""
    columns = [column for column in table.c if column.name != "row_no"]
    query = sa.select(*columns).where(table.c.row_no.between(first, first + many - 1)).order_by(table.c.row_no)
    return digest(canonical([list(row) for row in connection.execute(query)]))


def register_digest(connection: Connection, load_no: int) -> str:
    """Over the register's rows of one load, without the day on which a later load closed them."""
    r = t.register_row.c
    names = [*contract.REGISTER, "valid_from"]
    rows = connection.execute(sa.select(*(r[n] for n in names)).where(r.load_no == load_no).order_by(r.row_no))
    return digest(canonical([list(row) for row in rows]))
