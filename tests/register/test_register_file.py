"""A register file: forgiving about headings, strict about values, every refusal with its cell."""

from __future__ import annotations

import csv
import datetime as dt
import io
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.register_file import RegisterFile, read_register
from auditor.survey.columns import REGISTER

PACK = Path(__file__).parents[2].parent / "shared" / "packs" / "layouts" / "register.csv"


def of_csv(text: str) -> RegisterFile:
    return read_register(text.encode(), "hoods.csv")


def of_sheets(**sheets: list[list]) -> RegisterFile:
    return read_register(book(**sheets), "register.xlsx")


def book(**sheets: list[list]) -> bytes:
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append(row)
    stream = io.BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def one_refusal(file: RegisterFile) -> tuple[str, str]:
    (refused,) = file.refused
    assert refused.reason
    assert refused.remedy
    return refused.cell, refused.reason


def column(heading: str, value: str) -> RegisterFile:
    return of_csv(f"hood_id,building,room,{heading}\nA-1,Alder,101,{value}\nA-2,Alder,102,\n")


# --- headings --------------------------------------------------------------------------------------------------------
def test_three_columns_are_enough():
    file = of_csv("hood_id,building,room\nA-1,Alder,101\n")
    assert file.hoods.to_dict("records") == [{"hood_id": "A-1", "building": "Alder", "room": "101"}]
    assert not file.refused


def test_every_contract_column_is_known_by_its_name():
    file = of_csv(",".join(REGISTER) + "\nA-1,Alder,1,101" + "," * (len(REGISTER) - 4) + "\n")
    assert list(file.hoods.columns) == REGISTER
    assert not file.notes


@pytest.mark.parametrize("heading", ["Hood ID", "HOOD_ID", "Fume hood no.", "hood-id", " Tag ", "Hood #"])
def test_headings_may_be_spelt_as_people_spell_them(heading):
    assert of_csv(f"{heading},Bldg,Room No.\nA-1,Alder,101\n").hoods["hood_id"].tolist() == ["A-1"]


def test_headings_may_stand_below_a_title_and_rows_may_be_blank():
    file = of_sheets(
        Hoods=[
            ["Campus register"],
            [],
            ["Room", "Hood", "Building"],
            ["101", "A-1", "Alder"],
            [None],
            [7, "B-1", "Birch"],
        ]
    )
    assert file.hoods["room"].tolist() == ["101", "7"]


def test_a_needed_heading_that_is_lacking_is_named_with_what_comes_near():
    with pytest.raises(ValueError, match=r"no heading for building \(did you mean it by 'Buildng'\?\)"):
        of_csv("hood_id,Buildng,room\nA-1,Alder,101\n")


def test_two_columns_of_one_meaning_are_refused_with_their_cells():
    with pytest.raises(ValueError, match="B1 and D1 are both headings for building"):
        of_csv("hood_id,bldg,room,building name\nA-1,Alder,101,Birch\n")


def test_a_column_with_the_exact_name_wins_over_one_that_might_mean_it():
    file = of_csv("Hood,hood_id,building,room\nblue one,A-1,Alder,101\n")
    assert file.hoods["hood_id"].tolist() == ["A-1"]
    assert file.notes == ["hoods A1: column 'Hood' is not used"]


def test_a_column_without_meaning_is_noted_and_left():
    assert of_csv("hood_id,building,room,colour\nA-1,Alder,101,red\n").notes == [
        "hoods D1: column 'colour' is not used"
    ]


# --- values ----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("heading", "written", "name", "value"),
    [
        ("Opening width (in)", "60", "opening_width_in", 60.0),
        ("Opening width (mm)", "1524", "opening_width_in", 60.0),  # 1 in = 25.4 mm
        ("Opening width", "5 ft", "opening_width_in", 60.0),
        ("opening_width_in", '"60"""', "opening_width_in", 60.0),  # 60" in csv's quotes
        ("Design face velocity (m/s)", "0.508", "design_face_velocity_fpm", 100.0),  # 1 ft/min = 0.00508 m/s
        ("Design airflow (L/s)", "471.9474432", "design_airflow_cfm", 1000.0),  # 1 ft3 = 28.316846592 L
        ("Design airflow (m3/h)", "1699.01079552", "design_airflow_cfm", 1000.0),
        ("x (m)", "-3.048", "x_ft", -10.0),
        ("Interval (years)", "1", "interval_months", 12),
    ],
)
def test_units_in_the_heading_or_the_cell_are_converted(heading, written, name, value):
    assert column(heading, written).hoods[name][0] == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("written", ["2015-03-01", "1 Mar 2015", "01-March-2015", "2015-03-01 00:00:00"])
