"""A bare gap from a wall's end to a column or a face parts two rooms that have names, and stays an open point.

That plans of offices show doorways as bare gaps, the leaf left to a schedule, is common practice (no source).
"""

from __future__ import annotations

import pytest
import shapely

from takeoff.trace.lines.room_verdict import SURE
from tests.trace.lines.test_plan_rooms import THIN, drawn, filled, outlined

TO_THE_WALL = shapely.box(5.19, 3.3, 5.41, 4.2)
"""The partition ends 0.9 m before the face of the outer wall."""
NAMES = (("STORE", 2.5, 2.0), ("OFFICE", 7.3, 2.0))


def named(*names):
    def draw(ink):
        for text, x, y in names:
            ink.text((x, y), text, 8.0, "A-ANNO")

    return draw


def column(ink):
    ink.shape(shapely.box(5.05, 3.8, 5.55, 4.3), "A-COLS", stroke=None, fill=0.0)


@pytest.mark.parametrize("walls", [filled, outlined])
def test_the_rooms_on_both_sides_have_their_outlines_and_the_opening_stays_open(walls):
    plan = drawn(walls(TO_THE_WALL), named(*NAMES))
    assert [(room.name, round(room.area, 1)) for room in plan.rooms] == [("STORE", 20.0), ("OFFICE", 15.2)]
    for room in plan.rooms:
        assert room.outline_sure
        assert not room.sure
        [opening] = room.openings
        assert opening.width == pytest.approx(0.9, abs=0.01)
        assert opening.confidence < SURE
        assert any("bare gap" in sentence for sentence in room.unread)


def test_a_column_closes_a_gap_as_a_wall_does():
    plan = drawn(filled(shapely.box(5.19, 2.9, 5.41, 4.2)), column, named(*NAMES))
    assert [room.name for room in plan.rooms] == ["STORE", "OFFICE"]
    assert {round(room.openings[0].width, 2) for room in plan.rooms} == {0.9}


def test_a_gap_wider_than_a_door_parts_nothing():
    assert len(drawn(filled(shapely.box(5.19, 2.7, 5.41, 4.2)), named(*NAMES)).rooms) == 1


def test_a_wall_that_stands_out_in_one_room_parts_nothing():
    plan = drawn(filled(TO_THE_WALL), named(("HALL", 2.5, 2.0)))
    assert len(plan.rooms) == 1
    assert plan.rooms[0].area > 35.0


def flush(ink):
    """A wall 0.2 m thick that ends 2 m before the outer wall, where another runs off, both ends in one line."""
    for box in ((5.2, 2.2, 5.4, 4.2), (5.4, 2.2, 9.2, 2.4)):
        ink.shape(shapely.box(*box), "A-WALL", stroke=None, fill=0.3)


def panes(layer, at=(5.2, 5.3, 5.4)):
    def draw(ink):
        for x in at:
            ink.line((x, 0.2), (x, 2.2), layer, THIN)

    return draw


@pytest.mark.parametrize(("layer", "areas"), [("A-GLAZ", [20.0, 7.6, 6.84]), ("A-FURN", [28.0, 6.84])])
def test_glass_before_an_end_that_is_part_of_a_longer_face_parts_rooms(layer, areas):
    """By hand: 5 × 4, 3.8 × 2 and 3.8 × 1.8 m²; without the glass the first two and the 0.4 m² between them."""
    texts = named(("STORE", 2.5, 2.0), ("OFFICE", 7.3, 1.2), ("LAB", 7.3, 3.3))
    plan = drawn(filled(shapely.box(5.2, 0.2, 5.4, 4.2)), flush, panes(layer), texts, layered=True)
    assert sorted(round(room.area, 2) for room in plan.rooms) == sorted(areas)
