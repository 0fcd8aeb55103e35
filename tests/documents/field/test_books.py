"""Books from any register: grids fine enough, text inert, names unique, the same bytes again."""

from __future__ import annotations

import io

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.documents.field import CannotDraw, HoodToSurvey, Limits, field_workbook, grid_of
from auditor.documents.field.workbook import sheet_names
from auditor.reading import look
from tests.documents.field.conftest import book, hood


@pytest.mark.parametrize(
    ("width", "sash", "expected"),
    [  # cells of at most 1 ft a side (common practice), the sash up to 1 in above its working height
        (96, 18, (2, 8)), (72, 18, (2, 6)), (60, 18, (2, 5)), (48, 20, (2, 4)), (30, 11, (1, 3)), (36, 12, (2, 3)),
        (97, 24, (3, 9)), (12, 10, (1, 1)),
    ],
)  # fmt: skip
def test_grids_of_common_openings(width, sash, expected) -> None:
    one = HoodToSurvey("H", opening_width_in=width, opening_height_in=30, working_sash_in=sash)
    assert grid_of(one) == expected


@given(st.floats(6, 190), st.floats(6, 80), st.sampled_from([1.0, 0.75, 0.5]))
def test_no_cell_is_larger_than_allowed(width, sash, area) -> None:
    one = HoodToSurvey(
        "H", opening_width_in=width, opening_height_in=90, working_sash_in=sash, limits=Limits(max_cell_ft2=area)
    )
    try:
        rows, columns = grid_of(one)
    except CannotDraw:
        return
    assert width / columns <= 12 + 1e-6
    assert (sash + 1) / rows <= 12 + 1e-6
    assert width * (sash + 1) / 144 / (rows * columns) <= area + 1e-6


@pytest.mark.parametrize(("width", "height"), [(None, 28), (96, None), (0, 28), (960, 28)])
def test_an_opening_that_is_not_known_is_not_guessed(width, height) -> None:
    one = hood("H-1", opening_width_in=width, opening_height_in=height, working_sash_in=None)
    with pytest.raises(CannotDraw, match="register"):
        grid_of(one)


def test_a_hood_without_a_sash_is_not_asked_for_one() -> None:
    one = hood("H-1", sash_type="none", working_sash_in=None)
    assert grid_of(one) == (3, 8)  # its whole opening, 28 in high
    page = openpyxl.load_workbook(io.BytesIO(field_workbook(book(one))))["H-1"]
    assert not any(str(c.value).startswith("Sash height") for c in page["A"])


HOSTILE = [
    "=1+1", "=HYPERLINK(\"http://x\",\"y\")", "+cmd", "@SUM(A1)", "<b>&amp;", "a\x00b\x07", "&A&P", "'quoted'",
    "http://example.org", "1001", "x" * 300, "Hood: H-9\nUnit: m/s",
]  # fmt: skip


def test_text_from_the_register_stays_text() -> None:
    hoods = [
        hood("H-1", room=text, building=text, hood_type=text, why=text, floor=text, occasion="annual")
        for text in HOSTILE
    ]
    hoods = [HoodToSurvey(**(vars(h) | {"hood_id": text})) for h, text in zip(hoods, HOSTILE, strict=True)]
    data = field_workbook(book(*hoods, title="=2+2", contractor="=3+3", instruments=["=4+4", "a,b", "TA-1"]))
    pages = openpyxl.load_workbook(io.BytesIO(data))
    allowed = ("=IF(", "='")  # our own: checks, and what the cover says
    for page in pages:
        for cell in (c for row in page.iter_rows() for c in row if c.data_type == "f"):
            assert str(cell.value).startswith(allowed), cell.value
            assert "HYPERLINK(" not in str(cell.value)
        assert all(c.hyperlink is None or c.hyperlink.target is None for row in page.iter_rows() for c in row)
    assert len(pages.sheetnames) == len(HOSTILE) + 1


def test_sheets_of_such_hoods_are_blank_forms_too() -> None:
    hoods = [hood("H-1", room=str(n), floor=str(n)) for n in range(1001, 1006)]
    hoods = [HoodToSurvey(**(vars(h) | {"hood_id": h.room})) for h in hoods]
    accounts = look(field_workbook(book(*hoods)), "book.xlsx").accounts
    assert {(a.outcome, a.reason) for a in accounts} == {("set aside", "a cover sheet"), ("set aside", "a blank form")}


@given(st.lists(st.text(max_size=40), min_size=1, max_size=12))
@settings(max_examples=60)
def test_every_hood_gets_a_name_that_a_sheet_may_have(tags) -> None:
    names = sheet_names([HoodToSurvey(tag) for tag in tags])
    assert len({n.casefold() for n in names} | {"cover"}) == len(names) + 1
    for name in names:
        assert 0 < len(name) <= 31
        assert not set(name) & set("[]:*?/\\")
        assert not name.startswith("'")
        assert not name.endswith("'")


def test_the_same_book_gives_the_same_bytes() -> None:
    assert field_workbook(book()) == field_workbook(book())


@pytest.mark.parametrize("wrong", [{"unit": "knots"}, {"paper": "A3"}, {"hoods": []}])
def test_what_cannot_be_made_says_so(wrong) -> None:
    given = vars(book()) | wrong
    with pytest.raises(ValueError, match=r"knots|A3|no hood"):
        field_workbook(type(book())(**given))