def test_dates_that_read_one_way_only_are_taken(written):
    assert column("installed", written).hoods["installed_on"][0].date() == dt.date(2015, 3, 1)


@pytest.mark.parametrize(
    ("heading", "written", "reason"),
    [
        ("installed", "03/04/2015", "one way only"),
        ("installed", "2015-02-30", "no such day"),
        ("opening width", "wide", "not a number"),
        ("opening width", "1_000", "not a number"),
        ("opening width", "nan", "not a number"),
        ("opening width", "60 furlongs", "not a unit"),
        ("opening width", "-60", "cannot be"),
        ("opening width", "0", "cannot be"),
        ("design airflow", '"1,200"', "read in two ways"),
        ("interval", "7.5", "whole number of months"),
        ("sash type", "guillotine-ish", "not a known sash type"),
        ("in service", "perhaps", "not a known in service"),
    ],
)
def test_a_value_that_cannot_be_read_with_certainty_refuses_its_row_alone(heading, written, reason):
    file = column(heading, written)
    cell, why = one_refusal(file)
    assert cell == "D2"
    assert reason in why
    assert file.hoods["hood_id"].tolist() == ["A-2"]


def test_yes_no_and_sash_words():
    file = of_csv(
        "hood_id,building,room,in service,sash type\nA-1,x,1,Yes,Vertical\nA-2,x,1,out of service,combo\nA-3,x,1,,\n"
    )
    assert file.hoods["in_service"].tolist()[:2] == [True, False]
    assert file.hoods["in_service"].isna().tolist() == [False, False, True]
    assert file.hoods["sash_type"].tolist()[:2] == ["vertical", "combination"]


def test_numbers_typed_as_tags_stay_as_they_are_shown():
    data = io.BytesIO(book(hoods=[["hood_id", "building", "room"], [214, "Alder", 101.0], [7, "Alder", 102]]))
    workbook = openpyxl.load_workbook(data)
    workbook["hoods"]["A3"].number_format = "000"
    again = io.BytesIO()
    workbook.save(again)
    hoods = read_register(again.getvalue(), "register.xlsx").hoods
    assert hoods["hood_id"].tolist() == ["214", "007"]
    assert hoods["room"].tolist() == ["101", "102"]


def test_a_tag_that_became_a_date_is_refused():
    file = of_sheets(hoods=[["hood_id", "building", "room"], [dt.datetime(2026, 3, 1), "Alder", "101"]])
    assert one_refusal(file)[0] == "A2"


def test_errors_and_formulas_without_value_are_refused():
    file = of_sheets(hoods=[["hood_id", "building", "room"], ["A-1", "#N/A", "101"], ["A-2", "=B1", "102"]])
    assert [refused.cell for refused in file.refused] == ["B2", "B3"]


@pytest.mark.parametrize(("row", "cell"), [(",Alder,101", "A2"), ("A-1,,101", "B2"), ("A-1,Alder,", "C2")])
def test_a_needed_value_that_is_missing_is_named(row, cell):
    assert one_refusal(of_csv(f"hood_id,building,room\n{row}\n"))[0] == cell


def test_the_first_of_two_rows_for_a_hood_goes_in_and_the_other_is_refused():
    file = of_csv("hood_id,building,room\nA-1,Alder,101\nB-1,Birch,1\na-1,Birch,2\n")
    cell, reason = one_refusal(file)
    assert cell == "A4"
    assert "row 2" in reason
    assert file.hoods["building"].tolist() == ["Alder", "Birch"]


