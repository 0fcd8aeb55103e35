"""One row per hood, the points as columns."""

from __future__ import annotations

from collections.abc import Callable

from tests.layouts.blocks import put_value
from tests.layouts.campus import draw_cross
from tests.layouts.canvas import Book, Canvas, Written
from tests.layouts.firm import WORDS, Firm
from tests.layouts.forms import head, reported_mean, unit_note
from tests.layouts.grids import number_format
from tests.layouts.truth import Laid, Survey

At = tuple[int, int]


def point_names(firm: Firm, rows: int, columns: int) -> tuple[dict[At, str], str]:
    """Names of the points by place, and what they say of it: 'placed', 'free' (analysts may differ), 'nowhere'."""
    rng = firm.rng
    places = [(r, c) for r in range(1, rows + 1) for c in range(1, columns + 1)]
    kind = rng.choice(["words", "words", "numbers", "numbers", "r1c2", "a1"])
    firm.note("points:" + kind)
    if kind == "words" and str(rows) in WORDS["positions"]["rows"] and str(columns) in WORDS["positions"]["columns"]:
        across = rng.choice(WORDS["positions"]["columns"][str(columns)])
        down = rng.choice(WORDS["positions"]["rows"][str(rows)])
        if len(down[0]) == 1 and len(across[0]) == 1:
            return {(r, c): down[r - 1] + across[c - 1] for r, c in places}, "placed"
        down = [d.removesuffix(" row") for d in down]
        return {(r, c): f"{down[r - 1]} {across[c - 1]}" for r, c in places}, "placed"
    if kind == "r1c2":
        word = rng.choice(["R{r}C{c}", "r{r}c{c}", "R{r}-C{c}", "Row {r} Col {c}"])
        return {(r, c): word.format(r=r, c=c) for r, c in places}, "placed"
    if kind == "a1":
        return {(r, c): "ABCDEF"[r - 1] + str(c) for r, c in places}, "free"
    word = str(rng.choice(WORDS["columns"]["point"]))
    return {at: word.format(n=i) for i, at in enumerate(places, start=1)}, "nowhere"


def row_per_hood(book: Book, firm: Firm, surveys: list[Survey], style: object = None) -> list[Laid]:
    """One table, one hood a row."""
    rng = firm.rng
    canvas = book.add(rng.choice(["Survey 2026", "Hoods", "Data", "Results", "Sheet1"]))
    top = head(canvas, firm)
    names, placed = point_names(firm, surveys[0].rows, surveys[0].columns)
    mode = firm.unit_mode
    units_row = mode == "heading" and rng.random() < 0.3
    firm.note("units-row") if units_row else None
    common_date = rng.random() < 0.15 and not any("date" in s.omit or s.status == "held" for s in surveys)
    if mode in ("note-top", "field"):
        canvas.put(top, 1, unit_note(firm) if mode == "note-top" else f"{firm.label('unit')}: {firm.unit_word}")
        top += 1
    if common_date:
        for s in surveys:
            s.date, s.date_written = surveys[0].date, surveys[0].date_written
        canvas.put(top, 1, firm.label("surveyed_on"))
        put_value(canvas, top, 2, surveys[0].date_written)
        top += 2
    columns = _columns(firm, surveys, names, mode, units_row, common_date)
    group = next(i for i, c in enumerate(columns, start=1) if c.face is not None)
    if any(c.label.isdigit() for c in columns) or rng.random() < 0.3:
        heading = firm.labels.setdefault("face", firm.pick("headings", "face"))
        canvas.put(top, group, heading + (f" ({firm.unit_word})" if mode in ("heading", "heading-next") else ""))
        if rng.random() < 0.7:
            canvas.merge(top, group, top, group + len(names) - 1)
        top += 1
    return _lay_rows(canvas, firm, surveys, columns, top, placed, units_row)


class Column:
    """One column of the table: its label, unit for a units row, and what stands in it for a survey."""

    def __init__(self, label: str, value: Callable[[Survey], Written | None], unit: str = "", face: At | None = None,
                 cross: int | None = None):  # fmt: skip
        self.label, self.value, self.unit, self.face, self.cross = label, value, unit, face, cross


