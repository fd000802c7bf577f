"""Names and numbers of rooms, on sheets whose dimensions are bare numbers too."""

from __future__ import annotations

import pytest
import shapely

from takeoff.sheet.text import TextLine, Word
from takeoff.trace.texts.room_names import has_bare_millimetres, names_of, room_label

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


def test_room_numbers_that_run_on_are_kept() -> None:
    inside = [line("OFFICE", 50.0, 60.0), line("110", 50.0, 72.0)]
    assert not has_bare_millimetres(NUMBERS)
    assert room_label(ROOM, [*inside, *NUMBERS]) == ("OFFICE", "110")


def test_a_number_with_a_letter_is_a_room_number_on_such_a_sheet_too() -> None:
    inside = [line("STORE", 50.0, 60.0), line("G-24", 50.0, 72.0)]
    assert room_label(ROOM, [*inside, *DIMENSIONS]) == ("STORE", "G-24")


@pytest.mark.parametrize("text", ["KITCHEN", "Living/Dining", "WC", "W/C", "STORE 12", "BATH - MASTER"])
def test_short_names_and_names_with_a_stroke_are_names(text: str) -> None:
    assert names_of([line(text, 0.0, 8.0)])


@pytest.mark.parametrize("text", ["UP", "EQ", '1/4" = 1\'-0"', "9/A-101", "2 x 4", "12"])
def test_lengths_marks_and_directions_are_no_names(text: str) -> None:
    assert not names_of([line(text, 0.0, 8.0)])