# --- the other sheets ------------------------------------------------------------------------------------------------
HOODS = [["hood_id", "building", "room"], ["A-1", "Alder", "101"], ["A-2", "Alder", "102"]]


def test_instruments_carry_the_figures_of_their_statement():
    file = of_sheets(
        hoods=HOODS,
        instruments=[
            ["Serial no", "Type", "Accuracy", "Calibrated", "Due"],
            ["T-1", "hot wire", "3 % of reading or 3 ft/min, the larger", dt.date(2026, 1, 5), "2027-01-05"],
            ["V-1", "Vane", "2 % + 0.0254 m/s", None, None],
        ],
    )
    first, second = file.instruments.to_dict("records")
    assert (first["kind"], first["accuracy_percent"], first["accuracy_fpm"]) == ("thermal", 3.0, 3.0)
    assert first["accuracy_rule"] == "larger"
    assert first["calibration_due"] == dt.datetime(2027, 1, 5)
    assert (second["accuracy_percent"], second["accuracy_rule"]) == (2.0, "sum")
    assert second["accuracy_fpm"] == pytest.approx(5.0)  # 0.0254 m/s / 0.00508


def test_an_event_needs_a_day_and_something_that_it_happened_to():
    file = of_sheets(
        hoods=HOODS,
        events=[
            ["Date", "Event", "AHU", "Hood"],
            [dt.date(2026, 1, 5), "rebalanced", "AH-1", None],
            [dt.date(2026, 1, 6), "moved", None, "A-1"],
            [dt.date(2026, 1, 7), "rebalanced", None, None],
            [None, "fan changed", "AH-1", None],
        ],
    )
    assert file.events["event"].tolist() == ["rebalanced", "moved"]
    assert sorted(refused.cell for refused in file.refused) == ["A5", "B4"]


def test_an_alias_that_could_mean_two_hoods_is_refused():
    file = of_sheets(
        hoods=HOODS,
        aliases=[["alias", "hood_id"], ["H1", "A-1"], ["H2", "A-1"], ["h2", "A-2"], ["A-2", "A-1"], ["A-1", "A-1"]],
    )
    assert file.aliases.to_dict("records") == [{"alias": "H1", "hood_id": "A-1"}]
    assert {refused.sheet for refused in file.refused} == {"aliases"}
    assert len(file.refused) == 3


def test_old_tags_in_the_list_of_hoods_are_aliases():
    file = of_csv("hood_id,building,room,old tag\nA-1,Alder,101,H1; FH-1\nA-2,Alder,102,\n")
    assert file.aliases["alias"].tolist() == ["H1", "FH-1"]
    assert "alias" not in file.hoods.columns


def test_a_list_of_hoods_is_found_by_its_headings_when_no_sheet_has_the_name():
    file = of_sheets(Notes=[["Some words"]], Sheet2=HOODS)
    assert len(file.hoods) == 2


# --- what is no register ---------------------------------------------------------------------------------------------
@pytest.mark.parametrize("data", [b"", b"\x00\x01\x02", b"PK\x03\x04 broken", b"just words\nwithout a table\n"])
def test_what_is_no_register_gets_one_plain_sentence(data):
    with pytest.raises(ValueError, match=r"register\.csv: ."):
        read_register(data, "register.csv")


@given(st.lists(st.lists(st.text(max_size=12), min_size=5, max_size=5), max_size=6))
def test_whatever_stands_in_the_rows_each_goes_in_or_is_refused(rows):
    table = [["hood_id", "building", "room", "opening_width_in", "installed_on"], *rows]
    data = io.StringIO()
    csv.writer(data).writerows(table)
    try:
        file = of_csv(data.getvalue())
    except ValueError:
        return  # the file as a whole is no text table
    assert len(file.hoods) + len(file.refused) <= len(rows)
    assert file.hoods[["hood_id", "building", "room"]].notna().all(axis=None)


@pytest.mark.skipif(not PACK.exists(), reason="the shared pack is not beside this checkout")
def test_the_shared_register_goes_in_whole():
    file = read_register(PACK.read_bytes(), PACK.name)
    assert len(file.hoods) == len(PACK.read_text().splitlines()) - 1
    assert not file.refused
