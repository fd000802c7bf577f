"""Walls that two runs measure twice are told, with the length that they share."""

from __future__ import annotations

import pytest

from takeoff.measure.faces import measure_faces
from takeoff.measure.overlaps import WrongFace, doubled_stretches, wrong_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Run

SCALE = Calibration(sheet=1, mx=0.01, my=0.01)


def wall(id, *points, face="left", **fields):
    height = fields.pop("height", HeightProfile.constant(3.0))
    return Run(id=id, sheet=1, points_pt=points, face=face, height=height, **fields)


def doubled(*runs):
    scales = {run.id: SCALE for run in runs}
    return doubled_stretches(measure_faces(runs, {}, scales, settings=MeasureSettings()), scales)


def test_a_run_traced_twice_is_told_with_its_whole_length():
    ((a, b, length),) = doubled(wall("a", (0.0, 0.0), (400.0, 0.0)), wall("b", (0.0, 0.5), (400.0, 0.5)))
    assert {a, b} == {"a", "b"}
    assert length == pytest.approx(4.0)


def test_the_same_wall_traced_the_other_way_with_the_same_side_is_told():
    one, other = wall("a", (0.0, 0.0), (400.0, 0.0)), wall("b", (500.0, 0.0), (100.0, 0.0), face="right")
    ((_, _, length),) = doubled(one, other)
    assert length == pytest.approx(3.0)


@pytest.mark.parametrize(
    "other",
    [
        wall("b", (0.0, 0.0), (400.0, 0.0), face="right"),
        wall("b", (400.0, 0.0), (800.0, 0.0)),
        wall("b", (0.0, 20.0), (400.0, 20.0)),
        wall("b", (200.0, -100.0), (200.0, 100.0)),
        wall("b", (0.0, 0.0), (400.0, 0.0), base=3.0, height=HeightProfile.constant(4.0)),
    ],
    ids=["other side", "goes on from it", "another wall", "crosses it", "above it"],
)
def test_walls_that_are_two_are_not_told(other):
    assert doubled(wall("a", (0.0, 0.0), (400.0, 0.0)), other) == ()


def test_both_faces_of_one_thick_wall_are_two_walls():
    assert doubled(wall("a", (0.0, 0.0), (400.0, 0.0), face="both", thickness=0.2)) == ()


def test_a_wall_of_many_points_close_together_is_not_held_against_itself_and_is_still_found_on_another():
    teeth = [(n / 10.0, float(n % 2)) for n in range(3000)]
    assert doubled(wall("a", *teeth)) == ()
    ((_, _, length),) = doubled(
        wall("a", *teeth, (300.0, 100.0), (500.0, 100.0)), wall("b", (350.0, 100.0), (450.0, 100.0))
    )
    assert length == pytest.approx(1.0)


ROOM = [(0, 0), (5, 0), (5, 4), (0, 4)]  # clockwise as displayed: the room is on the right hand


@pytest.fixture
def found(measure, scale):
    def find(*runs):
        return wrong_faces(measure(*runs), {run.id: scale for run in runs})

    return find


@pytest.fixture
def four(wall):
    """Four walls of a room, each a run."""

    def make(*, backwards="", heights=(3.0,) * 4, room="R"):
        return [
            wall(
                [ROOM[k], ROOM[(k + 1) % 4]],
                id=id,
                face="left" if id in backwards else "right",
                height=heights[k],
                room=room,
            )
            for k, id in enumerate("abcd")
        ]

    return make


def test_four_walls_that_look_into_the_room_are_right(four, found, figures):
    assert found(*four()) == ()
    assert figures(*four()).inside_corners == 4


@pytest.mark.parametrize("wrong", "abcd")
def test_one_wall_of_four_that_looks_out_is_told(four, found, figures, wrong):
    # by hand: its two corners are lost, and 4 ends of 3 m become terminations
    runs = four(backwards=wrong)
    before, after = {"a": "bd", "b": "ac", "c": "bd", "d": "ac"}[wrong]
    assert found(*runs) == (WrongFace(run=wrong, others=(before, after)),)
    assert (figures(*runs).inside_corners, figures(*runs).end_length) == (2, 12.0)


def test_the_order_of_points_does_not_matter_only_the_side(wall, four, found):
    runs = four()
    runs[1] = wall([ROOM[2], ROOM[1]], id="b", face="left", room="R")
    assert found(*runs) == ()
    runs[1] = wall([ROOM[2], ROOM[1]], id="b", face="right", room="R")
    assert found(*runs) == (WrongFace(run="b", others=("a", "c")),)


def test_walls_of_two_rooms_or_of_none_and_both_faces_are_left_alone(wall, found, four):
    for room in (None, "S"):
        runs = four(backwards="b", room="R")
        runs[1] = wall([ROOM[1], ROOM[2]], id="b", face="left", room=room)
        assert found(*runs) == ()
    both = wall([ROOM[1], ROOM[2]], id="b", face="both", line="centre", thickness=0.1, room="R")
    assert found(*[both if run.id == "b" else run for run in four()]) == ()


def test_the_back_of_a_wall_end_that_meets_another_rightly_is_no_fault(wall, found):
    # a partition is coated on both sides by two runs that end in a third, all in one room
    runs = [
        wall([(0, 0), (5, 0)], id="a", face="right", room="R"),
        wall([(5, 0), (5, 4)], id="b", face="right", room="R"),
        wall([(5, 0), (5, 4)], id="c", face="left", room="R"),
        wall([(5, 0), (9, 0)], id="d", face="right", room="R"),
    ]
    assert found(*runs) == ()


@pytest.mark.parametrize(
    ("face", "room", "is_told"), [("left", "R", True), ("right", "R", False), ("left", "S", False)]
)
def test_a_wall_on_the_line_of_a_closed_one_of_its_room_that_is_coated_on_its_other_side_is_told(
    wall, found, face, room, is_told
):
    # the default side of an edits file is the left one; on the right hand the wall is counted twice, which is told so
    runs = [wall(ROOM, id="a", face="right", closed=True, room="R"), wall(ROOM[:2], id="b", face=face, room=room)]
    assert found(*runs) == ((WrongFace(run="b", others=("a",)),) if is_told else ())


def test_a_closed_wall_that_looks_out_alone_in_its_room_is_told_and_a_pillar_is_not(wall, found):
    inner = [(2, 1), (3, 1), (3, 2), (2, 2)]
    assert found(wall(ROOM, id="a", closed=True, face="right", room="R")) == ()
    assert found(wall(ROOM, id="a", closed=True, face="left", room="R")) == (WrongFace(run="a"),)
    assert found(wall(ROOM[::-1], id="a", closed=True, face="left", room="R")) == ()
    pillar = wall(inner, id="p", closed=True, face="left", room="R")
    assert found(wall(ROOM, id="a", closed=True, face="right", room="R"), pillar) == ()
