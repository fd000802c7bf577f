"""A wall of a room that is traced backwards is told: its coated side does not go on in its neighbours'."""

from __future__ import annotations

import pytest

from takeoff.measure.facing import WrongFace, wrong_faces

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


def test_a_closed_wall_that_looks_out_alone_in_its_room_is_told_and_a_pillar_is_not(wall, found):
    inner = [(2, 1), (3, 1), (3, 2), (2, 2)]
    assert found(wall(ROOM, id="a", closed=True, face="right", room="R")) == ()
    assert found(wall(ROOM, id="a", closed=True, face="left", room="R")) == (WrongFace(run="a"),)
    assert found(wall(ROOM[::-1], id="a", closed=True, face="left", room="R")) == ()
    pillar = wall(inner, id="p", closed=True, face="left", room="R")
    assert found(wall(ROOM, id="a", closed=True, face="right", room="R"), pillar) == ()
