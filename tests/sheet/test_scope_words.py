"""Notes that take a room out of the contract, or count it several times.

The words are common practice in North American drawings, no source.
"""

from __future__ import annotations

import pytest

from takeoff.sheet.scope_words import scope_line, scope_remark, several_line, stands_for_several, without_note
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.texts.room_names import names_of

NOTES = (
    "N.I.C.", "NIC", "(N.I.C.)", "Not in Contract", "NO WORK", "BY OTHERS", "EXISTING TO REMAIN", "(E) TO REMAIN",
    "E.T.R.", "EXISTING", "ALTERNATE NO. 2", "ADD ALT #1", "BID ALTERNATE 3", "PHASE 2", "AREA NOT IN SCOPE",
    "NOT IN THIS CONTRACT", "OUT OF SCOPE", "NOT PART OF THIS WORK", "EXCLUDED", "BY G.C.", "SEPARATE CONTRACT",
    "ADDITIVE ALTERNATE 1", "OPTION B", "NO WORK THIS AREA", "T.B.D.", "TO BE DEMOLISHED", "(E)", "HORS LOT", "PH. 2",
)  # fmt: skip


def _line(text: str) -> TextLine:
    box = (0.0, 0.0, 10.0, 5.0)
    return TextLine(words=(Word(text=text, box_pt=box),), box_pt=box)


@pytest.mark.parametrize("text", NOTES)
def test_a_note_that_takes_a_room_out_is_read_and_is_no_name_of_the_room(text):
    assert scope_line([_line("KITCHEN"), _line(text)]).text == text
    assert names_of([_line(text)]) == ()


@pytest.mark.parametrize(
    "text",
    [
        "STORAGE (N.I.C.)",
        "SHOP - BY TENANT",
        "FUTURE OFFICE",
        "SHELL SPACE",
        "STORAGE N.I.C.",
        "STORAGE (FUTURE)",
        "STORAGE ALT. 1",
        "STORAGE PHASE 2",
        "(E) STORAGE",
    ],
)
def test_a_name_may_hold_the_note(text):
    assert scope_line([_line(text)]).text == text
    assert len(names_of([_line(text)])) == 1


@pytest.mark.parametrize(
    "text",
    [
        "KITCHEN",
        "CASEWORK BY OWNER",
        "NICHE",
        "ALTAR",
        "PHASE 1",
        "EXISTING DOOR",
        "ALTO",
        "NICU",
        "OPTICAL LAB",
        "DEMO KITCHEN",
        "TENANT STORAGE",
        "SHELLFISH PREP",
    ],
)
def test_a_note_about_something_else_in_the_room_is_none(text):
    assert scope_line([_line(text)]) is None


def test_remarks_of_a_schedule_may_say_it_among_other_words():
    assert scope_remark("Tile by others; see A-601")
    assert scope_remark("EXISTING")
    assert not scope_remark("Match existing floor")
    assert not scope_remark("")


@pytest.mark.parametrize(
    "text",
    [
        "TYP. OF 6",
        "(TYP. OF 12)",
        "TYPICAL FOR 4",
        "(6) TYP.",
        "TYP x 8",
        "24 UNITS",
        "SIM. OF 3",
        "x 4 UNITS",
        "TYP. FLOORS 2-5",
        "TYP. @ LEVELS 2 THRU 5",
        "TYP. EA. FLOOR",
        "SAME ON FLOORS 2-5",
        "4 REQ'D",
        "QTY: 4",
        "FLOORS 2-5",
        "REPEATS 4 TIMES",
        "OPPOSITE HAND",
        "ROOMS 101-112",
        "101 THRU 112",
        "12 ROOMS",
        "4 THUS",
    ],
)
def test_a_note_that_a_room_is_built_several_times_is_read_and_is_no_name_of_the_room(text):
    assert several_line([_line("TOILET"), _line(text)]).text == text
    assert names_of([_line(text)]) == ()


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("BATH (TYP. OF 6)", "BATH"),
        ("GUEST ROOM TYP.", "GUEST ROOM"),
        ("BATH 2 - TYPICAL", "BATH 2"),
        ("BATH x4", "BATH"),
        ("BATH 201-212", "BATH"),
        ("BATH (TYP. ALL UNITS)", "BATH"),
        ("BATH TYP. FLOORS 2-5", "BATH"),
    ],
)
def test_a_name_may_hold_how_often_the_room_is_built(text, name):
    assert several_line([_line(text)]).text == text
    assert without_note(text) == name


@pytest.mark.parametrize(
    "text",
    [
        "TYP.",
        "TYPICAL",
        "TYPE 2",
        "STORAGE 12",
        "UNIT 4",
        "SIMULATION 2",
        "6 STALLS",
        "12",
        "10 x 12",
        "BED 10 x 12",
        "X4",
        "3 LAYERS",
        "LAB 4",
        "2 HR",
        "(2) SHELVES",
    ],
)
def test_what_may_be_of_anything_in_the_room_does_not_count_the_room(text):
    assert several_line([_line(text)]) is None


SEVERAL = (
    "TYPICAL FLOOR PLAN 3RD-7TH", "TYP FLOOR PLAN", "THIRD TO SEVENTH FLOOR PLAN", "SECOND & THIRD FLOOR PLAN",
    "LEVELS 2-5 FLOOR PLAN", "LEVEL 2/3 FLOOR PLAN", "L02-L05 FLOOR PLAN", "Floors 3 thru 7", "2-5 FLOOR PLAN",
    "FLOOR PLAN 2F-5F", "2ND, 3RD AND 4TH FLOOR PLAN", "UNIT B PLAN", "UNIT PLANS", "APARTMENT TYPE 2", "MODULE A PLAN",
    "BUILDINGS A, B & C FLOOR PLAN", "FLOOR PLAN x 4 UNITS", "TOILET PLAN (6 REQ'D)", "TOILET PLAN - QTY 6",
    "LEVEL 2 FLOOR PLAN (LEVEL 3 SIM.)", "LEVEL 2 PLAN, LEVEL 3 OPP. HAND", "UPPER FLOORS PLAN", "STANDARD FLOOR PLAN",
    "REGELGESCHOSS GRUNDRISS", "GRUNDRISS 1. BIS 4. OBERGESCHOSS", "PLANTA TIPO", "PLAN D'ÉTAGE COURANT",
    "PLAN R+1 À R+4", "VERDIEPING 1-4",
)  # fmt: skip
ONCE = (
    "SECOND FLOOR PLAN", "LEVEL 2 FLOOR PLAN", "FLOOR PLAN 1", "COMMUNITY CENTRE PLAN", "FLOOR PLAN - BUILDING A",
    "LEVEL 2 - PART 1 OF 3", "FLOOR PLAN, UNIT 4", "LEVEL 1 - 1/8\" = 1'-0\"", "GRUNDRISS EG", "FLOOR PLAN 1:50",
    "UNIT 101 FLOOR PLAN", "LEVEL 1 FLOOR PLAN - AREA A",
)  # fmt: skip


@pytest.mark.parametrize("title", SEVERAL)
def test_a_title_tells_a_plan_that_is_built_more_than_once(title):  # common practice, no source
    assert stands_for_several(title)


@pytest.mark.parametrize("title", ONCE)
def test_other_titles_are_of_a_plan_that_is_built_once(title):
    assert not stands_for_several(title)
