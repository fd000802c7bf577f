"""Two readings of one picture: what both have is sure, what they have otherwise is not."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from shapely import Polygon

from takeoff.model.plan import Calibration
from takeoff.trace.lines.plan_rooms import TracedPlan
from takeoff.trace.lines.traced_rooms import TracedOpening, TracedRoom, TracedRun
from takeoff.trace.scans.two_readings import both_readings

SCALE = Calibration(sheet=1, mx=0.01, my=0.01)
"""A sheet point is a centimetre."""
DOOR = TracedOpening(at=1.0, width=0.9, form="swing", kind="door", confidence=0.8, reason="a swing")
ROOM = shapely.box(0, 0, 400, 500)


def plan(*rooms: tuple[Polygon, bool], openings: tuple[TracedOpening, ...] = (DOOR,)) -> TracedPlan:
    """Return a plan of rooms that are sure or not."""
    made = []
    for shape, sure in rooms:
        points = tuple((x, y) for x, y in shape.exterior.coords[:-1])
        made.append(
            TracedRoom(
                points_pt=points, bulges=(0.0,) * len(points), openings=openings, columns=(), name="", number="",
                area=shape.area / 1e4, confidence=0.95 if sure else 0.5, reasons=("Read.",), sure=sure,
                outline_sure=sure,
            )
        )  # fmt: skip
    return TracedPlan(rooms=tuple(made), shapes=tuple(shape for shape, _ in rooms))


def sure_rooms(seen: TracedPlan, drawn: TracedPlan, m_per_px: float = 0.005) -> list[bool]:
    return [room.sure for room in both_readings(seen, drawn, SCALE, m_per_px).rooms]


def test_a_room_that_both_have_with_the_same_openings_is_sure():
    (room,) = both_readings(plan((ROOM, False)), plan((ROOM, True)), SCALE, 0.005).rooms
    assert room.sure
    assert room.outline_sure
    assert "same openings" in room.reasons[-1]
    assert room.openings[0].confidence >= 0.9


@pytest.mark.parametrize(
    "other",
    [
        (),
        (DOOR, replace(DOOR, at=6.0)),
        (replace(DOOR, kind="window"),),
        (replace(DOOR, width=1.1),),
        (replace(DOOR, at=1.5),),
    ],
)
def test_openings_that_differ_settle_nothing(other):
    assert sure_rooms(plan((ROOM, False)), plan((ROOM, True), openings=other)) == [False]


def test_a_picture_too_coarse_for_a_small_room_settles_nothing():
    """An edge is off by 0.75 pixels: of 2 m² by 2 % from 4.7 mm to the pixel on."""
    small = shapely.box(0, 0, 141, 141)
    assert sure_rooms(plan((small, False)), plan((small, True)), 0.009) == [True]
    assert sure_rooms(plan((small, False)), plan((small, True)), 0.010) == [False]


@pytest.mark.parametrize(("deep", "is_sure"), [(5.0, True), (7.0, False)])
def test_where_the_network_has_wall_of_six_centimetres_and_the_lines_floor_nothing_is_settled(deep, is_sure):
    """Filled pilasters are not among the lines."""
    niche = ROOM.union(shapely.box(400, 100, 400 + deep, 160))
    assert sure_rooms(plan((ROOM, False), openings=()), plan((niche, True), openings=())) == [is_sure]


@pytest.mark.parametrize(("thick", "is_sure"), [(3.5, True), (5.0, False)])
def test_where_the_lines_have_wall_of_four_centimetres_in_a_room_that_the_network_is_sure_of_it_is_in_doubt(
    thick, is_sure
):
    """The board of a shaft, which stands out from a wall."""
    board = shapely.box(0, 100, 70, 100 + thick)
    (room,) = both_readings(plan((ROOM, True)), plan((ROOM.difference(board), False)), SCALE, 0.005).rooms
    assert room.sure == is_sure
    assert room.sure or "shaft" in room.reasons[-1]


def test_where_the_lines_close_more_than_the_network_saw_theirs_is_the_outline():
    found = both_readings(
        plan((ROOM.union(shapely.box(400, 100, 412, 160)), False), openings=()),
        plan((ROOM, True), openings=()),
        SCALE,
        0.005,
    )
    assert found.shapes == (ROOM,)
    assert found.rooms[0].sure


def test_a_column_that_the_lines_lack_settles_nothing():
    seen = plan((ROOM, False))
    column = TracedRun(points_pt=((1, 1), (1, 2), (2, 2)), bulges=(0, 0, 0))
    seen = replace(seen, rooms=(replace(seen.rooms[0], columns=(column,)),))
    assert sure_rooms(seen, plan((ROOM, True))) == [False]


def test_what_the_network_takes_for_an_opening_that_was_not_read_is_settled_by_no_lines():
    seen = plan((ROOM, False))
    seen = replace(seen, rooms=(replace(seen.rooms[0], unread=("An opening.",)),))
    assert sure_rooms(seen, plan((ROOM, True))) == [False]


def test_a_room_of_the_lines_alone_is_added_and_takes_the_place_of_one_that_holds_it_but_not_of_a_sure_one():
    whole = shapely.box(0, 0, 800, 500)
    assert sure_rooms(plan((whole, False)), plan((ROOM, True))) == [False]
    assert both_readings(plan((whole, False)), plan((ROOM, True)), SCALE, 0.005).shapes == (ROOM,)
    assert both_readings(plan((whole, True)), plan((ROOM, True)), SCALE, 0.005).shapes == (whole,)


def test_of_a_room_that_the_lines_have_a_little_otherwise_the_networks_outline_stays():
    other = shapely.box(0, 0, 400, 440)
    found = both_readings(plan((ROOM, False)), plan((other, True)), SCALE, 0.005)
    assert found.shapes == (ROOM,)
    assert not found.rooms[0].sure
