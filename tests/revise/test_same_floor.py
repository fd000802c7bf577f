"""Sheets that show another floor, and sheets that show a part of one."""

from __future__ import annotations

import numpy as np
import pytest

from takeoff.model.plan import Sheet
from takeoff.model.walls import Room, Run
from takeoff.revise.same_floor import Likeness, is_beyond, is_cut, likeness
from takeoff.sheet.text import TextLine, Word
from tests.revise.simulated_plans import SAME

SHEET = Sheet(id=2, source="0", page=1, width_pt=1000, height_pt=800)
RUNS = [
    Run(id=f"w{i}", sheet=1, room=f"R{i}", closed=True, face="right",
        points_pt=((100 * i, 0), (100 * i + 90, 0), (100 * i + 90, 80), (100 * i, 80)))
    for i in range(4)
]  # fmt: skip
ROOMS = {f"R{i}": Room(id=f"R{i}", number=f"10{i}", name="Ward") for i in range(4)}


def printed(numbers: list[str], name: str = "WARD") -> list[TextLine]:
    out = []
    for i, number in enumerate(numbers):
        for y, word in ((30, name), (50, number)):
            box = (100 * i + 30.0, y - 4.0, 100 * i + 60.0, y + 4.0)
            out.append(TextLine(words=(Word(text=word, box_pt=box),), box_pt=box))
    return out


def found(new: list[TextLine], share: float) -> Likeness:

    return likeness(RUNS, ROOMS, SAME, printed(["100", "101", "102", "103"]), new, lines=share)


def test_other_room_numbers_are_another_floor_also_where_most_walls_agree() -> None:
    other = found(printed(["200", "201", "202", "203"]), 0.68)
    assert other.is_other_floor
    assert not found(printed(["100", "101", "102", "113"]), 0.9).is_other_floor


def test_a_floor_numbered_anew_is_asked_about() -> None:
    anew = found(printed(["A00", "A01", "A02", "A03"]), 0.99)
    assert not anew.is_other_floor
    assert anew.is_uncertain


@pytest.mark.parametrize(("share", "uncertain"), [(0.68, True), (0.95, False)])
def test_without_printed_rooms_the_lines_alone_decide(share: float, uncertain: bool) -> None:
    assert found([], share).is_uncertain is uncertain
    assert not found([], share).is_other_floor


def test_a_wall_off_the_page_or_where_nothing_is_drawn_is_beyond_the_sheet() -> None:
    xs = np.linspace(0, 80, 9)
    old = np.array([(x, 0, x, 80) for x in xs], float)
    line = [(0.0, 0.0), (80.0, 0.0), (80.0, 80.0)]
    assert is_beyond([(-50.0, 0.0), (80.0, 0.0)], SHEET, old, old, 10.0)
    assert is_beyond(line, SHEET, old, np.zeros((0, 4)), 10.0)
    assert not is_beyond(line, SHEET, old, old, 10.0)
    assert not is_beyond(line, SHEET, np.zeros((0, 4)), np.zeros((0, 4)), 10.0)


def test_a_wall_whose_outer_face_the_new_sheet_cuts_off_is_to_be_looked_at() -> None:
    beside, inside = [(990.0, 100.0), (990.0, 300.0)], [(900.0, 100.0), (900.0, 300.0)]
    outer_face = np.array([(1008.0, 100.0, 1008.0, 300.0)])
    assert is_cut(beside, SHEET, outer_face, 20.0)
    assert not is_cut(inside, SHEET, outer_face, 20.0)
    assert not is_cut(beside, SHEET, outer_face - [30.0, 0.0, 30.0, 0.0], 20.0)
