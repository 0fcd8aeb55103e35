"""Labels and notices as they come out of the printer: their text is read back from the PDF, their codes are read by
another program's reader, their sizes are measured on the page."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
import pypdfium2
import pytest
import zxingcpp

from auditor.answers import hood_states
from auditor.answers.labelling import Papers, papers
from auditor.answers.record import open_record
from auditor.cli import main
from auditor.cli.paper_words import SHEETS
from auditor.documents.figures import UNITS
from auditor.documents.labels import Stock, pdf, stocks
from auditor.documents.labels.notice import JUST_READ_MM, READ_WITH_EASE_MM
from auditor.documents.pages import MM, PAPERS

TODAY = dt.date(2026, 11, 25)
SHEET = stocks()["a4-99x68"]
NONE = pd.DataFrame()


@pytest.fixture(scope="module")
def found(demo_store: Path) -> Papers:
    with open_record(str(demo_store)) as store:
        return papers(store, TODAY)


def opened(data: bytes) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(data)


def texts(document: pypdfium2.PdfDocument) -> list[str]:
    """The text of each page, blanks of every kind as one."""
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def boxes(page: pypdfium2.PdfPage) -> Iterator[tuple[str, tuple[float, float, float, float]]]:
    """Each character that leaves ink, with left, bottom, right and top in points."""
    said = page.get_textpage()
    for place in range(said.count_chars()):
        character = said.get_text_range(place, 1)
        if character.strip():
            yield character, said.get_charbox(place)


def label(**changes) -> dict:
    return {
        "hood_id": "B-214", "building": "Alder", "floor": "2", "room": "214", "surveyed_on": pd.Timestamp("2026-03-02"),
        "face_mean_fpm": 98.4251968503937, "sash_height_in": 18.0, "by": "Amber, K. L.",
        "criteria": "Common practice (version 1)", "next_due": pd.Timestamp("2027-03-02"), "survey_id": "s",
    } | changes  # fmt: skip


def notice(**changes) -> dict:
    return {
        "hood_id": "B-214", "building": "Alder", "floor": "2", "room": "214", "notice": "do not use",
        "since": pd.Timestamp("2026-03-02"), "reason": "a point at 48 ft/min is below 60 ft/min", "work_order": None,
        "posted_on": pd.NaT,
    } | changes  # fmt: skip


def test_only_hoods_in_service_that_passed_get_a_label(found: Papers, demo_store: Path):
    with open_record(str(demo_store)) as store:
        states = hood_states(store, TODAY).set_index("hood_id")
        surveys = store.table("surveys").set_index("survey_id")
    assert len(found.labels) > 100
    assert set(states.loc[found.labels["hood_id"], "state"]) == {"in service"}
    behind = surveys.loc[found.labels["survey_id"]]
    assert set(behind["status"]) == {"accepted"}
    assert set(behind["verdict"]) == {"pass"}
    assert behind["face_mean_fpm"].tolist() == found.labels["face_mean_fpm"].tolist()
    assert behind["surveyed_on"].tolist() == states.loc[found.labels["hood_id"], "last_surveyed_on"].tolist()
    banned = states[states["state"].str.startswith("do not use")].index
    assert set(found.notices.loc[found.notices["notice"].eq("do not use"), "hood_id"]) == set(banned)
    assert not set(found.labels["hood_id"]) & set(found.notices["hood_id"])
    every = [*found.labels["hood_id"], *found.notices["hood_id"], *found.neither["hood_id"]]
    assert sorted(every) == sorted(states[states["state"].ne("out of service")].index)


@pytest.mark.parametrize("unit", ["ft/min", "m/s"])
def test_a_label_says_what_the_record_says(found: Papers, unit: str):
    said = " ".join(texts(opened(pdf(found.labels, NONE, SHEET, TODAY, unit=UNITS[unit]))))
    for row in found.labels.head(40).to_dict("records"):
        mean = f"{row['face_mean_fpm']:.0f} ft/min" if unit == "ft/min" else f"{row['face_mean_fpm'] * 0.00508:.2f} m/s"
        height = row["sash_height_in"]
        wanted = (
            f"{row['hood_id']} {row['building']}, room {row['room']} {mean} mean, with the sash at {height:.4g} in "
            f"({height * 25.4:.0f} mm) Surveyed {row['surveyed_on'].date()} by {row['by']} Passed {row['criteria']} "
            f"Next due {row['next_due'].date()}"
        )
        assert wanted in said
    assert said.count("does not prove") == len(found.labels)  # the caution stands on each


def test_a_code_is_the_hoods_address_and_there_is_none_without_one():
    labels = pd.DataFrame([label(), label(hood_id="B 215/ä&x=1")])
    for name, sheet in stocks().items():
        page = opened(pdf(labels, NONE, sheet, TODAY, address="https://hoods.example.edu/"))[0]
        codes = zxingcpp.read_barcodes(page.render(scale=4).to_pil())
        assert {code.text for code in codes} == {
            "https://hoods.example.edu/hood?hood=B-214",
            "https://hoods.example.edu/hood?hood=B%20215%2F%C3%A4%26x%3D1",
        }, name
    assert not zxingcpp.read_barcodes(opened(pdf(labels, NONE, SHEET, TODAY))[0].render(scale=4).to_pil())


def test_a_code_opens_the_dashboards_page_for_the_hood():
    """The page's path and the name in its query are the dashboard's own."""
    root = Path(__file__).resolve().parents[3]
    assert '"hood": ("screens/hood.py", "Hood", "hood")' in (root / "dashboard/address.py").read_text()
    assert '"Hood", "hood", list(places)' in (root / "dashboard/screens/hood.py").read_text()


@pytest.mark.parametrize("address", ["hoods.example.edu", "javascript:alert(1)", "https://", "https://x/?q=1"])
def test_an_address_that_is_none_is_refused(address: str):
    with pytest.raises(ValueError, match="write it as"):
        pdf(pd.DataFrame([label()]), NONE, SHEET, TODAY, address=address)


@pytest.mark.parametrize("name", list(stocks()))
def test_every_label_keeps_to_its_place_whatever_it_says(name: str):
    """Each character's box lies inside one label, 2 mm from its edge; the sheet of labels fits on its paper."""
    sheet: Stock = stocks()[name]
    wide, high = (side / MM for side in PAPERS[sheet.paper])
    across = sheet.left + sheet.columns * sheet.width + (sheet.columns - 1) * sheet.gap_across
    down = sheet.top + sheet.rows * sheet.height + (sheet.rows - 1) * sheet.gap_down
    assert across <= wide + 0.01
    assert down <= high + 0.01
    long = label(
        hood_id="HOOD-OF-THE-LONGEST-NAME-0001", building="B" * 90, room="Room of many words " * 6, by="Name " * 30,
        face_mean_fpm=None, sash_height_in=None, next_due=pd.NaT,
    )  # fmt: skip
    rows = [label(), long] * (sheet.columns * sheet.rows // 2 + 1)
    document = opened(pdf(pd.DataFrame(rows), NONE, sheet, TODAY, address="https://hoods.example.edu"))
    assert len(document) == 2
    for x, y in ((left / MM, bottom / MM) for _, (left, bottom, *_) in boxes(document[0])):
        column, within = divmod(x - sheet.left, sheet.width + sheet.gap_across)
        assert 2 <= within <= sheet.width - 2
        assert 0 <= column < sheet.columns
        assert 2 <= (high - y - sheet.top) % (sheet.height + sheet.gap_down) <= sheet.height - 2
    for _, (_, _, right, _) in boxes(document[0]):
        assert (right / MM - sheet.left) % (sheet.width + sheet.gap_across) <= sheet.width - 2


def test_the_command_line_names_the_sheets_that_there_are():
    assert tuple(stocks()) == SHEETS


def test_places_already_used_are_left_free():
    each = SHEET.columns * SHEET.rows
    document = opened(pdf(pd.DataFrame([label()] * 3), NONE, SHEET, TODAY, skip=each - 1))
    assert [said.count("B-214") for said in texts(document)] == [1, 2]
    left, bottom = min((left, bottom) for _, (left, bottom, *_) in boxes(document[0]))
    assert left > PAPERS["a4"][0] / 2  # the last place of the sheet: right and below
    assert bottom < PAPERS["a4"][1] / 4


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_notice_can_be_read_from_three_metres(paper: str):
    """Heights measured on the page: what is to be done and where, 20 minutes of arc; why and whom to call, above 5 (ISO
    9241-303 and the usual eye chart, from memory [M])."""
    reason = (
        "smoke from the small source: it was not captured, or escaped; a cross-draft of 24 ft/min is above 20 ft/min"
    )
    for kind, headline in (("do not use", "DONOTUSE"), ("restricted", "RESTRICTED")):
        row = notice(notice=kind, reason=reason)
        page = opened(pdf(NONE, pd.DataFrame([row]), SHEET, TODAY, paper=paper, whom="555-0142"))[0]
        assert page.get_width() > page.get_height()  # it lies
        found = list(boxes(page))
        spelled = "".join(character for character, _ in found)
        heights = [(top - bottom) / MM for _, (_, bottom, _, top) in found]

        def height(of: str, first: str, spelled=spelled, heights=heights) -> float:
            return heights[spelled.index(of) + of.index(first)]

        assert height(headline, "T") >= READ_WITH_EASE_MM
        assert height("HoodB-214", "B") >= READ_WITH_EASE_MM
        assert height("smokefrom", "k") >= JUST_READ_MM
        assert height("555-0142", "5") >= JUST_READ_MM


def test_a_notice_says_why_since_when_and_whom_to_call(found: Papers):
    pages = texts(opened(pdf(NONE, found.notices, SHEET, TODAY, whom="Campus Safety 555-0142")))
    assert len(pages) == len(found.notices)  # one a page
    for said, row in zip(pages, found.notices.to_dict("records"), strict=True):
        assert row["notice"].upper() in said
        assert f"Hood {row['hood_id']}" in said
        assert f"Since {row['since'].date()}" in said
        assert "Campus Safety 555-0142" in said
        assert "does not prove that a hood contains" in said
        # a word that is cut at a line's end by the page comes back whole from the extraction
        assert row["reason"].split()[0] in said
        if len(row["reason"]) < 150:
            assert " ".join(row["reason"].split()) in said
    assert not found.notices["reason"].str.contains("remark:").any()


def test_without_anybody_to_call_there_is_a_line_to_write_on():
    assert "campus safety: ____" in texts(opened(pdf(NONE, pd.DataFrame([notice()]), SHEET, TODAY)))[0]


def test_text_is_only_text_and_a_long_reason_stays_on_its_page():
    nasty = "<b>=1+1</b> &amp; {hood_id} http://x.example \u202e温 " + "word " * 400
    row = notice(hood_id="<i>H</i>" + "W" * 60, building="{0}", reason=nasty)
    document = opened(pdf(NONE, pd.DataFrame([row]), SHEET, TODAY, whom="{call} <b>"))
    assert len(document) == 1
    said = texts(document)[0]
    assert "<b>=1+1</b> &amp; {hood_id} http://x.example [U+6E29] word" in said
    assert "…" in said
    assert "Call {call} <b>" in said
    for _, (left, bottom, right, top) in boxes(document[0]):
        assert left >= 0
        assert bottom >= 0
        assert right <= document[0].get_width()
        assert top <= document[0].get_height()


def test_the_same_record_gives_the_same_bytes(found: Papers):
    some = found.labels.head(9), found.notices.head(9)
    one, two = (pdf(*some, SHEET, TODAY, address="https://x.example") for _ in range(2))
    assert one == two


def test_the_command(demo_store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], found: Papers):
    words = ["--store", str(demo_store), "--as-of", TODAY.isoformat()]
    target = tmp_path / "labels.pdf"
    assert main(["labels", "-o", str(target), "--json", *words]) == 0
    counts = json.loads(capsys.readouterr().out)
    assert (counts["labels"], counts["notices"]) == (len(found.labels), len(found.notices))
    assert sum(counts["neither"].values()) == len(found.neither)
    pages = -(-len(found.labels) // (SHEET.columns * SHEET.rows)) + len(found.notices)
    assert len(opened(target.read_bytes())) == pages

    hood = found.notices["hood_id"].iloc[0]
    assert main(["labels", "-o", str(target), "--hood", hood, "--paper", "letter", *words]) == 0
    page = opened(target.read_bytes())[0]
    assert (page.get_width(), page.get_height()) == (792, 612)
    capsys.readouterr()
    for extra, said in (
        (["-o", str(tmp_path / "x.doc")], ".pdf"),
        (["-o", str(target), "--hood", "nobody"], "no hood 'nobody'"),
        (["-o", str(target), "--hood", hood, "--only", "labels"], "nothing to print"),
    ):
        assert main(["labels", *extra, *words]) == 2
        assert said in capsys.readouterr().err


def test_a_notice_that_hangs_already_can_be_left_out(demo_store: Path, tmp_path: Path):
    import shutil

    from auditor.store import open_store

    copy = tmp_path / "copy.db"
    shutil.copy(demo_store, copy)
    with open_store(str(copy)) as store:
        first = papers(store, TODAY).notices
        store.tag(first["hood_id"].iloc[0], "posted", "K. L.", notice=first["notice"].iloc[0])
        again = papers(store, TODAY).notices
    assert first["posted_on"].isna().all()
    assert again.loc[again["posted_on"].notna(), "hood_id"].tolist() == [first["hood_id"].iloc[0]]
