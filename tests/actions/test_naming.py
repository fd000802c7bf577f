"""The name printed in a room, for one that is traced by hand."""

from __future__ import annotations

import pytest

from takeoff import actions
from takeoff.model.open_points import basis_of
from takeoff.model.walls import HeightProfile, Room
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import TextLine, Word, read_lines

FOOT = 0.3048


def test_a_hand_traced_room_is_called_and_as_high_as_the_plan_prints_inside_it():
    """Room 104 of the sample plan stands between (210, 330) and (858, 726), as docs/edits-file.md has it traced.

    It prints PROCESS, 104 and CLG 12'-0".
    """
    plan = actions.sample_plans() / "facility-imperial.pdf"
    data = plan.read_bytes()
    sheet = read_sheets(data, plan.name)[0][0]
    lines = read_lines(data, sheet)
    outline = ((210.0, 330.0), (858.0, 330.0), (858.0, 726.0), (210.0, 726.0))
    like = Room(id="new", height=HeightProfile.constant(3.0), system="mat-hygienic")
    room = actions.printed_room(lines, sheet.id, outline, like)
    assert (room.name.title(), room.number, room.system) == ("Process", "104", "mat-hygienic")
    assert room.height.points[0][1] == pytest.approx(12 * FOOT)
    assert basis_of(room, "height").how == "stated"
    nowhere = actions.printed_room(lines, sheet.id, ((1.0, 1.0), (9.0, 1.0), (9.0, 9.0)), like)
    assert nowhere == like


@pytest.mark.parametrize(("text", "of"), [("N.I.C.", "scope"), ("TYP. OF 6", "times")])
def test_a_note_in_the_room_that_it_is_not_in_the_contract_or_is_built_often_stays_with_it(text, of):
    box = (40.0, 40.0, 60.0, 50.0)
    note = TextLine(words=(Word(text=text, box_pt=box),), box_pt=box)
    square = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    room = actions.printed_room([note], 1, square, Room(id="a"))
    assert (room.name, basis_of(room, of).text, basis_of(room, of).is_open) == ("", text, True)
