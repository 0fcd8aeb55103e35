"""One row per reading: the long table that instruments and databases give."""

from __future__ import annotations

from tests.layouts.blocks import put_value
from tests.layouts.campus import draw_cross
from tests.layouts.canvas import Book, Canvas, Written
from tests.layouts.firm import WORDS, Firm
from tests.layouts.forms import head, unit_note
from tests.layouts.grids import number_format
from tests.layouts.tables import At
from tests.layouts.truth import Laid, Reading, Survey


def row_per_reading(book: Book, firm: Firm, surveys: list[Survey], style: object = None) -> list[Laid]:
    """One long table, one reading a row."""
    rng = firm.rng
    canvas = book.add(rng.choice(["readings", "Data", "Log", "Export", "Velocity log"]))
    top = head(canvas, firm)
    words = {
        k: str(firm.pick("columns", k)) for k in ("kind", "row", "column", "position", "point_number", "value", "pass")
    }
    place = rng.choice(["row-column", "row-column", "words", "position", "number"])
    firm.note("points:" + place)
    many = max(len(s.passes) for s in surveys) > 1
    with_cross = rng.random() < 0.5
    length = firm.length("sash", 1)
    sash_label = firm.label("sash", firm.length_unit) if firm.length_style != "label" else length[0]
    unit_column = firm.unit_mode in ("field", "note-side", "note-bottom", "heading-next")
    if firm.unit_mode == "note-top":
        canvas.put(top, 1, unit_note(firm))
        top += 1
    value_label = words["value"] + (f" ({firm.unit_word})" if firm.unit_mode == "heading" else "")
    header = [firm.label("hood"), firm.label("surveyed_on"), sash_label]
    header += [words["kind"]] if with_cross else []
    header += {"row-column": [words["row"], words["column"]], "words": [words["row"], words["column"]],
               "position": [words["position"]], "number": [words["point_number"]]}[place]  # fmt: skip
    header += [words["pass"]] if many else []
    header += [value_label] + (["Unit"] if unit_column else [])
    canvas.row(top, 1, header)
    names = _long_names(firm, surveys[0], place)
    row, out = top + 1, []
    for survey in surveys:
        laid = Laid(survey, canvas.name, placed=place != "number")
        row = _lay_survey_rows(canvas, firm, survey, laid, row, place, names, with_cross, many, unit_column)
        out.append(laid)
    return out


def _long_names(firm: Firm, survey: Survey, place: str) -> dict[At, list[Written]]:
    places = [(r, c) for r in range(1, survey.rows + 1) for c in range(1, survey.columns + 1)]
    positions = WORDS["positions"]
    if place == "number":
        return {at: [i] for i, at in enumerate(places, start=1)}
    if place == "row-column":
        return {at: list(at) for at in places}
    down = firm.rng.choice(positions["rows"].get(str(survey.rows), [[f"Row {i + 1}" for i in range(survey.rows)]]))
    across = firm.rng.choice(
        positions["columns"].get(str(survey.columns), [[f"Col {i + 1}" for i in range(survey.columns)]])
    )
    if place == "words":
        return {(r, c): [down[r - 1], across[c - 1]] for r, c in places}
    joint = firm.rng.choice([" ", " / ", ", "])
    return {(r, c): [f"{down[r - 1].removesuffix(' row')}{joint}{across[c - 1]}"] for r, c in places}


def _lay_survey_rows(
    canvas: Canvas,
    firm: Firm,
    survey: Survey,
    laid: Laid,
    row: int,
    place: str,
    names: dict[At, list[Written]],
    with_cross: bool,
    many: bool,
    unit_column: bool,
) -> int:
    face_word = firm.labels.setdefault("face kind", firm.pick("columns", "face_kind"))
    cross_word = firm.labels.setdefault("cross kind", firm.pick("columns", "cross_kind"))
    lead: list[Written | None] = [
        None if "hood" in survey.omit else survey.hood_written,
        None if "date" in survey.omit else survey.date_written,
        None if "sash" in survey.omit else survey.sash_value,
    ]

    def line(kind: str, where: list[Written], n: int, reading: Reading) -> str:
        column = 1
        for value in lead + ([kind] if with_cross else []) + where + ([n] if many else []):
            put_value(canvas, row, column, value)
            column += 1
        cell = canvas.put(row, column, reading.written, number_format(firm))
        canvas.put(row, column + 1, firm.unit_word if unit_column else None)
        return cell

    for n, one in enumerate(survey.passes, start=1):
        for at, reading in one.items():
            laid.face.append((*at, line(str(face_word), names[at], n, reading), reading))
            row += 1
    if with_cross:
        survey.cross = draw_cross(firm.rng, firm, 3)
        if survey.text_in_unit:
            survey.cross = [Reading(r.value, f"{r.value} {firm.unit_word}") for r in survey.cross]
        blanks: list[Written] = [""] * (len(next(iter(names.values()))) - 1)
        for k, reading in enumerate(survey.cross):
            where = [*blanks, ["Left", "Centre", "Right"][k] if place in ("words", "position") else k + 1]
            laid.cross.append((line(str(cross_word), where, 1, reading), reading))
            row += 1
    else:
        survey.codes.append("cross-draft-missing")
    return row
