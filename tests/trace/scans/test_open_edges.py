"""A named room of a picture whose walls do not close is told with its gap, and proposed without being sure."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from takeoff.model.plan import Calibration
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.lines.plan_rooms import TracedPlan
from takeoff.trace.scans.field_outlines import Ring
from takeoff.trace.scans.open_edges import walls_of, with_open_rooms

SCALE = Calibration(sheet=1, mx=0.02, my=0.02)  # metres per point


def named(words, x, y):
    box = (x - 20.0, y - 4.0, x + 20.0, y + 4.0)
    return TextLine(words=(Word(text=words, box_pt=box),), box_pt=box)


def ring(shape, *, is_hole):
    return Ring(points=shapely.get_coordinates(shape.exterior)[:-1], is_hole=is_hole, blur=0.0)


def test_what_stands_in_a_hole_is_wall_again():
    rings = [
        ring(shapely.box(150, 150, 160, 160), is_hole=False),
        ring(shapely.box(100, 100, 300, 250), is_hole=False),
        ring(shapely.box(110, 110, 290, 240), is_hole=True),
    ]
    walls = walls_of(rings, lambda points: np.asarray(points) * 0.5)
    assert walls.area == pytest.approx((200 * 150 - 180 * 130 + 100) / 4)
    assert walls.contains(shapely.Point(77, 77))


# a room of 5 m × 4 m with walls of 0.2 m, open to the outside over 1.5 m, and a closed one beside it
LEFT, RIGHT = shapely.box(100, 100, 350, 300), shapely.box(360, 100, 600, 300)
GAP = shapely.box(85, 150, 105, 225)
WALLS = shapely.box(90, 90, 610, 310).difference(LEFT).difference(RIGHT).difference(GAP)


def test_a_named_room_that_is_open_to_the_outside_is_told_with_its_gap():
    plan = TracedPlan(rooms=(), shapes=(), walls=WALLS)
    found = with_open_rooms(plan, [named("WORKSHOP", 220, 200)], SCALE)
    (lost,) = found.lost
    assert lost.name == "WORKSHOP"
    assert "no wall closes it at 100,188" in lost.reason  # the middle of the gap's inner side
    (room,) = found.rooms
    assert room.name == "WORKSHOP"
    assert not room.sure
    assert room.area == pytest.approx(20.0, rel=0.02)
    assert [o.width for o in room.openings] == pytest.approx([1.5], abs=0.05)


def test_a_name_beside_the_building_is_no_lost_room():
    plan = TracedPlan(rooms=(), shapes=(), walls=WALLS)
    found = with_open_rooms(plan, [named("GROUND FLOOR", 1200, 200)], SCALE)
    assert (found.lost, found.rooms) == ((), ())


# rooms of 5 m × 4 m in a row with walls of 0.2 m; the second is open to the outside over 1.5 m
ROW = [shapely.box(100 + 260 * i, 100, 350 + 260 * i, 300) for i in range(4)]
ROW_WALLS = shapely.box(90, 90, 1140, 310).difference(shapely.union_all([*ROW, shapely.box(450, 85, 525, 105)]))


def test_a_room_without_a_name_that_is_open_to_the_outside_is_proposed_where_others_were_read():
    found = with_open_rooms(TracedPlan(rooms=(), shapes=(ROW[0], *ROW[2:]), walls=ROW_WALLS), [], SCALE)
    (room,) = found.rooms
    assert found.lost == ()
    assert not room.sure
    assert room.area == pytest.approx(20.0, rel=0.02)
    assert [o.width for o in room.openings] == pytest.approx([1.5], abs=0.05)


def test_where_a_quarter_of_its_outline_is_open_it_is_told_alone():
    walls = ROW_WALLS.difference(
        shapely.union_all([shapely.box(x, y, x + 65, y + 20) for x in (370, 530) for y in (85, 295)])
    )
    found = with_open_rooms(TracedPlan(rooms=(), shapes=(ROW[0], *ROW[2:]), walls=walls), [], SCALE)
    assert found.rooms == ()
    (lost,) = found.lost
    assert lost.name == ""
    assert "about 20 m²" in lost.reason  # 5 m × 4 m
    assert ROW[1].contains(shapely.Point(lost.at_pt))


def test_where_every_field_is_a_room_nothing_is_told():
    plan = TracedPlan(rooms=(), shapes=tuple(ROW), walls=ROW_WALLS)
    assert with_open_rooms(plan, [], SCALE).lost == ()
