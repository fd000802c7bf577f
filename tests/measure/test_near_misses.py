"""Walls of a room that almost meet are told: their corner is not counted, and their ends are terminations."""

from __future__ import annotations

import pytest

from takeoff.measure.overlaps import NearMiss, near_misses


@pytest.fixture
def found(measure, scale):
    def find(*runs):
        return near_misses(measure(*runs), {run.id: run for run in runs}, {run.id: scale for run in runs})

    return find


@pytest.fixture
def corner(wall):
    """Two walls of a room at a right angle, so far apart along the first; picks are good to 0.5 mm, ends meet to 2."""

    def make(gap, *, room="R", ends=("free", "free"), **more):
        return [
            wall([(0, 0), (5, 0)], id="a", room="R", face="right"),
            wall([(5 + gap, 0), (5 + gap, 4)], id="b", room=room, face="right", ends=ends, **more),
        ]

    return make


def test_ends_that_meet_make_a_corner_and_nothing_is_told(corner, found, figures):
    assert found(*corner(0.001)) == ()
    assert figures(*corner(0.001)).inside_corners == 1


@pytest.mark.parametrize("gap", [0.01, 0.05, 0.2])
def test_a_gap_that_nobody_walks_through_is_told_with_its_width(corner, found, figures, gap):
    # by hand: the corner is lost, and two ends of 3 m more become terminations
    assert (figures(*corner(gap)).inside_corners, figures(*corner(gap)).end_length) == (0, 12.0)
    (miss,) = found(*corner(gap))
    assert (miss.run, miss.other) == ("a", "b")
    assert miss.gap == pytest.approx(gap)


def test_a_way_through_another_room_and_an_end_that_abuts_are_left_alone(corner, found, wall):
    assert found(*corner(0.9)) == ()
    assert found(*corner(0.05, room="S")) == ()
    assert found(*corner(0.05, base=3.2, height=4.0)) == ()
    first, second = corner(0.05, ends=("abut", "abut"))
    assert found(wall([(0, 0), (5, 0)], id="a", room="R", ends=("free", "abut")), second) == ()
    assert len(found(first, second)) == 1


def test_a_partition_that_stops_short_of_a_wall_is_told_and_one_that_reaches_it_is_not(wall, found):
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    walls = wall(room, id="walls", closed=True, room="R")
    thin = wall([(3, 0.0), (3, 2)], id="stub", room="R")
    assert found(walls, thin) == ()
    short = wall([(3, 0.03), (3, 2)], id="stub", room="R")
    assert found(walls, short) == (NearMiss(run="stub", other="walls", gap=pytest.approx(0.03)),)
