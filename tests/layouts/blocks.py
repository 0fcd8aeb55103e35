"""Parts of a form: label and value pairs, the cross-draft table, notes and noise."""

from __future__ import annotations

import datetime as dt

from tests.layouts.canvas import Canvas, Written
from tests.layouts.firm import WORDS, Firm
from tests.layouts.truth import Reading, Survey

Pair = tuple[str, Written | None, str]  # label, value, unit for the cell after the value


def survey_pairs(firm: Firm, survey: Survey, common: set[str]) -> list[Pair]:
    """The facts of one survey as label, value pairs, without those in `common` (given elsewhere) or omitted."""
    skip = common | survey.omit
    s, rng = survey, firm.rng
    pairs: dict[str, Pair] = {
        "hood": (firm.label("hood"), s.hood_written, ""),
        "building": (firm.label("building"), s.building, ""),
        "floor": (firm.label("floor"), int(s.floor) if rng.random() < 0.5 else s.floor, ""),
        "room": (firm.label("room"), s.room_written or s.room, ""),
        "date": (firm.label("surveyed_on"), s.date_written, ""),
        "surveyor": (firm.label("surveyor"), rng.choice(["K. L.", "RT", "M. Orr", "D.P."]), ""),
        "instrument": (firm.label("instrument"), s.instrument, ""),
        "calibrated": (firm.label("calibrated_on"), firm.date(s.calibrated_on) if s.calibrated_on else None, ""),
        "due": (firm.label("calibration_due"), firm.date(s.calibration_due) if s.calibration_due else None, ""),
        "sash": firm.length("sash", s.sash_value),
        "occasion": (firm.label("occasion"), rng.choice(["Annual", "annual", "Yearly"]), ""),
    }
    if firm.unit_mode == "field":
        pairs["unit"] = (firm.label("unit"), firm.unit_word, "")
    optional = {"building", "floor", "room", "surveyor", "calibrated", "occasion"}
    always_due = (firm.date_proof == "calibration" and firm.date_style in ("dmy", "mdy")) or (
        "calibration-expired" in s.codes
    )
    if s.room_written:
        optional.discard("room")
    kept = {k: v for k, v in pairs.items() if k not in skip and (k not in optional or rng.random() < 0.7)}
    if "due" in kept and not always_due and "due" not in survey.omit and rng.random() < 0.3:
        del kept["due"]
    order = list(kept)
    if rng.random() < 0.4:
        first, rest = order[:1], order[1:]
        rng.shuffle(rest)
        order = first + rest
    return [kept[k] for k in order]


def with_noise(firm: Firm, pairs: list[Pair]) -> list[Pair]:
    """Other facts that a form carries, between the ones that matter."""
    out = list(pairs)
    for label, value in firm.rng.sample(WORDS["noise"]["fields"], firm.rng.randrange(0, 6)):
        out.insert(firm.rng.randrange(len(out) + 1), (firm.cased(label), value, ""))
    return out


def lay_pairs(canvas: Canvas, firm: Firm, pairs: list[Pair], top: int, left: int) -> int:
    """Lays label and value pairs as the firm does; returns the next free row."""
    if firm.placement == "above":
        return _lay_above(canvas, pairs, top, left, firm.rng.choice([4, 5, 6]))
    if firm.placement == "same":
        for i, (label, value, unit) in enumerate(pairs):
            mark = firm.suffix if ":" in firm.suffix or "-" in firm.suffix else ":"
            tail = f" {unit}" if unit else ""
            canvas.put(top + i, left, f"{label}{mark} {in_text(value)}{tail}")
        return top + len(pairs)
    blocks = 2 if firm.placement == "left" and firm.rng.random() < 0.3 else 1
    per = -(-len(pairs) // blocks)
    span = firm.gap + 3
    for i, (label, value, unit) in enumerate(pairs):
        row, column = top + i % per, left + (i // per) * span
        canvas.put(row, column, label + firm.suffix)
        if firm.placement == "merged":
            canvas.merge(row, column, row, column + 1)
            canvas.merge(row, column + 2, row, column + 3)
            put_value(canvas, row, column + 2, value)
            canvas.put(row, column + 4, unit)
        else:
            put_value(canvas, row, column + firm.gap, value)
            canvas.put(row, column + firm.gap + 1, unit)
    return top + per


def put_value(canvas: Canvas, row: int, column: int, value: Written | None) -> str:
    """A date keeps a date's number format."""
    if isinstance(value, dt.datetime):
        return canvas.put(row, column, value, "yyyy-mm-dd")
    return canvas.put(row, column, value)


def in_text(value: Written | None) -> str:
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    return "" if value is None else str(value)


def _lay_above(canvas: Canvas, pairs: list[Pair], top: int, left: int, per: int) -> int:
    row = top
    for start in range(0, len(pairs), per):
        for j, (label, value, unit) in enumerate(pairs[start : start + per]):
            canvas.put(row, left + j, label)
            put_value(canvas, row + 1, left + j, f"{value} {unit}" if unit else value)
        row += 3
    return row


def lay_cross(canvas: Canvas, firm: Firm, survey: Survey, top: int, left: int) -> tuple[list[tuple[str, Reading]], int]:
    """A cross-draft table in one of the trade's forms; returns its cells and the next free row."""
    from tests.layouts.campus import draw_cross

    rng = firm.rng
    forms = ["none", "three", "three", "labelled", "labelled", "matrix", "matrix", "matrix-turned", "max", "list"]
    form = rng.choice(forms[1:] if survey.calm else forms)
    if form == "none" or "cross" in survey.omit:
        survey.codes.append("cross-draft-missing")
        return [], top
    firm.note("cross:" + form)
    heading = rng.choice(WORDS["headings"]["cross"])
    if firm.unit_mode in ("heading", "heading-next", "cell", "number-format"):
        heading += f" ({firm.unit_word})"
    heading = firm.cased(heading) if firm.unit_mode in ("field", "note-top", "note-side", "note-bottom") else heading
    places = rng.choice(WORDS["positions"]["columns"]["3"])
    directions = rng.choice(WORDS["positions"]["directions"])
    cells: list[tuple[str, Reading]] = []

    def draw(count: int) -> list[Reading]:
        return draw_cross(rng, firm, count, 12.0 if survey.calm else 40.0)

    def put(row: int, column: int, reading: Reading) -> None:
        cells.append((canvas.put(row, column, reading.written), reading))

    if form in ("three", "max"):
        canvas.put(top, left, heading + (" max" if form == "max" and not heading.endswith(")") else ""))
        for j, reading in enumerate(draw(3 if form == "three" else 1)):
            put(top, left + 1 + j, reading)
        return cells, top + 1
    canvas.put(top, left, heading)
    if form == "labelled":
        canvas.row(top + 1, left + 1, places)
        for j, reading in enumerate(draw(3)):
            put(top + 2, left + 1 + j, reading)
        return cells, top + 3
    if form == "list":
        for i, (place, reading) in enumerate(zip(places, draw(3), strict=True)):
            canvas.put(top + 1 + i, left, place)
            put(top + 1 + i, left + 1, reading)
        return cells, top + 4
    across, down = (places, directions) if form == "matrix" else (directions, places)
    canvas.row(top + 1, left + 1, across)
    readings = draw(9)
    for i, label in enumerate(down):
        canvas.put(top + 2 + i, left, label)
        for j in range(3):
            put(top + 2 + i, left + 1 + j, readings[3 * i + j])
    return cells, top + 5
