"""Form layouts: one hood's facts as label and value pairs, and its grid below or beside them."""

from __future__ import annotations

from dataclasses import replace

from tests.layouts.blocks import lay_cross, lay_pairs, survey_pairs, with_noise
from tests.layouts.campus import draw_length, measured
from tests.layouts.canvas import Book, Canvas, Formula, Written, a1
from tests.layouts.firm import WORDS, Firm
from tests.layouts.grids import GridStyle, LaidGrid, lay_grid, other_grid
from tests.layouts.truth import FPM_PER, Laid, Survey, round_half_up

NOTE_MODES = ("note-top", "note-side", "note-bottom")


def unit_note(firm: Firm) -> str:
    return firm.labels.setdefault("note", firm.pick("notes", "unit")).format(u=firm.unit_word)


def face_heading(firm: Firm, canvas: Canvas, row: int, column: int, extra: str = "") -> None:
    """The words over the grid, with the unit where this firm puts it there."""
    text = firm.cased(firm.labels.setdefault("face", firm.pick("headings", "face")))
    if firm.unit_mode == "heading":
        text += f" ({firm.unit_word})" if firm.rng.random() < 0.7 else f", {firm.unit_word}"
    canvas.put(row, column, text + extra)
    if firm.unit_mode == "heading-next":
        canvas.put(row, column + 1, f"({firm.unit_word})" if firm.rng.random() < 0.5 else firm.unit_word)


def reported_mean(firm: Firm, survey: Survey) -> Written | None:
    """The sheet's own average, as its number format would round it."""
    if "mean" in survey.omit:
        return None
    if survey.reported_mean is not None:
        return survey.reported_mean
    if survey.mean is None:
        values = [r.value for one in survey.passes for r in one.values() if r.value is not None]
        return round_half_up(sum(values) / len(values), firm.decimals + 1) if values else None
    return round_half_up(survey.mean, firm.decimals + firm.rng.choice([0, 1, 1]))


def lay_reported(canvas: Canvas, firm: Firm, survey: Survey, laid: LaidGrid, left: int) -> int:
    """Average, and perhaps least and greatest, below the grid; returns the next free row."""
    row = laid.bottom + firm.rng.choice([1, 2])
    mean = reported_mean(firm, survey)
    if firm.rng.random() < 0.35 and survey.reported_mean is None:
        return row
    if firm.rng.random() < 0.3 and isinstance(mean, int | float) and survey.status == "accepted" and laid.cells:
        rows, columns = zip(*[_split(cell) for _, _, cell, _ in laid.cells], strict=True)
        area = f"{a1(min(rows), min(columns))}:{a1(max(rows), max(columns))}"
        stored = mean if firm.file_format == "xlsxwriter" else None
        mean = Formula(f"=AVERAGE({area})", stored) if stored is not None else mean
    canvas.put(row, left, firm.label("mean", firm.unit_word if firm.unit_mode == "heading" else "") + firm.suffix)
    canvas.put(row, left + 1, mean)
    values = [r.value for one in survey.passes for r in one.values() if r.value is not None]
    if firm.rng.random() < 0.3 and values:
        for k, (name, value) in enumerate([("minimum", min(values)), ("maximum", max(values))]):
            canvas.put(row + 1 + k, left, firm.label(name) + firm.suffix)
            canvas.put(row + 1 + k, left + 1, value)
        return row + 3
    return row + 1


def _split(address: str) -> tuple[int, int]:
    letters = address.rstrip("0123456789")
    column = 0
    for ch in letters:
        column = 26 * column + ord(ch) - 64
    return int(address[len(letters) :]), column


def lay_form(canvas: Canvas, firm: Firm, survey: Survey, style: GridStyle, top: int, left: int,
             common: set[str] | None = None) -> Laid:  # fmt: skip
    """One whole form. `common` names the facts that stand elsewhere on the sheet."""
    common = common or set()
    laid = Laid(survey, canvas.name)
    arrangement = firm.labels.get("arrangement", "below")
    pairs = with_noise(firm, survey_pairs(firm, survey, common))
    if arrangement == "facts last":
        row = _lay_body(canvas, firm, survey, style, top, left, laid, common)
        row = lay_pairs(canvas, firm, pairs, row + 1, left) + 1
    elif arrangement == "beside":
        facts_end = lay_pairs(canvas, firm, pairs, top, left)
        column = max(c for r, c in canvas.cells if r >= top) + firm.rng.choice([2, 2, 3])
        end = _lay_body(canvas, firm, survey, style, top + firm.rng.choice([0, 0, 1]), column, laid, common)
        row = max(facts_end + 1, end if firm.rng.random() < 0.3 else 0)
    else:
        row = lay_pairs(canvas, firm, pairs, top, left) + firm.rng.choice([0, 1, 1, 2])
        row = _lay_body(canvas, firm, survey, style, row, left, laid, common)
    _lay_foot(canvas, firm, survey, row, left)
    if firm.unit_mode == "note-bottom" and "unit" not in common:
        canvas.put(canvas.bottom_from(left) + 2, left, unit_note(firm))
    return laid


