"""Printed ceiling heights are read as they are written on plans; what is not one height is not taken for one.

The lengths are worked by hand: a foot is 0.3048 m exactly (the international foot of 1959).
"""

from __future__ import annotations

import pytest
import shapely

from takeoff.sheet.text import TextLine, Word
from takeoff.trace.texts.ceiling_heights import notes_inside, one_height, read_ceiling_notes


def line(text, x=10.0, y=10.0):
    box = (x - 5.0, y - 2.0, x + 5.0, y + 2.0)
    return TextLine(words=(Word(text=text, box_pt=box),), box_pt=box)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("CLG 10'-0\"", 3.048),
        ("CLG. HT. 9'-6\"", 2.8956),
        ("CEILING HEIGHT: 12'", 3.6576),
        ("9'-0\" CLG", 2.7432),
        ("CH 2700", 2.7),
        ("C.H. 2700 mm", 2.7),
        ("CH=2.70 m", 2.7),
        ("clg 10'-0\" AFF", 3.048),
        ("CLG +9'-0\" A.F.F.", 2.7432),
        ("CH 1.9 m", 1.9),
        ("CH 28.5 m", 28.5),
    ],
)
def test_a_printed_height_is_read_in_the_forms_that_plans_have(text, metres):
    (note,) = read_ceiling_notes([line(text)])
    assert note.height == pytest.approx(metres, abs=1e-9)
    assert note.text == text


@pytest.mark.parametrize("text", ["CLG 12'-0\" W TO 9'-0\" E", "CLG 9", "CH 9.5", 'CLG 6"', "CH 1.7 m", "CH 31.5 m"])
def test_what_is_not_one_believable_height_is_a_note_without_a_height(text):
    (note,) = read_ceiling_notes([line(text)])
    assert note.height is None


@pytest.mark.parametrize("text", ["PROCESS", "104", "10'-0\"", "ACT CEILING", "CHASE 2700", "W TO 9'-0\"", "BENCH 900"])
def test_other_text_is_no_note(text):
    assert read_ceiling_notes([line(text)]) == ()


def test_a_room_has_the_notes_that_stand_in_it():
    notes = read_ceiling_notes([line("CH 2700", 10, 10), line("CH 3000", 90, 10)])
    room = shapely.box(0, 0, 50, 50)
    assert [note.text for note in notes_inside(room, notes)] == ["CH 2700"]


def test_notes_that_agree_give_a_height_and_notes_that_differ_give_none():
    same = read_ceiling_notes([line("CH 2700"), line("CLG 2.7 m")])
    assert one_height(same) == pytest.approx(2.7)
    assert one_height(read_ceiling_notes([line("CH 2700"), line("CH 3000")])) is None
    assert one_height(()) is None


def test_what_a_ceiling_is_made_of_is_no_height() -> None:
    assert read_ceiling_notes([line('PLATFORM 5/8" TYPE "X" GYP. BD. ON CEILING'), line('5/8" GYP. BD. CEILING')]) == ()


@pytest.mark.parametrize("text", ["PD=270", "HSP: 2.70 m", "RH = 2,70 m"])
def test_words_of_other_languages_and_centimetres_give_a_height(text: str) -> None:
    assert [note.height for note in read_ceiling_notes([line(text)])] == [pytest.approx(2.7)]
