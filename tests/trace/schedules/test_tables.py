"""Tables of one form beside and under others, parts without headings, rows struck out or of several at once, and notes.

Room finish schedules are drawn in the form that is usual in the trade (common practice, no source).
"""

from __future__ import annotations

import pymupdf
import pytest

from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.finish_schedule import FinishSchedule, joined_finishes, read_finish_table
from takeoff.trace.schedules.opening_schedule import OpeningSchedule, joined_openings, read_opening_table
from tests.trace.schedules.office_tables import Table, drawn

HEADINGS = ("ROOM NO.", "ROOM NAME", "BASE", "WALL", "HEIGHT")
FIRST = (("101", "LAB", "B1", "W1", "9'-0\""), ("102", "STORE", "B1", "W2", "8'-0\""))
MORE = (
    ("103", "HALL", "B1", "W1", "9'-0\""),
    ("104", "BAR", "B2", "W2", "8'-0\""),
    ("105", "WC", "B2", "W3", "8'-0\""),
)


def table(*rows, title="ROOM FINISH SCHEDULE", widths=(55, 90, 45, 45, 60), at=(60.0, 110.0), struck=()) -> Table:
    return Table(title=title, widths=widths, rows=rows, at=at, struck=struck, sizes={})


DOORS = table(("NO.", "WIDTH", "HEIGHT"), ("101", "3'-0\"", "7'-0\""), title="DOOR SCHEDULE", widths=(40, 55, 55))


def finishes(*tables: Table, note: str = "") -> FinishSchedule:
    document = pymupdf.open(stream=drawn(tables))
    document[0].insert_text((60, 400), note, fontsize=8)
    data = document.tobytes()
    sheet = read_sheets(data, "a.pdf")[0][0]
    return read_finish_table(read_linework(data, sheet), read_lines(data, sheet), sheet)


def openings(*tables: Table) -> OpeningSchedule | None:
    data = drawn(tables)
    sheet = read_sheets(data, "a.pdf")[0][0]
    return read_opening_table(read_linework(data, sheet), read_lines(data, sheet), sheet)


def codes(schedule: FinishSchedule) -> dict[str, tuple[str, str]]:
    return {row.number: (row.wall, row.base) for row in schedule.rows}


@pytest.mark.parametrize(
    "tables",
    [
        [DOORS, table(HEADINGS, *FIRST, *MORE, at=(300.0, 110.0))],
        [table(HEADINGS, *FIRST), table(*MORE, title="", at=(420.0, 110.0))],
        [table(HEADINGS, *FIRST), table(HEADINGS, *MORE, title="UPPER ROOM FINISH SCHEDULE", at=(60.0, 300.0))],
    ],
    ids=["beside doors", "going on beside", "under one another"],
)
def test_finishes_are_read_wherever_they_stand_on_a_sheet(tables):
    read = finishes(*tables)
    assert codes(read) == {row[0]: (row[3], row[2]) for row in (*FIRST, *MORE)}
    assert not read.doubts


def test_a_legend_with_headings_beside_a_schedule_is_no_part_of_it():
    words = (("CODE", "DESCRIPTION"), ("W1", "TROWELLED EPOXY"), ("W2", "FLAKE BROADCAST COATING"))
    read = finishes(table(HEADINGS, *FIRST), table(*words, title="LEGEND", widths=(60, 200), at=(420.0, 110.0)))
    assert read.legend == {"W1": "TROWELLED EPOXY", "W2": "FLAKE BROADCAST COATING"}


def test_a_room_that_is_struck_out_is_left_out_and_told():
    read = finishes(table(HEADINGS, *FIRST, struck=(2,)))
    assert list(codes(read)) == ["101"]
    assert read.doubts == ("the row of 102 is struck out in the schedule and is left out",)


@pytest.mark.parametrize(
    ("note", "is_told"),
    [("ALL BATHS W2 TO 6'-0\"", True), ("ALL WORK TO BE CLEAN", False), ("W2 PAINT COATING", False)],
)
def test_a_note_of_several_rooms_is_told(note, is_told):
    told = finishes(table(HEADINGS, *FIRST), note=note).doubts
    assert told == ((f"a note beside the schedule may change rows of it: “{note}”",) if is_told else ())


