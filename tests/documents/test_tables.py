"""Tables as files, read back by other programs' readers: the standard library's csv and json, pyarrow, openpyxl."""

from __future__ import annotations

import csv
import io
import json
import zipfile

import numpy as np
import openpyxl
import pandas as pd
import pyarrow.parquet as pq
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.documents.tables import FORMATS, format_of, write_table

NASTY = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "#N/A", "a,b", 'say "so"', "two\nlines", "B-214", "Ü 温"]


def frame() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "hood_id": pd.Series(["B-214", None], dtype="str"),
            "surveyed_on": pd.to_datetime(["2026-03-02", None]),
            "face_points": pd.array([12, None], dtype="Int64"),
            "face_mean_fpm": [-98.25, np.nan],
            "in_service": pd.array([True, None], dtype="boolean"),
        }
    )


def written(table: pd.DataFrame, fmt: str) -> bytes:
    stream = io.BytesIO()
    write_table(table, stream, fmt)
    return stream.getvalue()


def test_csv_has_iso_dates_whole_numbers_and_nothing_where_missing():
    rows = list(csv.reader(io.StringIO(written(frame(), "csv").decode())))
    assert rows == [
        ["hood_id", "surveyed_on", "face_points", "face_mean_fpm", "in_service"],
        ["B-214", "2026-03-02", "12", "-98.25", "true"],
        ["", "", "", "", ""],
    ]


@pytest.mark.parametrize("dtype", ["str", object])
def test_csv_guards_text_that_would_come_alive_and_never_a_number(dtype):
    table = pd.DataFrame({"text": pd.Series(NASTY, dtype=dtype), "number": [-1.5] * len(NASTY)})
    rows = list(csv.reader(io.StringIO(written(table, "csv").decode(), newline="")))[1:]
    assert [row[0] for row in rows] == ["'" + text for text in NASTY[:5]] + ["'\n=1"] + NASTY[6:]
    assert {row[1] for row in rows} == {"-1.5"}


def test_json_is_an_array_of_rows_with_null_where_missing():
    assert json.loads(written(frame(), "json")) == [
        {
            "hood_id": "B-214",
            "surveyed_on": "2026-03-02",
            "face_points": 12,
            "face_mean_fpm": -98.25,
            "in_service": True,
        },
        dict.fromkeys(frame().columns),
    ]


def test_json_takes_infinities_for_missing_since_json_has_none():
    assert json.loads(written(pd.DataFrame({"x": [np.inf, 1.0]}), "json")) == [{"x": None}, {"x": 1.0}]


def test_parquet_keeps_types():
    table = pq.read_table(io.BytesIO(written(frame(), "parquet")))
    assert [str(field.type) for field in table.schema] == ["string", "date32[day]", "int64", "double", "bool"]
    assert table.to_pylist()[1] == dict.fromkeys(frame().columns)


def test_xlsx_keeps_numbers_dates_and_blanks():
    sheet = openpyxl.load_workbook(io.BytesIO(written(frame(), "xlsx"))).active
    rows = list(sheet.iter_rows(values_only=True))
    assert rows[0] == tuple(frame().columns)
    assert (rows[1][0], rows[1][1].date().isoformat(), *rows[1][2:]) == ("B-214", "2026-03-02", 12, -98.25, True)
    assert len(rows) == 2 or rows[2] == (None,) * 5


def test_xlsx_has_no_formula_and_no_error_whatever_the_text():
    data = written(pd.DataFrame({"=A1": NASTY}), "xlsx")
    cells = [row[0] for row in openpyxl.load_workbook(io.BytesIO(data)).active.iter_rows()]
    assert {cell.data_type for cell in cells} == {"s"}
    # A carriage return comes back as a line feed: XML says so (XML 1.0, 2.11).
    assert [cell.value.replace("\r", "\n") for cell in cells[1:]] == [text.replace("\r", "\n") for text in NASTY]
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        assert b"<f>" not in parts.read("xl/worksheets/sheet1.xml")


@pytest.mark.parametrize("fmt", FORMATS)
def test_a_table_without_rows_still_has_its_columns(fmt, tmp_path):
    path = tmp_path / f"empty.{fmt}"
    write_table(frame().head(0), path)
    if fmt == "json":
        assert json.loads(path.read_text()) == []
    elif fmt == "parquet":
        assert pq.read_table(path).column_names == list(frame().columns)
    elif fmt == "csv":
        assert path.read_text().strip().split(",") == list(frame().columns)
    else:
        assert openpyxl.load_workbook(path).active.max_column == 5


@given(
    st.lists(
        st.tuples(
            st.one_of(st.none(), st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1)),
            st.one_of(st.none(), st.floats(allow_nan=False, allow_infinity=False)),
        ),
        min_size=1,
    )
)
def test_text_and_numbers_survive_csv_json_and_parquet(rows):
    table = pd.DataFrame(rows, columns=["text", "number"]).astype({"number": float})
    wanted = [(text, number) for text, number in rows]
    assert [tuple(row.values()) for row in json.loads(written(table, "json"))] == wanted
    assert [tuple(row.values()) for row in pq.read_table(io.BytesIO(written(table, "parquet"))).to_pylist()] == wanted
    back = list(csv.reader(io.StringIO(written(table, "csv").decode(), newline="")))[1:]
    for (text, number), (text_back, number_back) in zip(wanted, back, strict=True):
        assert text_back.removeprefix("'" if text and text[0] in "=+-@" else "") == (text or "")
        assert (float(number_back) if number_back else None) == number


def test_a_half_written_file_never_takes_the_place_of_a_whole_one(tmp_path):
    path = tmp_path / "surveys.json"
    path.write_text("before")
    table = pd.DataFrame({"x": [object()]})  # nothing that json can write
    with pytest.raises(TypeError):
        write_table(table, path)
    assert path.read_text() == "before"
    assert [p.name for p in tmp_path.iterdir()] == ["surveys.json"]


def test_the_ending_names_the_format():
    assert [format_of(f"x.{fmt.upper()}") for fmt in FORMATS] == list(FORMATS)
    with pytest.raises(ValueError, match=r"\.csv"):
        format_of("surveys.txt")
    with pytest.raises(ValueError, match="name the format"):
        write_table(frame(), io.BytesIO())
    with pytest.raises(ValueError, match="no format"):
        write_table(frame(), io.BytesIO(), "doc")
