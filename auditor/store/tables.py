"""The tables behind the public views. `fact_*`, `decision`, `card` and `log_entry` are only ever added to;
`judged_*` can be derived again at any time and are replaced per survey; `register_*` keeps dated rows."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
)
from sqlalchemy.types import TypeEngine

from auditor.store import contract

SCHEMA_VERSION = 2

metadata = MetaData()

# Dates are ISO text on every server: they sort and compare as dates and read the same in every tool.
_TYPES: dict[str, type[TypeEngine]] = {"text": Text, "int": Integer, "float": Double, "bool": Boolean, "date": Text}
# SQLite numbers rows by itself only in a column declared INTEGER.
_NUMBER = BigInteger().with_variant(Integer(), "sqlite")


def _columns(kinds: dict[str, str]) -> list[Column]:
    return [Column(name, _TYPES[kind]) for name, kind in kinds.items()]


def _number(name: str) -> Column:
    return Column(name, _NUMBER, primary_key=True, autoincrement=False)


def _file_ref(**kwargs) -> Column:
    return Column("file_no", _NUMBER, ForeignKey("fact_file.file_no"), nullable=False, **kwargs)


def _survey_ref(**kwargs) -> Column:
    return Column("survey_no", _NUMBER, ForeignKey("fact_survey.survey_no"), **kwargs)


schema_version = Table(  # one row
    "schema_version",
    metadata,
    Column("version", Integer, nullable=False),
    Column("views", Text, nullable=False),  # digest of the views' definitions
)

# --- facts -----------------------------------------------------------------------------------------------------------
fact_file = Table(
    "fact_file",
    metadata,
    _number("file_no"),
    Column("sha256", Text, nullable=False, unique=True),
    Column("workbook", Text, nullable=False),
    Column("packing", Text),  # how `data` is packed: 'plain' or 'zlib'
    Column("data", LargeBinary),
)

fact_arrival = Table(
    "fact_arrival",
    metadata,
    _number("arrival_no"),
    _file_ref(index=True),
    Column("workbook", Text, nullable=False),
    Column("path", Text, nullable=False),
    Column("received_at", Text),
    Column("status", Text, nullable=False),  # read, unreadable, repeat
    Column("reason", Text),
)

fact_sheet = Table(
    "fact_sheet",
    metadata,
    _file_ref(primary_key=True),
    _number("sheet_no"),
    Column("sheet", Text, nullable=False),
    Column("outcome", Text, nullable=False),
    Column("reason", Text),
)

fact_survey = Table(
    "fact_survey",
    metadata,
    _number("survey_no"),
    Column("survey_id", Text, nullable=False, unique=True),
    _file_ref(index=True),
    Column("sheet", Text, nullable=False),
    Column("place", Text, nullable=False),
    Column("grid_rows", Integer),
    Column("grid_columns", Integer),
    Column("fields", Text, nullable=False),  # JSON: {field: [cell, written, value, unit]}
)

fact_reading = Table(
    "fact_reading",
    metadata,
    _survey_ref(primary_key=True, autoincrement=False),
    _number("reading_no"),
    *_columns(contract.READING_FACTS),
    # Derived, and so outside the digest in the log: the conversion, and the unit that a person settled.
    Column("velocity_fpm", Double),
    Column("bound_fpm", Double),
    Column("settled_unit", Text),
    sqlite_with_rowid=False,
)

fact_problem = Table(
    "fact_problem",
    metadata,
    _number("problem_no"),
    _file_ref(index=True),
    _survey_ref(index=True),
    *(Column(name, Text) for name in ("sheet", "code", "cell", "field", "written", "detail")),
)

# --- judgements ------------------------------------------------------------------------------------------------------
judged_survey = Table(
    "judged_survey",
    metadata,
    _survey_ref(primary_key=True, autoincrement=False),
    *_columns({**contract.JUDGED, **contract.JUDGED_BESIDE}),
)
Index("judged_survey_occasion", judged_survey.c.hood_id, judged_survey.c.surveyed_on, judged_survey.c.sash_height_in)
Index("judged_survey_fingerprint", judged_survey.c.grid_fingerprint)
Index("judged_survey_status", judged_survey.c.status)

judged_verdict = Table(
    "judged_verdict",
    metadata,
    _survey_ref(primary_key=True, autoincrement=False),
    *(Column(name, Text) for name in contract.VERDICTS if name not in ("survey_id", "hood_id")),
)

judged_finding = Table(
    "judged_finding",
    metadata,
    _survey_ref(primary_key=True, autoincrement=False),
    _number("finding_no"),
    *_columns({name: kind for name, kind in contract.FINDINGS.items() if name not in ("survey_id", "hood_id")}),
)

judged_discrepancy = Table(
    "judged_discrepancy",
    metadata,
    Column("discrepancy_id", Text, primary_key=True),
    Column("file_no", _NUMBER, ForeignKey("fact_file.file_no"), index=True),  # missing where a whole batch is meant
    _survey_ref(index=True),
    *(Column(n, Text) for n in ("sheet", "cell", "field", "code", "severity", "written", "message", "remedy", "state")),
)

# --- the register ----------------------------------------------------------------------------------------------------
register_row = Table(
    "register_row",
    metadata,
    _number("row_no"),
    Column("load_no", _NUMBER, nullable=False),  # the entry in the log
    *_columns(contract.REGISTER),
    Column("valid_from", Text, nullable=False),
    Column("valid_to", Text),  # exclusive; missing for the row that holds now
)
Index("register_row_hood", register_row.c.hood_id, register_row.c.valid_from)

INSTRUMENT = {
    "instrument_id": "text", "kind": "text", "contractor": "text", "accuracy": "text", "accuracy_percent": "float",
    "accuracy_fpm": "float", "accuracy_rule": "text", "resolution_fpm": "float", "velocity_basis": "text",
    "calibrated_on": "date", "calibration_due": "date", "note": "text",
}  # fmt: skip
EVENT = {
    "happened_on": "date", "event": "text", "air_handler": "text", "hood_id": "text", "building": "text",
    "floor": "text", "room": "text", "note": "text",
}  # fmt: skip
ALIAS = {"alias": "text", "hood_id": "text"}

register_instrument = Table("register_instrument", metadata, _number("row_no"), *_columns(INSTRUMENT))
register_event = Table("register_event", metadata, _number("row_no"), *_columns(EVENT))
register_alias = Table("register_alias", metadata, _number("row_no"), *_columns(ALIAS))

# --- decisions and the log -------------------------------------------------------------------------------------------
decision = Table(
    "decision",
    metadata,
    _number("decision_no"),
    Column("kind", Text, nullable=False),  # settle, release, tag
    Column("survey_id", Text, index=True),
    Column("hood_id", Text, index=True),
    Column("detail", Text, nullable=False),  # canonical JSON
    Column("made_by", Text, nullable=False),
    Column("made_at", Text, nullable=False),
)

card = Table(  # since version 2
    "card",
    metadata,
    _number("card_no"),
    Column("contractor", Text, nullable=False),
    Column("contractor_key", Text, nullable=False, index=True),
    Column("body", Text, nullable=False),  # TOML, as it was taught
    Column("made_by", Text, nullable=False),
    Column("made_at", Text, nullable=False),
)

log_entry = Table(
    "log_entry",
    metadata,
    _number("entry_no"),
    Column("kind", Text, nullable=False),  # workbook, register, settle, release, tag, card
    Column("subject", Text, nullable=False),
    Column("made_by", Text, nullable=False),
    Column("made_at", Text, nullable=False),
    Column("body", Text, nullable=False),  # canonical JSON
    Column("previous_hash", Text, nullable=False),
    Column("hash", Text, nullable=False, unique=True),
)

log_head = Table(  # one row: shows when entries were cut off the end
    "log_head",
    metadata,
    _number("only"),
    Column("entry_no", _NUMBER, nullable=False),
    Column("hash", Text, nullable=False),
)
