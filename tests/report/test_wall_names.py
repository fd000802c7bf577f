"""Walls are numbered in their room from corner to corner, and say on which side of the plan they stand."""

from dataclasses import replace

import pytest
from shapely.geometry import box

from takeoff.model.cut_lists import Drop, Piece
from takeoff.model.figures import Corner, Elevation
from takeoff.model.plan import Sheet
from takeoff.report.wall_names import name_walls
from takeoff.sheet.frame import sheet_to_displayed

# A room 4 m by 3 m, walked along its inner face to the right, down, left, up on the plan (y down): coated on the right
# hand. Its walls stand at the top, the right, the bottom and the left of the plan.
LINE = ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0), (0.0, 0.0))


def make_face(run="a", *, line=LINE, stations=(4.0, 7.0, 11.0, 14.0), length=14.0, room="R", is_closed=True):
    wall = box(0, 0, length, 3)
    corners = tuple(Corner(station=s, turn=1.57, length=3.0, vertex=0) for s in stations)
    return Elevation(
        run=run, face="right", room=room, system=None, length=length, is_closed=is_closed, top="ceiling", base=0.0,
        wall=wall, net=wall, profile=((0.0, 3.0), (length, 3.0)), openings=(), corners=corners,
        line=line,
    )  # fmt: skip


def make_drop(number, x0, face="a:right"):
    return Drop(face=face, number=number, x0=x0, x1=x0 + 1.0, z0=0.0, z1=3.0, length=3.1, width=1.27)


def test_a_room_traced_as_one_line_has_a_wall_for_each_side():
    names = name_walls([make_face()], {"R": "104 Process"})
    assert [wall.words for wall in names.walls["a:right"]] == [
        "1 (top of plan)", "2 (right of plan)", "3 (bottom of plan)", "4 (left of plan)",
    ]  # fmt: skip
    assert names.face("a:right") == "104 Process, walls 1 to 4"
    assert names.what(make_drop(5, 7.0)) == "104 Process, wall 3 (bottom of plan), drop 5"
    assert names.what(make_drop(6, 14.2)) == "104 Process, wall 1 (top of plan), drop 6"  # past the end it starts anew


def test_stretches_of_one_room_are_told_apart_and_other_rooms_count_from_one():
    first = make_face("a", line=LINE[:2], stations=(), length=4.0, is_closed=False)
    second = make_face("b", line=LINE[1:3], stations=(), length=3.0, is_closed=False)
    other = make_face("c", line=LINE[:2], stations=(), length=4.0, room="S", is_closed=False)
    names = name_walls([first, second, other], {"R": "Wash", "S": "Store"})
    assert [names.face(key) for key in ("a:right", "b:right", "c:right")] == [
        "Wash, wall 1 (top of plan)", "Wash, wall 2 (right of plan)", "Store, wall",
    ]  # fmt: skip
    assert names.what(make_drop(1, 0.0, "c:right")) == "Store, wall, drop 1"


def test_a_closed_line_that_starts_within_a_wall_has_one_wall_there():
    line = ((2.0, 0.0), *LINE[1:4], (0.0, 0.0), (2.0, 0.0))
    names = name_walls([make_face(line=line, stations=(2.0, 5.0, 9.0, 12.0))], {"R": "Wash"})
    assert [wall.number for wall in names.walls["a:right"]] == [1, 2, 3, 4, 1]
    assert names.face("a:right") == "Wash, walls 1 to 4"


def test_a_trim_says_which_walls_its_corner_is_between_and_an_edge_which_wall_it_is_in():
    names = name_walls([make_face()], {"R": "Wash"})
    corner = {"label": "inside corner", "length": 3.0, "face": "a:right"}
    assert names.what(Piece(at=7.0, **corner)) == "Wash, inside corner of walls 2 and 3"
    assert names.what(Piece(at=14.0, **corner)) == "Wash, inside corner of walls 4 and 1"
    jamb = Piece(label="door D1, jamb", length=2.1, face="a:right", at=1.0)
    assert names.what(jamb) == "Wash, wall 1 (top of plan), door D1, jamb"
    assert names.what(Piece(label="spare", length=3.0)) == "spare"


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_sides_are_those_of_the_sheet_as_displayed(turn):
    sheet = Sheet(id=1, source="", page=1, width_pt=600, height_pt=400, rotation=turn)
    walls = name_walls([make_face()], {"R": ""}, {"a": turn}).walls["a:right"]
    x0, y0 = sheet_to_displayed(sheet, 2.0, 1.5)  # the middle of the room
    for wall, middle in zip(walls, ((2.0, 0.0), (4.0, 1.5), (2.0, 3.0), (0.0, 1.5)), strict=True):
        x, y = sheet_to_displayed(sheet, *middle)
        across = "right" if x > x0 else "left"
        assert wall.side == (across if abs(x - x0) > abs(y - y0) else "bottom" if y > y0 else "top")


def test_a_round_pillar_stands_on_no_side():
    ring = tuple(box(0, 0, 1, 1).centroid.buffer(0.5).exterior.coords)
    names = name_walls([make_face(line=ring, stations=(), length=3.14)], {"R": "Wash"})
    assert names.face("a:right") == "Wash, wall"
    assert names.walls["a:right"][0].side == ""


def test_the_sides_of_a_pillar_are_its_own():
    pillar = make_face(stations=())
    corners = tuple(Corner(station=s, turn=-1.57, length=3.0, vertex=0) for s in (4.0, 7.0, 11.0, 14.0))
    # Coated on its outside, to the left of the same way round: its upper face is at the top of the plan.
    names = name_walls([replace(pillar, face="left", corners=corners)], {"R": "Wash"})
    assert [wall.side for wall in names.walls["a:left"]] == ["top", "right", "bottom", "left"]


def test_a_short_jog_is_of_the_wall_before_it():
    # 4 m, a jog of 0.2 m, 3 m: two walls; the jog's corners are between walls 1 and 2 and within wall 1.
    line = ((0.0, 0.0), (4.0, 0.0), (4.0, 0.2), (7.0, 0.2))
    names = name_walls([make_face(line=line, stations=(4.0, 4.2), length=7.2, is_closed=False)], {"R": "Wash"})
    assert [(wall.number, wall.is_main) for wall in names.walls["a:right"]] == [(1, True), (1, False), (2, True)]
    assert names.face("a:right") == "Wash, walls 1 to 2"
    assert names.place("a:right", 4.1) == "Wash, wall 1 (top of plan)"
    corner = {"label": "inside corner", "length": 3.0, "face": "a:right"}
    assert names.what(Piece(at=4.0, **corner)) == "Wash, inside corner of wall 1"
    assert names.what(Piece(at=4.2, **corner)) == "Wash, inside corner of walls 1 and 2"