def _lay_body(canvas: Canvas, firm: Firm, survey: Survey, style: GridStyle, row: int, left: int, laid: Laid,
              common: set[str]) -> int:  # fmt: skip
    """Readings and cross-drafts; returns the next free row."""
    if firm.unit_mode == "note-top" and "unit" not in common:
        canvas.put(row, left, unit_note(firm))
        row += 1
    if "readings" in survey.omit:
        canvas.put(row, left, firm.label("mean", firm.unit_word) + firm.suffix)
        canvas.put(row, left + 1, reported_mean(firm, survey))
        row += 2
    else:
        row = lay_readings(canvas, firm, survey, style, row, left, laid)
    laid.cross, after = lay_cross(canvas, firm, survey, row, left)
    return after + (1 if after > row else 0)


def lay_readings(canvas: Canvas, firm: Firm, survey: Survey, style: GridStyle, row: int, left: int, laid: Laid) -> int:
    """The grid, or the grids of replicate passes, and grids that are not readings; returns the next free row."""
    rng = firm.rng
    first_extra = rng.choice(["previous", "design"]) if rng.random() < 0.06 else None
    if first_extra:
        row = _lay_extra(canvas, firm, survey, style, first_extra, row, left) + 2
    heading_row = row
    face_heading(firm, canvas, row, left)
    row += 1
    side = 0
    upright = firm.labels.get("upright") and len(survey.passes) == 1 and firm.unit_mode != "heading-next"
    if upright:
        grid = lay_grid(canvas, firm, style, survey.passes[0], heading_row, left + 1)
        canvas.merge(heading_row, left, grid.bottom, left)
        laid.face, side, row = grid.cells, grid.right, grid.bottom + 2
    for n, one in enumerate(survey.passes if not upright else [], start=1):
        if len(survey.passes) > 1:
            canvas.put(row, left, survey_pass_word(firm).format(n=n))
            row += 1
        grid = lay_grid(canvas, firm, style, one, row, left)
        laid.face += grid.cells
        side = max(side, grid.right)
        row = grid.bottom + 2
    if firm.unit_mode == "note-side" and heading_row:
        canvas.put(heading_row + 1 + rng.randrange(2), side + 2, unit_note(firm))
        side += 3
    row = lay_reported(canvas, firm, survey, grid, left) + 1
    if rng.random() < 0.25 and first_extra is None:
        kind = rng.choice(["previous", "previous", "percent", "off_mean", "design", "volume", "temperature"])
        if rng.random() < 0.5:
            _lay_extra(canvas, firm, survey, style, kind, heading_row, side + 2)
        else:
            row = _lay_extra(canvas, firm, survey, style, kind, row, left) + 2
    end = canvas.bottom_from(left)
    return max(row, end + 1) if rng.random() < 0.5 else end + 2


def survey_pass_word(firm: Firm) -> str:
    return str(firm.labels.setdefault("pass", firm.pick("headings", "passes")))


def _lay_extra(canvas: Canvas, firm: Firm, survey: Survey, style: GridStyle, kind: str, row: int, left: int) -> int:
    """A grid that is not readings; returns its last row."""
    firm.note("beside:" + kind)
    canvas.put(row, left, firm.pick("headings", kind))
    plain = replace(style, derived_columns=[], derived_rows=[], corner="")
    grid = other_grid(firm.rng, survey, kind)
    return lay_grid(canvas, replace(firm, unit_mode="field"), plain, grid, row + 1, left).bottom


def _lay_foot(canvas: Canvas, firm: Firm, survey: Survey, row: int, left: int) -> None:
    """Smoke, result, remarks, signature: whatever a form ends with."""
    rng, noise = firm.rng, WORDS["noise"]
    row = max(row, 1)
    parts: list[tuple[str, str]] = []
    if rng.random() < 0.6 or survey.smoke:
        parts.append((firm.label("smoke_local"), survey.smoke or rng.choice(noise["smoke"])))
        parts.append((firm.label("smoke_gross"), rng.choice(noise["smoke"])))
    if rng.random() < 0.4 or survey.verdict:
        parts.append((firm.label("verdict"), survey.verdict or rng.choice(["PASS", "Pass", "OK"])))
    if rng.random() < 0.4:
        parts.append((firm.label("observations"), rng.choice(noise["remarks"])))
    if rng.random() < 0.3:
        design = 100 if firm.unit == "ft/min" else round_half_up(100 / FPM_PER[firm.unit], 2)
        parts.append(("Design face velocity", f"{design} {firm.unit_word}"))
    for label, value in parts:
        canvas.put(row, left, label + firm.suffix)
        canvas.put(row, left + 1, value)
        row += 1
    if rng.random() < 0.3:
        canvas.put(row + 1, left, rng.choice(noise["signatures"]))