def _columns(firm: Firm, surveys: list[Survey], names: dict[At, str], mode: str, units_row: bool,
             common_date: bool) -> list[Column]:  # fmt: skip
    rng = firm.rng
    label, _, tail = firm.length("sash", 1)
    length_label = firm.label("sash", tail) if tail else label

    def sash(s: Survey) -> Written:
        return firm.length("sash", s.sash_value)[1]

    lead = [Column(firm.label("hood"), lambda s: s.hood_written)]
    some: list[Column] = []
    if not common_date and not any("date" in s.omit for s in surveys if len(surveys) == 1):
        some.append(Column(firm.label("surveyed_on"), lambda s: None if "date" in s.omit else s.date_written))
    some.append(Column(length_label, lambda s: None if "sash" in s.omit else sash(s)))
    for name, attribute in [("building", "building"), ("room", "room"), ("instrument", "instrument")]:
        if rng.random() < 0.5:
            some.append(Column(firm.label(name), lambda s, a=attribute: getattr(s, a)))
    if any("due" in s.codes or "calibration-expired" in s.codes for s in surveys) or rng.random() < 0.3 or (
        firm.date_proof == "calibration" and firm.date_style in ("dmy", "mdy")
    ):  # fmt: skip
        some.append(Column(firm.label("calibration_due"), lambda s: s.calibration_due and firm.date(s.calibration_due)))
    rng.shuffle(some)
    joint = "\n" if firm.labels.get("bracket") == "3" else " "
    suffix = f"{joint}({firm.unit_word})" if mode in ("heading", "heading-next") and not units_row else ""
    digits = all(n.isdigit() for n in names.values())
    points = [
        Column(
            name + ("" if digits else suffix),
            lambda s, at=at: s.passes[0][at].written if at in s.passes[0] else None,
            firm.unit_word if units_row else "",
            face=at,
        )
        for at, name in names.items()
    ]
    tail_columns: list[Column] = []
    if rng.random() < 0.6 or any(s.reported_mean is not None for s in surveys):
        tail_columns.append(
            Column(firm.label("mean") + suffix, lambda s: reported_mean(firm, s), firm.unit_word if units_row else "")
        )
    if rng.random() < 0.25:
        tail_columns.append(
            Column(
                firm.label("minimum"),
                lambda s: min((r.value for r in s.passes[0].values() if r.value is not None), default=None),
            )
        )
        tail_columns.append(
            Column(
                firm.label("maximum"),
                lambda s: max((r.value for r in s.passes[0].values() if r.value is not None), default=None),
            )
        )
    tail_columns += _cross_columns(firm, surveys, units_row)
    if rng.random() < 0.3:
        tail_columns.append(Column(firm.label("verdict"), lambda s: "Pass"))
    if rng.random() < 0.3:
        tail_columns.append(
            Column(firm.label("observations"), lambda s: rng.choice(["", "", "Sash sticks", "3 bottles inside"]))
        )
    return lead + some + points + tail_columns


def _cross_columns(firm: Firm, surveys: list[Survey], units_row: bool) -> list[Column]:
    kind = firm.rng.choice(["none", "max", "max", "three"])
    if kind == "none":
        for s in surveys:
            s.codes.append("cross-draft-missing")
        return []
    labels = [str(firm.pick("columns", "cross_max"))] if kind == "max" else [
        f"Cross-draft {p}" for p in firm.rng.choice([["left", "centre", "right"], ["L", "C", "R"]])
    ]  # fmt: skip
    for s in surveys:
        s.cross = draw_cross(firm.rng, firm, len(labels))
    unit = (
        f" ({firm.unit_word})"
        if firm.unit_mode in ("heading", "heading-next", "cell", "number-format") and not units_row
        else ""
    )
    return [
        Column(label + unit, lambda s, k=k: s.cross[k].written, firm.unit_word if units_row else "", cross=k)
        for k, label in enumerate(labels)
    ]


def _lay_rows(canvas: Canvas, firm: Firm, surveys: list[Survey], columns: list[Column], top: int, placed: str,
              units_row: bool) -> list[Laid]:  # fmt: skip
    rng = firm.rng
    for j, column in enumerate(columns, start=1):
        canvas.put(top, j, int(column.label) if column.label.isdigit() and rng.random() < 0.5 else column.label)
        if units_row:
            canvas.put(top + 1, j, column.unit)
    if firm.unit_mode == "note-side":
        canvas.put(top, len(columns) + 2, unit_note(firm))
    row, out, building = top + 1 + units_row, [], ""
    sections = rng.random() < 0.15
    for survey in surveys:
        if sections and survey.building != building:
            building = survey.building
            canvas.put(row, 1, building)
            row += 1
        elif rng.random() < 0.06:
            row += 1
        laid = Laid(survey, canvas.name, placed=placed != "nowhere", place_free=placed == "free")
        for j, column in enumerate(columns, start=1):
            if column.face is not None:
                reading = None if "readings" in survey.omit else survey.passes[0].get(column.face)
                if reading is not None:
                    cell = canvas.put(row, j, reading.written, number_format(firm))
                    laid.face.append((*column.face, cell, reading))
            else:
                value = column.value(survey)
                if "hood" in survey.omit and j == 1:
                    value = None
                cell = put_value(canvas, row, j, value)
                if column.cross is not None:
                    laid.cross.append((cell, survey.cross[column.cross]))
        out.append(laid)
        row += 1
    if rng.random() < 0.2:
        canvas.put(row + 1, 1, rng.choice(["End of list", f"Hoods tested: {len(surveys)}", "Total hoods"]))
        row += 2
    if firm.unit_mode == "note-bottom":
        canvas.put(row + 1, 1, unit_note(firm))
    return out
