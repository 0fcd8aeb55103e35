"""The four files of a review, opened by other programs' readers: they say the same, each figure is the pack's, and
nothing out of a sheet comes alive."""

from __future__ import annotations

import datetime as dt
import io
import shutil
import subprocess
import zipfile
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pptx
import pypdfium2
import pytest
from lxml import html

from auditor.answers.reviewing import Review
from auditor.cli import main
from auditor.documents.figures import UNITS
from auditor.documents.fixed import fixed
from auditor.documents.review import FILES, Pack, compose
from auditor.documents.review.model import Chart
from tests.documents.review.conftest import TODAY

NASTY = "<b>bold</b> &lt; <script>alert(1)</script> {year} =1+1 http://x.example 温 \u202eabc"


def plain(text: str) -> str:
    return " ".join(text.split())


def of_pdf(data: bytes) -> str:
    return plain(" ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data)))


def of_html(data: bytes) -> str:
    page = html.fromstring(data)
    for style in page.iter("style"):
        style.text = ""
    return plain(" ".join(page.itertext()))


def of_xlsx(data: bytes) -> str:
    rows = openpyxl.load_workbook(io.BytesIO(data))["about"].iter_rows(values_only=True)
    return plain(" ".join(str(value) for row in rows for value in row))


def of_pptx(data: bytes) -> str:
    said = []
    for slide in pptx.Presentation(io.BytesIO(data)).slides:
        for shape in slide.shapes:
            if shape.has_text_frame:
                said.append(shape.text_frame.text)
            if shape.has_table:
                said += [cell.text for row in shape.table.rows for cell in row.cells]
    return plain(" ".join(said))


READ = {"pdf": of_pdf, "html": of_html, "xlsx": of_xlsx, "pptx": of_pptx}


@pytest.mark.parametrize("ending", list(READ))
def test_each_file_has_the_same_figures_the_caution_and_what_it_stands_on(made, pack: Pack, ending: str):
    said = READ[ending](made[ending])
    for value, words in pack.figures:
        assert plain(words) in said
        assert plain(value) in said
    for name, text in pack.standing:
        assert name in said
        assert plain(text) in said
    for sentence in (*pack.summary, pack.caution, pack.title):
        assert plain(sentence) in said


@pytest.mark.parametrize("ending", ["pdf", "html"])
def test_what_is_read_has_every_row_of_its_tables(made, pack: Pack, ending: str):
    """Cells one by one, without blanks: a cell's lines may end anywhere."""
    said = READ[ending](made[ending]).replace(" ", "")
    rows = [(table, row) for section in pack.sections for table in section.tables for row in table.rows[: table.most]]
    assert len(rows) > 150
    missing = [cell for _, row in rows for cell in row if "".join(cell.split()) not in said]
    assert missing == []


def test_the_summary_is_one_page(made):
    first, second = (pypdfium2.PdfDocument(made["pdf"])[n].get_textpage().get_text_range() for n in (0, 1))
    assert "What this stands on" in first
    assert second.startswith("Contents") or "Contents" in second


@pytest.mark.parametrize(("paper", "size"), [("a4", (595.28, 841.89)), ("letter", (612, 792))])  # ISO 216; ANSI A
def test_paper(made, pack: Pack, paper: str, size: tuple[float, float]):
    document = pypdfium2.PdfDocument(made["pdf"] if paper == "a4" else FILES["pdf"](pack, paper))
    assert len(document) > 5
    for page in document:
        assert (page.get_width(), page.get_height()) == pytest.approx(size, abs=0.01)
        assert "does not prove" in page.get_textpage().get_text_range()


def test_the_workbook_holds_every_table_as_it_is(made, gathered: Review):
    book = openpyxl.load_workbook(io.BytesIO(made["xlsx"]))
    assert book.sheetnames == ["about", *gathered.tables]
    for name, frame in gathered.tables.items():
        rows = list(book[name].iter_rows(values_only=True))
        assert list(rows[0] if rows else ()) == list(frame.columns), name
        for written, row in zip(rows[1:], frame.itertuples(index=False), strict=True):
            assert [alike(a, b) for a, b in zip(written, row, strict=True)] == [True] * len(row), (name, written, row)


def alike(written, value) -> bool:
    if value is None or value is pd.NaT or value is pd.NA or value != value or value == "":
        return written in (None, "")
    if isinstance(value, dt.datetime):
        return written == value
    if isinstance(value, str):
        return str(written).replace("\r", "\n") == value.replace("\r", "\n")
    return bool(written == value) or bool(np.isclose(float(written), float(value), rtol=1e-12))


def test_slides_have_native_charts_with_the_figures_behind_them(made, pack: Pack):
    wanted: dict[str, Chart] = {chart.title: chart for section in pack.sections for chart in section.charts}
    found = {}
    for slide in pptx.Presentation(io.BytesIO(made["pptx"])).slides:
        for shape in slide.shapes:
            if shape.has_chart:
                found[slide.shapes.title.text_frame.text] = shape.chart
    assert list(found) == list(wanted)
    for title, chart in found.items():
        plot, own = chart.plots[0], wanted[title]
        assert list(plot.categories) == list(own.categories)
        got = {series.name: tuple(series.values) for series in plot.series}
        for name, values in zip(own.series, own.values, strict=True):
            assert got[name] == values
        # and a workbook behind it, so that it can be edited
        sheet = openpyxl.load_workbook(io.BytesIO(chart.part.chart_workbook.xlsx_part.blob)).active
        assert [row[0].value for row in sheet.iter_rows(min_row=2)] == [str(name) for name in own.categories]


def test_metres_a_second(gathered: Review):
    pack = compose(gathered.year, gathered.today, gathered.facts, gathered.tables, UNITS["m/s"])
    moving = next(s for s in pack.sections if s.key == "trends").tables[0]
    place = [column.heading for column in moving.columns].index("Last mean (m/s)")
    means = gathered.tables["trends_moving"]["last_fpm"]
    assert len(means) > 3
    assert [row[place] for row in moving.rows] == [f"{mean * 0.00508:.2f}" for mean in means]
    sheet = pack.frames["trends"]
    assert sheet["last_mps"].tolist() == pytest.approx((sheet["last_fpm"] * 0.00508).tolist(), nan_ok=True)
    assert sheet["last_fpm"].equals(gathered.tables["trends"]["last_fpm"])
    assert ("Velocities", "in m/s; limits as their source prints them") in pack.standing


# --- the same bytes --------------------------------------------------------------------------------------------------
def test_a_second_run_gives_the_same_bytes(made, pack: Pack, monkeypatch: pytest.MonkeyPatch):
    import time

    later = time.time() + 86_400
    monkeypatch.setattr(time, "time", lambda: later)
    for ending, make in FILES.items():
        assert make(pack, "a4") == made[ending], ending
    for ending in ("xlsx", "pptx"):
        with zipfile.ZipFile(io.BytesIO(made[ending])) as parts:
            assert {entry.date_time[:3] for entry in parts.infolist()} == {(2026, 11, 25)}
            core = parts.read("docProps/core.xml").decode()
            assert core.count("2026-11-25T00:00:00Z") == core.count("<dcterms:created") + core.count(
                "<dcterms:modified"
            )


def test_a_workbook_inside_a_file_is_fixed_too():
    def packed(stamp: str, when: tuple) -> bytes:
        inner, outer = io.BytesIO(), io.BytesIO()
        for stream, name, data in (
            (inner, "docProps/core.xml", f"<dcterms:created x='y'>{stamp}</dcterms:created>".encode()),
            (outer, "ppt/embeddings/a.xlsx", None),
        ):
            with zipfile.ZipFile(stream, "w") as parts:
                parts.writestr(zipfile.ZipInfo(name, when), inner.getvalue() if data is None else data)
        return outer.getvalue()

    one = fixed(packed("2020-01-01T09:00:00Z", (2020, 1, 1, 9, 0, 0)), TODAY)
    assert one == fixed(packed("2024-05-05T10:00:00Z", (2024, 5, 5, 10, 0, 0)), TODAY)


# --- text is only text -----------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def hostile(gathered: Review) -> Pack:
    """The review with every text of every table replaced by one that wants to be markup, formula, name or link."""
    tables = {}
    for name, frame in gathered.tables.items():
        texts = [c for c in frame if frame[c].dtype in ("str", "object") and c not in ("by", "year", "severity")]
        frame = frame.head(9)
        tables[name] = frame.assign(**{c: frame[c].where(frame[c].isna(), NASTY) for c in texts})
    tables["held_reasons"] = tables["held_reasons"].assign(message="W" * 3000, workbook="=cmd " + "long words " * 300)
    facts = gathered.facts | {"profiles": NASTY, "seal": "{seal}"}
    return compose(gathered.year, gathered.today, facts, tables)


def test_in_the_pdf(hostile: Pack):
    data = FILES["pdf"](hostile, "letter")
    said = of_pdf(data)
    assert plain("<b>bold</b> &lt; <script>alert(1)</script> {year} =1+1 http://x.example [U+6E29] abc") in said
    assert "log entry" in said
    assert "{seal}" in said
    assert b"/URI" not in data
    assert b"/JavaScript" not in data


def test_in_the_page(hostile: Pack):
    data = FILES["html"](hostile, "")
    page = html.fromstring(data)
    assert not page.xpath("//script | //b | //img | //iframe | //link | //object | //*[@onclick or @onload]")
    assert {a.get("href")[0] for a in page.iter("a")} == {"#"}
    assert "<script>alert(1)</script>" in of_html(data)
    assert data.count(b"<script") == 0
    assert not page.xpath("//@src | //@*[local-name()='href'][not(starts-with(., '#'))]")
    assert b"@import" not in data
    assert b"url(" not in data
    [policy] = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert policy.startswith("default-src 'none'")


def test_in_the_workbook_and_the_slides(hostile: Pack):
    book = openpyxl.load_workbook(io.BytesIO(FILES["xlsx"](hostile, "")))
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "f" not in kinds
    assert "e" not in kinds
    data = FILES["pptx"](hostile, "")
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        for name in parts.namelist():
            assert b"hlinkClick" not in parts.read(name)
            if name.endswith(".xlsx"):
                inner = zipfile.ZipFile(io.BytesIO(parts.read(name)))
                assert not [n for n in inner.namelist() if b"<f>" in inner.read(n)]
    assert "<script>alert(1)</script>" in of_pptx(data)


def test_a_campus_of_many_buildings_fits_its_pages(gathered: Review):
    """Only the largest are drawn; the table has them all."""
    many = pd.concat([gathered.tables["coverage"]] * 12, ignore_index=True)
    many["building"] = [f"Building {n}" for n in range(len(many))]
    pack = compose(gathered.year, gathered.today, gathered.facts, gathered.tables | {"coverage": many})
    chart, table = pack.sections[0].charts[0], pack.sections[0].tables[0]
    assert len(chart.categories) == 30
    assert chart.title.endswith(f"(the 30 largest of {len(many)})")
    drawn = dict(zip(chart.categories, map(sum, zip(*chart.values, strict=True)), strict=True))
    size = many.set_index("building")[["accepted", "held_only", "not_surveyed"]].sum(axis=1)
    assert min(drawn.values()) >= size.drop(list(drawn)).max()
    assert len(table.rows) == len(many)
    assert f"{len(many) - 40} more rows are in sheet 'coverage'" in of_pdf(FILES["pdf"](pack, "letter"))


# --- the command, and another program --------------------------------------------------------------------------------
def test_what_the_command_cannot_do(demo_store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    words = ["--store", str(demo_store), "--as-of", TODAY.isoformat()]
    assert main(["review", "2019", "-o", str(tmp_path), *words]) == 2
    assert "no survey of 2019" in capsys.readouterr().err
    (tmp_path / "file").write_text("")
    assert main(["review", "2026", "-o", str(tmp_path / "file"), *words]) == 3
    assert "is a file" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == [tmp_path / "file"]


def impress() -> bool:
    program = shutil.which("soffice")
    return bool(program) and bool(list(Path(program).resolve().parent.glob("libsdlo*")))


@pytest.mark.skipif(not impress(), reason="no LibreOffice Impress here")
def test_libreoffice_opens_the_slides(made, tmp_path: Path):
    source = tmp_path / "slides.pptx"
    source.write_bytes(made["pptx"])
    profile = f"-env:UserInstallation=file://{tmp_path / 'profile'}"
    run = ["soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", str(tmp_path), str(source)]
    subprocess.run(run, check=True, capture_output=True, timeout=120)
    pages = pypdfium2.PdfDocument(tmp_path / "slides.pdf")
    assert len(pages) == len(pptx.Presentation(source).slides)
