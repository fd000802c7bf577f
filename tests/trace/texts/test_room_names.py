"""Names and numbers of rooms, on sheets whose dimensions are bare numbers too."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from takeoff.sheet.text import TextLine, Word
from takeoff.trace.texts.room_names import has_bare_millimetres, names_of, numbers_of, room_label

ROOM = shapely.box(0, 0, 200, 200)


def line(text: str, x: float, y: float) -> TextLine:
    box = (x, y - 8.0, x + 6.0 * len(text), y)
    return TextLine(words=(Word(text=text, box_pt=box),), box_pt=box)


DIMENSIONS = [line(str(n), 500.0, 20.0 * i) for i, n in enumerate(range(1200, 6000, 350))]
NUMBERS = [line(str(101 + i), 500.0, 20.0 * i) for i in range(14)]


@pytest.mark.parametrize("texts", [["OFFICE", "4100"], ["4100 OFFICE"]])
def test_a_length_in_bare_millimetres_is_no_room_number(texts: list[str]) -> None:
    inside = [line(text, 50.0, 60.0 + 12.0 * i) for i, text in enumerate(texts)]
    assert has_bare_millimetres(DIMENSIONS)
    assert room_label(ROOM, [*inside, *DIMENSIONS]) == ("OFFICE", "")


def test_lengths_that_are_far_apart_are_bare_millimetres_though_few_are_whole_centimetres() -> None:
    lengths = [line(str(115 + 137 * i), 500.0, 20.0 * i) for i in range(40)]
    assert has_bare_millimetres(lengths)
    assert not has_bare_millimetres([*lengths, line("12'-6\"", 500.0, 700.0)])


def test_room_numbers_that_run_on_are_kept() -> None:
    inside = [line("OFFICE", 50.0, 60.0), line("110", 50.0, 72.0)]
    assert not has_bare_millimetres(NUMBERS)
    assert room_label(ROOM, [*inside, *NUMBERS]) == ("OFFICE", "110")


def test_a_number_with_a_letter_is_a_room_number_on_such_a_sheet_too() -> None:
    inside = [line("STORE", 50.0, 60.0), line("G-24", 50.0, 72.0)]
    assert room_label(ROOM, [*inside, *DIMENSIONS]) == ("STORE", "G-24")


@pytest.mark.parametrize("text", ["KITCHEN", "Living/Dining", "WC", "W/C", "STORE 12", "BATH - MASTER", "教室", "주방"])
def test_short_names_and_names_with_a_stroke_are_names(text: str) -> None:
    assert names_of([line(text, 0.0, 8.0)])


@pytest.mark.parametrize("text", ["UP", "EQ", '1/4" = 1\'-0"', "9/A-101", "2 x 4", "12"])
def test_lengths_marks_and_directions_are_no_names(text: str) -> None:
    assert not names_of([line(text, 0.0, 8.0)])


@pytest.mark.parametrize("text", ["W.I.C.", "MSTR. BATH", "TOIL.", "EX. RESTAURANT", "EXAM ROOM", "2 CAR GARAGE"])
def test_dots_of_abbreviations_and_a_figure_that_counts_belong_to_a_name(text: str) -> None:
    assert room_label(ROOM, [line(text, 50.0, 60.0)]) == (text, "")


@pytest.mark.parametrize(
    "text",
    [
        "BRH Bestand",
        "UZ HEB 120",
        "Stahlstütze",
        "Bodenplatte neu",
        "NEW HIGH LEVEL WINDOWS",
        "SEWER PIPE",
        "NEW CONCRETE PIER (SIZE T.B.D.)",
        "CMU INFILL",
        "STEEL COLUMNS ALONG THE WEST SIDE",
        "43 sq ft",
        "MEZZ. ABOVE",
        "(STL BEAM ABOVE)",
        "LINE OF ROOF BEYOND",
    ],
)
def test_parts_of_a_building_steel_and_areas_are_no_names(text: str) -> None:
    assert not names_of([line(text, 0.0, 8.0)])


def test_a_note_to_the_builder_is_no_name_and_neither_are_its_other_lines() -> None:
    note = [
        line("EXISTING DOOR", 50.0, 60.0),
        line("REMOVED AND ALL", 50.0, 70.0),
        line("TRADES MADE GOOD.", 50.0, 80.0),
    ]
    assert names_of(note) == ()
    assert [name.text for name in names_of([line("EXISTING BEDROOM", 50.0, 60.0)])] == ["EXISTING BEDROOM"]


def block(*texts: str, bold: int = 0, x: float = 50.0, y: float = 60.0) -> list[TextLine]:
    lines = [line(text, x, y + 9.0 * i) for i, text in enumerate(texts)]
    return [replace(one, is_bold=i < bold) for i, one in enumerate(lines)]


def test_in_a_block_that_ends_in_an_area_the_bold_lines_are_the_name() -> None:
    lines = block("SERVING", "PANTRY", "TILES", "HARD BOARD", "0.00", "13 m²", bold=2)
    assert room_label(ROOM, lines)[0] == "SERVING PANTRY"


def test_finishes_under_a_name_are_no_part_of_it() -> None:
    assert room_label(ROOM, block("Biuro", "Panele", "3 m"))[0] == "Biuro"
    assert room_label(ROOM, block("KOCHEN", "WOHNEN", "51,9 m²"))[0] == "KOCHEN WOHNEN"


def test_a_finish_in_small_letters_under_a_name_in_capitals_is_no_part_of_it() -> None:
    assert room_label(ROOM, block("UTILITY", "Keramika", "3.98 m²"))[0] == "UTILITY"
    assert room_label(ROOM, block("Spare", "Room", "3.98 m²"))[0] == "Spare Room"


def test_a_number_that_is_read_another_way_than_the_name_is_a_dimension() -> None:
    lines = block("UTILITY", "3.98 m²")
    upright = (90.0, 30.0, 98.0, 48.0)
    dimension = TextLine(words=(Word(text="220", box_pt=upright),), box_pt=upright)
    assert room_label(ROOM, [*lines, dimension]) == ("UTILITY", "")
    assert room_label(ROOM, [*lines, line("220", 90.0, 40.0)]) == ("UTILITY", "220")


def test_of_several_texts_the_one_with_a_size_under_it_is_the_name() -> None:
    size = block("2 CAR GARAGE", "21'-2\" x 20'-10\"", y=100.0)
    assert room_label(ROOM, [*block("PLATFORM", y=30.0), *size])[0] == "2 CAR GARAGE"


def test_a_block_on_a_sheet_that_is_displayed_turned_is_read_from_its_first_line() -> None:
    def upright(text: str, x: float) -> TextLine:
        words = text.split()
        boxes = [(x, 100.0 - 30.0 * i, x + 8.0, 128.0 - 30.0 * i) for i in range(len(words))]
        made = tuple(Word(text=word, box_pt=box) for word, box in zip(words, boxes, strict=True))
        return TextLine(words=made, box_pt=(x, boxes[-1][1], x + 8.0, 128.0))

    texts = ["NEW OFFICE", "HARD TILES", "12 m²"]
    assert room_label(ROOM, [upright(text, 40.0 + 9.0 * i) for i, text in enumerate(texts)])[0] == "NEW OFFICE"


@pytest.mark.parametrize(("times", "is_number"), [(2, True), (3, False)])
def test_a_mark_that_stands_again_and_again_is_no_number_of_a_room(times: int, is_number: bool) -> None:
    marks = [line(f"D{i}", 500.0, 20.0 * (4 * again + i)) for i in range(4) for again in range(times)]
    assert (room_label(ROOM, [line("STORE", 50.0, 60.0), line("D1", 50.0, 72.0), *marks[1:]])[1] == "D1") is is_number


def test_of_bare_millimetres_four_figures_are_a_length_though_no_whole_centimetres() -> None:
    numbers = [line("5255", 50.0, 60.0), line("G-24", 50.0, 90.0)]
    assert numbers_of([*numbers, *DIMENSIONS]) == numbers[1:]


def test_a_line_that_ends_in_the_middle_of_a_note_names_no_room() -> None:
    assert names_of([line("CENTER WINDOW ON", 50.0, 60.0), line("STATION", 50.0, 120.0)])[0].text == "STATION"


def test_a_mark_of_a_window_in_the_form_of_the_marks_of_doors_is_no_number_of_a_room() -> None:
    doors = [line("D1", 90.0 * i, 300.0) for i in range(6)]
    window, room = line("V1", 50.0, 60.0), line("104", 50.0, 90.0)
    assert numbers_of([window, room, *doors]) == [room]
    assert numbers_of([window, room, *doors[:2]]) == [window, room, *doors[:2]]


def test_a_name_in_two_lines_on_a_turned_sheet_is_read_from_its_first_word() -> None:
    def turned(text: str, x: float) -> TextLine:  # read from low y to high, the next line to its left
        words = [
            Word(text=word, box_pt=(x, 20.0 + 40 * i, x + 8, 55.0 + 40 * i)) for i, word in enumerate(text.split())
        ]
        return TextLine(words=tuple(words), box_pt=(x, 20.0, x + 8, words[-1].box_pt[3]))

    note = turned("SECOND FLOOR", 300.0)
    assert room_label(ROOM, [turned("BEDROOM", 80.0), turned("MASTER", 90.0), note]) == ("MASTER BEDROOM", "")