def test_a_row_of_several_rooms_is_told():
    read = finishes(table(HEADINGS, ("104, 105", "STORES", "B1", "W2", "8'-0\""), *FIRST))
    assert read.doubts == ("the row “104, 105” of the schedule is of several at once and was not read",)


def test_rows_without_headings_on_their_sheet_are_told():
    told = "3 rows from “103” to “105” on sheet 1 stand without headings and were not read"
    assert finishes(table(*MORE, title="")).doubts == (told,)
    sizes = [(number, "HALL", "3'-0\"", "7'-0\"") for number, *_ in MORE]
    read = openings(table(*sizes, title="", widths=(45, 90, 50, 50)))
    assert read is not None
    assert read.doubts == (told,)
    assert openings(table(*sizes[:2], title="", widths=(45, 90, 50, 50))) is None


NAME = "3 rows from “103” to “105” on sheet 1 stand without headings"


@pytest.mark.parametrize("away", [0.0, 40.0])
def test_rows_without_headings_are_read_by_the_table_of_the_sheet_before(away):
    first, more = finishes(table(HEADINGS, *FIRST)), finishes(table(*MORE, title="", at=(60.0 + away, 90.0)))
    read = joined_finishes([first, more])
    assert codes(read[1]) == {row[0]: (row[3], row[2]) for row in MORE}
    assert read[1].doubts == (f"{NAME} and were read by those of the sheet before",)
    widths, headings = (45, 90, 50, 50), ("NO.", "ROOM", "WIDTH", "HEIGHT")
    doors = openings(table(headings, ("101", "LAB", "900", "2100"), title="DOOR SCHEDULE", widths=widths))
    sizes = [(number, "HALL", "1000", "2100") for number, *_ in MORE]
    beyond = openings(table(*sizes, title="", widths=widths, at=(60.0 + away, 90.0)))
    assert {(row.width, row.height, row.kind) for row in joined_openings([doors, beyond])[1].rows} == {
        (1.0, 2.1, "door")
    }


def test_rows_in_other_columns_than_those_of_the_sheet_before_are_told():
    first = finishes(table(HEADINGS, *FIRST))
    more = finishes(table(*((n, w, b, name, h) for n, name, b, w, h in MORE), title="", widths=(55, 45, 45, 90, 60)))
    assert joined_finishes([first, more])[1].rows == ()
    assert joined_finishes([first, more])[1].doubts == (f"{NAME} and were not read",)


def test_a_row_that_sends_to_another_is_told():
    read = finishes(table(HEADINGS, *FIRST, ("103", "SAME AS 101", "", "", "")))
    assert read.doubts == ("room 103: it says “SAME AS 101”, and nothing was taken from another row",)


@pytest.mark.parametrize(
    ("headings", "sizes"),
    [
        (("Nr. / No.", "Breite / Width", "Höhe / Height"), ("1010", "2135")),
        (("NO\nNO.", "LARGEUR\nWIDTH", "HAUTEUR\nHEIGHT"), ("1010", "2135")),
    ],
)
def test_headings_in_two_languages_are_one(headings, sizes):
    read = openings(table(headings, ("T1", *sizes), title="TÜRLISTE / DOOR SCHEDULE", widths=(60, 90, 90)))
    assert (read.rows[0].width, read.rows[0].height) == pytest.approx((1.01, 2.135))


def test_a_heading_that_says_nothing_is_named_by_the_one_above_it():
    group, heads = ("", "", "", "WALLS", ""), ("NO.", "NAME", "BASE", "CODE", "HEIGHT")
    assert codes(finishes(table(group, heads, *FIRST))) == {row[0]: (row[3], row[2]) for row in FIRST}


def test_a_table_without_a_title_is_told_by_the_words_of_its_rows():
    rows = ("A1", "DOOR, FLUSH", "813", "2032"), ("B1", "WINDOW, FIXED", "1220", "915")
    heads = ("MARK", "DESCRIPTION", "WIDTH", "HEIGHT")
    assert [row.mark for row in openings(table(heads, *rows, title="", widths=(60, 110, 60, 60))).rows] == ["A1", "B1"]
    others = [(row[0], "SINK", *row[2:]) for row in rows]
    assert openings(table(heads, *others, title="", widths=(60, 110, 60, 60))) is None
