"""Notes that take a room out of the contract, or count it several times.

The words are common practice in North American drawings, no source.
"""

from __future__ import annotations

import pytest

from takeoff.sheet.scope_words import scope_line, scope_remark, several_line, without_note
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.texts.room_names import names_of

NOTES = (
    "N.I.C.", "NIC", "(N.I.C.)", "Not in Contract", "NO WORK", "BY OTHERS", "EXISTING TO REMAIN", "(E) TO REMAIN",
    "E.T.R.", "EXISTING", "ALTERNATE NO. 2", "ADD ALT #1", "BID ALTERNATE 3", "PHASE 2", "AREA NOT IN SCOPE",
)  # fmt: skip


def _line(text: str) -> TextLine:
    box = (0.0, 0.0, 10.0, 5.0)
    return TextLine(words=(Word(text=text, box_pt=box),), box_pt=box)


@pytest.mark.parametrize("text", NOTES)
def test_a_note_that_takes_a_room_out_is_read_and_is_no_name_of_the_room(text):
    assert scope_line([_line("KITCHEN"), _line(text)]).text == text
    assert names_of([_line(text)]) == ()


@pytest.mark.parametrize("text", ["STORAGE (N.I.C.)", "SHOP - BY TENANT", "FUTURE OFFICE", "SHELL SPACE"])
def test_a_name_may_hold_the_note(text):
    assert scope_line([_line(text)]).text == text
    assert len(names_of([_line(text)])) == 1


@pytest.mark.parametrize("text", ["KITCHEN", "CASEWORK BY OWNER", "NICHE", "ALTAR", "PHASE 1", "EXISTING DOOR", "ALTO"])
def test_a_note_about_something_else_in_the_room_is_none(text):
    assert scope_line([_line(text)]) is None


def test_remarks_of_a_schedule_may_say_it_among_other_words():
    assert scope_remark("Tile by others; see A-601")
    assert scope_remark("EXISTING")
    assert not scope_remark("Match existing floor")
    assert not scope_remark("")


@pytest.mark.parametrize(
    "text", ["TYP. OF 6", "(TYP. OF 12)", "TYPICAL FOR 4", "(6) TYP.", "TYP x 8", "24 UNITS", "SIM. OF 3"]
)
def test_a_note_that_a_room_is_built_several_times_is_read_and_is_no_name_of_the_room(text):
    assert several_line([_line("TOILET"), _line(text)]).text == text
    assert names_of([_line(text)]) == ()


@pytest.mark.parametrize(
    ("text", "name"), [("BATH (TYP. OF 6)", "BATH"), ("GUEST ROOM TYP.", "GUEST ROOM"), ("BATH 2 - TYPICAL", "BATH 2")]
)
def test_a_name_may_hold_how_often_the_room_is_built(text, name):
    assert several_line([_line(text)]).text == text
    assert without_note(text) == name


@pytest.mark.parametrize(
    "text", ["TYP.", "TYPICAL", "TYPE 2", "STORAGE 12", "UNIT 4", "SIMULATION 2", "6 STALLS", "12"]
)
def test_what_may_be_of_anything_in_the_room_does_not_count_the_room(text):
    assert several_line([_line(text)]) is None
