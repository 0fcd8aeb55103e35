"""Delimited text: delimiters, encodings, quotations (RFC 4180 where it says anything)."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.workbook import Kind, Limits, Unreadable, read_workbook


def grid(data: bytes, name: str = "survey.csv") -> dict[str, str]:
    (sheet,) = read_workbook(data, name).sheets
    assert all(cell.kind is Kind.TEXT and cell.number_format == "General" for cell in sheet.cells.values())
    return {cell.address: cell.value for cell in sheet.cells.values()}


@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_delimiters(sign: str) -> None:
    text = sign.join(["Hood", "Date", "P1"]) + "\r\n" + sign.join(["B-214", "2026-03-05", "98"]) + "\r\n"
    assert grid(text.encode()) == {
        "A1": "Hood",
        "B1": "Date",
        "C1": "P1",
        "A2": "B-214",
        "B2": "2026-03-05",
        "C2": "98",
    }


def test_decimal_commas_do_not_cut() -> None:
    assert grid(b"Point;1;2\nTop;0,51;0,48\nLow;0,50;0,47\n")["B2"] == "0,51"
    assert grid(b"0,51;0,48\n0,50;0,47\n")["A1"] == "0,51"
    assert grid(b"0,51\t0,48\n0,50\t0,47\n")["B2"] == "0,47"


def test_other_signs_inside_texts_do_not_cut() -> None:
    found = grid(b'Hood,Remark\nB-1,lazy; rolling\nB-2,"a; b"\nB-3,fine | good\n')
    assert found["B2"] == "lazy; rolling"
    assert found["B4"] == "fine | good"


def test_an_undecided_delimiter_is_noted() -> None:
    book = read_workbook(b"a;b|c\nd;e|f\n", "x.csv")
    assert "parted at" in book.notes[0]


def test_a_table_may_begin_like_an_archive() -> None:
    assert grid(b"PK,B\n1,2\n")["A1"] == "PK"


def test_one_column() -> None:
    assert grid(b"Hood\nB-214\n") == {"A1": "Hood", "A2": "B-214"}


def test_a_declared_delimiter_is_no_row() -> None:
    assert grid(b"sep=;\r\na,b;c\r\n") == {"A1": "a,b", "B1": "c"}


def test_blank_lines_keep_their_rows_and_blanks_stay_as_written() -> None:
    assert grid(b"a,b\n\n , c\n,,\nd,\n") == {"A1": "a", "B1": "b", "A3": " ", "B3": " c", "A5": "d"}


def test_quoted_delimiters_line_ends_and_quotes() -> None:
    assert grid(b'a,"b\nc","d,e","f ""g"""\n') == {"A1": "a", "B1": "b\nc", "C1": "d,e", "D1": 'f "g"'}
    assert grid(b'Sash 18",20\n')["A1"] == 'Sash 18"'


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends(end: str) -> None:
    assert grid(f"a,b{end}c,d{end}".encode()) == {"A1": "a", "B1": "b", "A2": "c", "B2": "d"}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_encodings(encoding: str) -> None:
    text = "Höhe,m²\nAbzug 5,0.51\n"
    assert grid(text.encode(encoding)) == {"A1": "Höhe", "B1": "m²", "A2": "Abzug 5", "B2": "0.51"}


def test_a_rare_character_does_not_change_the_encoding() -> None:
    assert grid("Höhe,a\u0085b\n".encode())["A1"] == "Höhe"


def test_an_assumed_encoding_is_noted() -> None:
    assert any("1252" in note for note in read_workbook("Höhe,1\n".encode("cp1252"), "x.csv").notes)
    assert read_workbook("Höhe,1\n".encode(), "x.csv").notes == []


def test_the_sheet_is_named_after_the_file() -> None:
    assert read_workbook(b"a,b\n", "Amber 2026.v2.csv").sheets[0].name == "Amber 2026.v2"
    assert read_workbook(b"a,b\n", "in/box/x.txt").sheets[0].name == "x"


@pytest.mark.parametrize(
    ("data", "name", "says"),
    [
        (b"", "x.csv", "empty"),
        (b" \r\n \n", "x.csv", "empty"),
        (bytes(range(256)) * 4, "x.csv", "not recognised"),
        (b"\x00\x01\x02" * 50, "x.csv", "not recognised"),
        (b"<html><body><table><tr><td>98</td></tr></table></body></html>", "x.xls", "web page"),
        (b"<!DOCTYPE html>\n<p>Sign in</p>", "x.csv", "web page"),
        (b'<?xml version="1.0"?><Workbook/>', "x.xls", "XML document"),
        (b"plain words", "x.xlsx", "plain text, though its name ends in .xlsx"),
        (b"a\tb\n1\t2\n", "x.xls", "rename it to .csv"),
        (b'a,"b\nc,d\n', "x.csv", "quotation mark"),
        (b'a,"b"c,d\n', "x.csv", "quotation mark"),
        (b"%PDF-1.7 ...", "x.csv", "PDF"),
        (b"\x89PNG\r\n\x1a\n", "x.xlsx", "picture"),
        (b"{\\rtf1 x}", "x.xls", "RTF"),
        (b"\x09\x04\x06\x00\x00\x00\x10\x00", "x.xls", "older than Excel 5"),
    ],
)
def test_what_is_no_table_of_text(data: bytes, name: str, says: str) -> None:
    with pytest.raises(Unreadable, match=says) as refusal:
        read_workbook(data, name)
    assert refusal.value.code == "file-unreadable"


def test_limits() -> None:
    data = b"a,b\nc,dddd\n"
    assert read_workbook(data, "x", Limits(cells=4, rows=2, columns=2, text_length=4)).sheets
    for limits in (Limits(cells=3), Limits(rows=1), Limits(columns=1), Limits(text_length=3), Limits(file_bytes=9)):
        with pytest.raises(Unreadable) as refusal:
            read_workbook(data, "x", limits)
        assert refusal.value.code == "file-too-large"
    with pytest.raises(Unreadable) as refusal:
        read_workbook(b"a," + b"x" * 200_000, "x", Limits(text_length=10**6))
    assert refusal.value.code == "file-too-large"


LETTERS = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Co", "Cn"), exclude_characters="\ufeff")
FIELD = st.text(LETTERS, max_size=8)


@given(st.lists(st.lists(FIELD, min_size=3, max_size=3), min_size=1, max_size=6), st.sampled_from(",;\t|"))
def test_what_is_written_is_read(rows: list[list[str]], sign: str) -> None:
    out = io.StringIO()
    csv.writer(out, delimiter=sign, quoting=csv.QUOTE_ALL).writerows([["one", "two", "three"], *rows])
    found = read_workbook(out.getvalue().encode(), "x.csv").sheets[0].cells
    written = {(r, c): v for r, row in enumerate(rows, 2) for c, v in enumerate(row, 1) if v}
    assert {place: cell.value for place, cell in found.items() if place[0] > 1} == written
