"""Tables as offices draw them: texts on several lines, fields round several rows, signs for the text above, units.

The foot is 0.3048 m exactly (international foot, 1959); that 3/0 is 3 feet and that a door is some 2 m high is common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

import pymupdf
import pytest

from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.finish_schedule import may_show_finishes, read_finish_table
from takeoff.trace.schedules.opening_schedule import OpeningSchedule, read_opening_table

FOOT, INCH = 0.3048, 0.0254
WIDE, HIGH = 80.0, 24.0
"""Points that a field is wide and a row is high."""


def draw_fields(
    rows: Sequence[Sequence[str | None]], *, title: str = "DOOR SCHEDULE", ruled: bool = True, turned: bool = False
) -> bytes:
    """Draw a table, headings first; a field without a text of its own (None) belongs to the field above it.

    Lines of a text are parted by line breaks; ``turned`` headings are read from bottom to top.
    """
    document = pymupdf.open()
    page = document.new_page(width=1000, height=700)
    page.insert_text((60, 70), title, fontsize=11)
    for column in range(len(rows[0])):
        left, top = 50 + WIDE * column, 100.0
        for n, row in enumerate(rows):
            text = row[column]
            head = 70.0 if turned and not n else HIGH * (1 + max(t.count("\n") for t in row if t) / 2)
            span = head
            for under in rows[n + 1 :]:
                if under[column] is not None:
                    break
                span += HIGH * (1 + max(t.count("\n") for t in under if t) / 2)
            if text is not None:
                if ruled:
                    page.draw_rect((left, top, left + WIDE, top + span), width=0.4)
                lines = text.split("\n")
                if turned and not n:
                    page.insert_text((left + 44, top + 66), text, fontsize=8, rotate=90)
                else:
                    for i, line in enumerate(lines):
                        page.insert_text(
                            (left + 4, top + span / 2 + 3 + 9.5 * (i - (len(lines) - 1) / 2)), line, fontsize=8
                        )
            top += head
    return document.tobytes()


def openings(data: bytes) -> OpeningSchedule | None:
    sheet = read_sheets(data, "a.pdf")[0][0]
    return read_opening_table(read_linework(data, sheet), read_lines(data, sheet), sheet)


def sizes(data: bytes) -> dict[str, tuple[float | None, float | None]]:
    table = openings(data)
    return {row.mark: (row.width, row.height) for row in table.rows} if table else {}


def feet(*lengths: float | None):
    return pytest.approx([n and n * FOOT for n in lengths])


def test_texts_on_several_lines_are_read_whole_and_the_number_of_a_room_is_no_mark():
    rows = [
        ["From\nRoom:\nNumber", "Type\nMark", "Width", "Height", "Comments"],
        ["502", "CW15", "2' - 4\n3/8\"", "4' - 11\n7/8\"", "Casement\nwindow"],
        ["407", "TW21\n072", "2' - 11", "7' - 4\n7/8\"", "Double\nhung"],
    ]
    read = sizes(draw_fields(rows, title="Window Schedule"))
    assert list(read) == ["CW15", "TW21072"]
    assert read["CW15"] == feet(2 + 4.375 / 12, 4 + 11.875 / 12)
    assert read["TW21072"] == feet(2 + 11 / 12, 7 + 4.875 / 12)


def test_a_row_that_stands_several_times_and_says_the_same_is_one():
    rows = [["MARK", "WIDTH", "HEIGHT"], ["W1", "900", "1200"], ["W1", "900", "1200"], ["W2", "600", "600"]]
    table = openings(draw_fields(rows, title="WINDOW SCHEDULE"))
    assert [row.mark for row in table.rows] == ["W1", "W2"]
    assert table.doubts == ()


def test_what_stands_in_a_field_round_several_rows_belongs_to_each_of_them():
    rows = [
        ["DOOR NO.", "WIDTH", "HEIGHT"],
        ["1", "2'-6\"", "7'-0\""],
        ["2", "3'-0\"", None],
        ["3", "3'-4\"", None],
        ["4", "3'-0\"", "8'-0\""],
    ]
    read = sizes(draw_fields(rows))
    assert [high for _, high in read.values()] == feet(7, 7, 7, 8)


@pytest.mark.parametrize("ruled", [True, False])
def test_a_row_without_a_mark_gives_nothing_to_the_rows_above_and_below(ruled):
    rows = [
        ["DOOR NO.", "WIDTH", "HEIGHT"],
        ["1", "3'-0\"", "7'-0\""],
        ["2", "3'-0\"", ""],
        ["(see hall)", "2'-0\"", "6'-0\""],
        ["3", "3'-0\"", ""],
        ["4", "3'-0\"", "7'-0\""],
    ]
    read = sizes(draw_fields(rows, ruled=ruled))
    assert {mark: high for mark, (_, high) in read.items() if high} == pytest.approx({"1": 7 * FOOT, "4": 7 * FOOT})
    assert [wide for wide, _ in read.values()] == feet(3, 3, 3, 3)


@pytest.mark.parametrize("sign", ['"', "DO.", "DITTO"])
def test_a_sign_for_the_text_above_is_read_as_that_text(sign):
    rows = [["DOOR NO.", "WIDTH", "HEIGHT"], ["1", "3'-0\"", "7'-0\""], ["2", "2'-6\"", sign], ["3", sign, sign]]
    read = sizes(draw_fields(rows))
    assert read["2"] == feet(2.5, 7)
    assert read["3"] == feet(2.5, 7)


@pytest.mark.parametrize(
    ("written", "size"),
    [
        ((["90", "210"], ["80", "200"]), (0.9, 2.1)),
        ((["0,90", "2,10"], ["0,80", "2,00"]), (0.9, 2.1)),
        ((["900", "2100"], ["800", "2000"]), (0.9, 2.1)),
        ((["36", "84"], ["30", "80"]), (36 * INCH, 84 * INCH)),
        ((["3/0", "7/0"], ["2/8", "6/8"]), (3 * FOOT, 7 * FOOT)),
        ((["3-0", "7-0"], ["2-8", "6-8"]), (3 * FOOT, 7 * FOOT)),
    ],
)
def test_the_unit_of_bare_numbers_is_told_by_how_high_doors_are(written, size):
    apart = [["DOOR NO.", "WIDTH", "HEIGHT"], *([str(n), *row] for n, row in enumerate(written, start=1))]
    assert sizes(draw_fields(apart))["1"] == pytest.approx(size)
    as_one = [["DOOR NO.", "SIZE"], *([str(n), " x ".join(row)] for n, row in enumerate(written, start=1))]
    assert sizes(draw_fields(as_one))["1"] == pytest.approx(size)


def test_bare_numbers_of_windows_that_may_be_inches_or_centimetres_are_asked_for():
    table = openings(draw_fields([["WINDOW", "SIZE"], ["W1", "60 x 90"], ["W2", "90 x 120"]], title="WINDOWS"))
    assert [(row.width, row.height) for row in table.rows] == [(None, None)] * 2
    assert "60 x 90" in table.doubts[0]


def test_heads_jambs_and_sills_that_are_numbers_of_details_are_no_heights():
    rows = [["DOOR NO.", "WIDTH", "HEIGHT", "HEAD", "JAMB", "SILL"], ["1", "3'-0\"", "7'-0\"", "3-1", "3-2", "3-3"]]
    [row] = openings(draw_fields(rows)).rows
    assert row.sill is None


def test_headings_that_are_read_upwards_are_headings():
    rows = [["DOOR NO.", "WIDTH", "HEIGHT", "REMARKS"], ["1", "3'-0\"", "7'-0\"", "-"], ["2", "3'-0\"", "8'-0\"", "-"]]
    read = sizes(draw_fields(rows, turned=True))
    assert read["1"] == feet(3, 7)
    assert read["2"] == feet(3, 8)


@pytest.mark.parametrize(
    ("title", "headings"),
    [
        ("Liste", ["Tür Nr.", "Breite", "Höhe"]),
        ("Tableau", ["Porte", "Largeur", "Hauteur"]),
        ("Cuadro", ["Puerta", "Ancho", "Alto"]),
        ("Abaco", ["Porta", "Larghezza", "Altezza"]),
    ],
)
def test_a_table_in_another_language_is_read(title, headings):
    assert sizes(draw_fields([headings, ["1", "90", "210"], ["2", "80", "210"]], title=title))["1"] == (0.9, 2.1)


def test_a_schedule_of_windows_says_nothing_of_the_walls_of_their_rooms():
    rows = [
        ["ROOM NO.", "NAME", "TYPE MARK", "WIDTH", "HEIGHT", "WALL THICKNESS"],
        ["101", "DEN", "A1", "2'-0\"", "4'-0\"", '6"'],
    ]
    data = draw_fields(rows, title="WINDOW SCHEDULE")
    sheet = read_sheets(data, "a.pdf")[0][0]
    assert not may_show_finishes(read_lines(data, sheet), sheet)


def test_a_room_of_which_a_schedule_says_two_things_is_left_out_and_told():
    rows = [
        ["ROOM NO.", "NAME", "BASE", "WALLS", "HEIGHT"],
        ["101", "DEN", "B1", "W1", "9'-0\""],
        ["101", "DEN", "B1", "W2", "9'-0\""],
        ["102", "HALL", "B1", "W1", "9'-0\""],
    ]
    data = draw_fields(rows, title="FINISH SCHEDULE")
    sheet = read_sheets(data, "a.pdf")[0][0]
    table = read_finish_table(read_linework(data, sheet), read_lines(data, sheet), sheet)
    assert [row.number for row in table.rows] == ["102"]
    assert any("101 stands in the schedule more than once" in doubt for doubt in table.doubts)