def head(canvas: Canvas, firm: Firm) -> int:
    """Title and letterhead; returns the first free row."""
    rng, row = firm.rng, 1
    if rng.random() < 0.55:
        canvas.put(1, 1, rng.choice(WORDS["noise"]["titles"]))
        if rng.random() < 0.3 and firm.file_format != "csv":
            canvas.merge(1, 1, 1, 6)
        row = 2
        for text in rng.sample(WORDS["noise"]["lines"], rng.randrange(0, 3)):
            canvas.put(row, 1, text)
            row += 1
        row += rng.choice([0, 1])
    return row + rng.choice([0, 0, 1])


def sheet_name(firm: Firm, survey: Survey, number: int) -> str:
    kind = firm.labels.setdefault(
        "sheet", firm.rng.choice(["hood", "hood", "Hood {n}", "Sheet{n}", "Form {n}", "room"])
    )
    if kind == "hood":
        return survey.hood_id or str(survey.hood_written)
    return f"Rm {survey.room}" if kind == "room" else kind.format(n=number)


def one_per_sheet(book: Book, firm: Firm, surveys: list[Survey], style: GridStyle) -> list[Laid]:
    out = []
    rng = firm.rng
    firm.labels["arrangement"] = rng.choices(["below", "beside", "facts last"], [72, 18, 10])[0]
    if firm.file_format != "csv" and rng.random() < 0.1:
        firm.labels["upright"] = "yes"
        firm.note("upright heading")
    firm.note("facts:" + firm.labels["arrangement"])
    down, right = rng.choice([(0, 1), (0, 1), (0, 1), (0, 2), (0, 2), (5, 4)])
    for n, survey in enumerate(surveys, start=1):
        canvas = book.add(sheet_name(firm, survey, n))
        out.append(lay_form(canvas, firm, survey, style, head(canvas, firm) + down, right))
    return out


def several_per_sheet(book: Book, firm: Firm, surveys: list[Survey], style: GridStyle) -> list[Laid]:
    """Side by side or stacked, each form complete."""
    canvas = book.add(firm.rng.choice(["Hoods", "Survey", "Field data", "Sheet1"]))
    top, left, out = head(canvas, firm), 1, []
    beside = firm.rng.random() < 0.5
    firm.labels["arrangement"] = firm.rng.choices(["below", "beside"], [80, 20])[0]
    firm.note("facts:" + firm.labels["arrangement"])
    firm.note("side-by-side" if beside else "stacked")
    for survey in surveys:
        out.append(lay_form(canvas, firm, survey, style, top, left))
        if beside:
            left = canvas.right + firm.rng.choice([2, 2, 3])
        else:
            top = canvas.bottom + firm.rng.choice([2, 3, 4])
    return out


def several_settings(book: Book, firm: Firm, surveys: list[Survey], style: GridStyle) -> list[Laid]:
    """Each hood on a sheet of its own with grids at two or three sash heights: a survey for each."""
    out = []
    for n, survey in enumerate(surveys, start=1):
        canvas = book.add(sheet_name(firm, survey, n))
        row = head(canvas, firm)
        pairs = with_noise(firm, survey_pairs(firm, survey, {"sash"}))
        row = lay_pairs(canvas, firm, pairs, row, 1) + 1
        if firm.unit_mode in NOTE_MODES:
            canvas.put(row, 1, unit_note(firm))
            row += 2
        heights = firm.rng.sample([6, 12, 18, 24, 27], firm.rng.choice([2, 2, 3]))
        form = firm.rng.choice(["pair", "heading"])
        for height in sorted(heights, reverse=True):
            other = at_sash(firm, survey, height)
            laid = Laid(other, canvas.name)
            other.codes.append("cross-draft-missing")
            if form == "pair":
                label, value, unit = firm.length("sash", other.sash_value)
                canvas.put(row, 1, label + firm.suffix)
                canvas.put(row, 2, value)
                canvas.put(row, 3, unit)
                row += 1
                face_heading(firm, canvas, row, 1)
            else:
                face_heading(firm, canvas, row, 1, f" - sash at {other.sash_value:g} {firm.length_unit}")
            grid = lay_grid(canvas, firm, style, other.passes[0], row + 1, 1)
            laid.face = grid.cells
            row = lay_reported(canvas, firm, other, grid, 1) + 1
            out.append(laid)
    return out


def at_sash(firm: Firm, survey: Survey, inches: int) -> Survey:
    """The same hood on the same day at another sash height, with readings of its own."""
    from tests.layouts.campus import write_units

    value, real = draw_length(firm.rng, replace(firm), [inches])
    lift = firm.rng.gauss(1, 0.05)
    grid = {
        at: r
        if r.planted
        else measured(firm, (r.value or 1) * FPM_PER[survey.unit] * lift * (1 + firm.rng.gauss(0, 0.02)))
        for at, r in survey.passes[0].items()
    }
    other = replace(survey, sash_value=value, sash_in=real, passes=[grid], codes=list(survey.codes), cross=[])
    if survey.text_in_unit:
        write_units(firm.rng, firm, other)
    return other
