from __future__ import annotations

import io

import openpyxl
import pytest

from takeoff.audit.stated import StatedArea
from takeoff.errors import InputError
from takeoff.exchange.stated_file import read_stated
from takeoff.exchange.stated_headings import Asked


def areas(text: str, **options: str) -> tuple[StatedArea, ...]:
    return read_stated(text.encode(), "areas.csv", Asked(**options)).areas  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text",
    [
        "Room No.,Room Name,Net Wall Area (SF)\n104,Process,1434\n",
        "ROOM SCHEDULE,,\n,,\nNo;x,,\nNumber,Name,Area sq ft\n104,Process,1434\n",
        "Room;Name;Area SF\n104;Process;1434\n",
        "number\tname\tarea\tunit\n104\tProcess\t1434\tsf\n",
        "Room,Area\n104 Process,1434 sf\n",
        '\ufeffRm No,Description,Area\n104,Process,"1,434 S.F."\n',
        "Room,Wall area (SF),Floor area (SF)\nProcess 104,1434,786\n",
    ],
)
def test_tables_in_many_dresses_give_the_same_row(text):
    (row,) = areas(text)
    assert (row.number, row.name, row.value, row.unit) == ("104", "Process", 1434.0, "sf")


def test_a_lone_column_of_rooms_holds_numbers_or_names():
    rows = areas("Room,Area SF\n104,10\nB-07,11\nWash,12\n")
    assert [(r.number, r.name) for r in rows] == [("104", ""), ("B-07", ""), ("", "Wash")]


def test_a_semicolon_table_with_decimal_commas_is_read():
    rows = areas("Room;Area m²\n104;129,3\n105;1.083,6\n")
    assert [r.value for r in rows] == [129.3, 1083.6]
    assert [r.decimals for r in rows] == [1, 1]


def test_totals_blank_rows_and_dashes_are_left_out():
    rows = areas("Room,Name,Area SF\n101,Hall,10\n,,\n102,Void,-\n,TOTAL,10\n")
    assert [r.number for r in rows] == ["101"]


def test_an_area_without_a_room_is_left_out_and_told():
    table = read_stated(b"Room,Name,Area SF\n101,Hall,10\n,,55\n", "areas.csv")
    assert len(table.areas) == 1
    assert "row 3 has an area of 55" in table.doubts[0]


def test_a_table_without_units_is_refused_and_the_option_mends_it():
    text = "Room,Area\n104,1434\n"
    with pytest.raises(InputError, match=r"row 2: .*has no unit.*--unit"):
        areas(text)
    assert areas(text, unit="sf")[0].unit == "sf"


def test_the_unit_of_the_heading_wins_over_the_option():
    assert areas("Room,Area (m2)\n104,133\n", unit="sf")[0].unit == "m2"


def test_mixed_units_by_cell_are_read_and_doubted():
    table = read_stated(b"Room,Area\n101,10 m2\n102,200 sf\n", "areas.csv")
    assert [a.unit for a in table.areas] == ["m2", "sf"]
    assert "others in square metres" in table.doubts[0]


def test_several_columns_of_areas_ask_for_one_by_name():
    text = "Room,North area (SF),South area (SF)\n104,700,734\n"
    with pytest.raises(InputError, match=r"North area.*South area.*--column"):
        areas(text)
    assert areas(text, column="south AREA (SF)")[0].value == 734.0


def test_floor_areas_are_read_where_they_are_asked_for():
    text = "Room,Wall area (SF),Floor area (SF)\n104,1434,786\n"
    assert areas(text)[0].value == 1434.0
    assert areas(text, prefer="floor")[0].value == 786.0


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"a,b\n1,2\n", "no headings"),
        (b"Room,Area SF\n", "no row"),
        (b"Room,Area SF\n104,many\n", "no headings of rooms and areas"),
        (b"Room,Area SF\n104,-5\n105,50%\n", "with areas as numbers below them"),
        (b'Room,Area SF\n104,"120\n105,5\n', "not a table"),
        (b"\x00\x01\x02", "not a table"),
        (b"PK\x03\x04rubbish", "not a workbook"),
        (b'Room,Area SF\n1,10.55\n2,"10,55"\n', "both"),
    ],
)
def test_what_is_no_table_of_areas_is_refused_with_its_place(data, says):
    with pytest.raises(InputError, match=says):
        read_stated(data, "areas.csv")


def test_a_workbook_is_read_from_the_sheet_that_has_the_headings():
    book = openpyxl.Workbook()
    book.active.append(["Cover page"])
    sheet = book.create_sheet("Areas")
    for row in (
        ["Area schedule"],
        ["Room no.", "Name", "Wall area (SF)"],
        [104, "Process", 1434.25],
        [105, "Packing", 900],
    ):
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    rows = read_stated(out.getvalue(), "areas.xlsx").areas
    assert [(r.number, r.name, r.value, r.decimals) for r in rows] == [
        ("104", "Process", 1434.25, 2),
        ("105", "Packing", 900.0, 0),
    ]


def test_two_figures_in_one_cell_are_no_figure():
    table = read_stated(b'Room,Area (SF)\n"104\nProcess",1434\n105,"120\n130"\n106,12 5\n', "areas.csv")
    assert [a.value for a in table.areas] == [1434.0, 0.0, 0.0]
    assert [a.written for a in table.areas] == ["", "120; 130", "12 5"]
