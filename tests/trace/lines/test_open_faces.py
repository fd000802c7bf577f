"""A face of a wall with a break in it: the walls that hang on it are read all the same, their openings stay open."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely

from takeoff.trace.lines.open_faces import lines_across
from tests.trace.ink import Pen
from tests.trace.lines.test_limits import walls_of
from tests.trace.lines.test_plan_rooms import DOOR, M_PER_PT, OUTER, PEN, WINDOW, door, drawn, names, window

WALLS = shapely.get_parts(OUTER.difference(DOOR | WINDOW)).tolist()


def broken(*breaks):
    """Draw the walls line by line, what lies in the breaks left out."""

    def draw(ink):
        for part in WALLS:
            for ring in (part.exterior, *part.interiors):
                for a, b in pairwise(ring.coords):
                    left = shapely.LineString([a, b]).difference(shapely.union_all(breaks))
                    for line in shapely.get_parts(left).tolist():
                        ink.line(*line.coords, "0", PEN)

    return draw


@pytest.mark.parametrize("at", [(0.2, 2.0), (5.2, 3.0), (3.0, 4.2), (0.0, 2.2)])
def test_a_break_in_one_face_loses_no_wall_and_no_opening(at):
    """By hand: 5 × 4 = 20 m², the door 900 mm and the window 1500 mm wide, wherever 100 mm of one face are missing."""
    plan = drawn(broken(shapely.Point(at).buffer(0.05, cap_style="square")), door, window, names)
    rooms = {room.name: room for room in plan.rooms}
    assert rooms["STORE"].area == pytest.approx(20.0, abs=0.02)
    assert sorted(round(o.width, 2) for o in rooms["STORE"].openings) == [0.9, 1.5]
    assert rooms["OFFICE"].area == pytest.approx(3.8 * 4.0, abs=0.02)


def test_trees_in_one_pen_that_cover_more_ground_are_not_the_walls():
    """Names tell: those round which most of them stand are walls, though a garden's trees cover more."""

    def trees(ink):
        for k in range(40):
            x, y = 1.0 + 1.1 * (k % 10), 6.0 + 1.1 * (k // 10)
            for i in range(24):
                turn = i * math.pi / 12
                ink.line((x, y), (x + 0.8 * math.cos(turn), y + 0.8 * math.sin(turn)), "0", Pen(1.4))

    def labels(ink):
        names(ink)
        for i, name in enumerate(("PANTRY", "HALL", "LARDER")):
            ink.text((1.5, 1.0 + 0.5 * i), name, 8, "0")
        for i, name in enumerate(("LAWN", "ORCHARD", "ROSES")):
            ink.text((2.0 + 3 * i, 7.0), name, 8, "0")

    walls = walls_of(broken(), trees, labels)
    assert walls.material.area * M_PER_PT**2 == pytest.approx(sum(part.area for part in WALLS), rel=0.01)


NOTHING = shapely.Polygon()


def across(*lines, found=NOTHING) -> list[tuple[float, ...]]:
    """Return what closes lines that are given in metres."""
    given = np.array([[*a, *b] for a, b in lines], float)
    rows = lines_across(given, [found], thin=0.055, thick=0.65, metre=1.0)
    return sorted(tuple(np.round(row, 3).tolist()) for row in rows)


def faces(thickness, length=6.0, at=0.0):
    return ((0.0, at), (length, at)), ((0.0, at + thickness), (length, at + thickness))


def test_two_faces_are_closed_where_their_overlap_ends():
    """By hand: from 1 to 6 m, 0.15 m apart; each of the two lines gives both ends."""
    a, b = ((0.0, 0.0), (6.0, 0.0)), ((1.0, 0.15), (8.0, 0.15))
    ends = {(1.0, 0.0, 1.0, 0.15), (6.0, 0.0, 6.0, 0.15), (1.0, 0.15, 1.0, 0.0), (6.0, 0.15, 6.0, 0.0)}
    assert set(across(a, b)) == ends


@pytest.mark.parametrize(("apart", "count"), [(0.05, 0), (0.06, 4), (0.6, 4), (0.7, 0)])
def test_faces_are_as_far_apart_as_walls_are_thick(apart, count):
    assert len(across(*faces(apart))) == count


@pytest.mark.parametrize(("length", "count"), [(0.33, 4), (0.48, 8)])
def test_short_faces_are_jambs(length, count):
    """Beside a wall of 6 m as thick, which is closed by 4 lines."""
    assert len(across(*faces(0.15), *faces(0.15, length, at=3.0))) == count


@pytest.mark.parametrize(("length", "count"), [(2.5, 0), (3.6, 4)])
def test_what_stands_once_and_is_short_is_furniture(length, count):
    assert len(across(*faces(0.15, length))) == count


@pytest.mark.parametrize(("apart", "count"), [(0.155, 8), (0.1575, 4)])
def test_another_thickness_than_the_walls_is_furniture(apart, count):
    assert len(across(*faces(0.15), *faces(apart, 1.0, at=3.0))) == count


@pytest.mark.parametrize(("length", "count"), [(4.0, 4), (6.5, 8)])
def test_a_thickness_that_a_tenth_of_all_pairs_have_is_one_of_walls(length, count):
    """By hand: 4 of 52 m is a thirteenth, 6.5 of 54.5 m an eighth."""
    assert len(across(*faces(0.15, 48.0), *faces(0.3, length, at=3.0))) == count


@pytest.mark.parametrize(("covered", "count"), [(0.6, 0), (0.4, 4)])
def test_a_face_of_a_wall_that_was_found_needs_no_partner(covered, count):
    """By hand: 6 m of faces, of which a part lies on walls found."""
    assert len(across(*faces(0.15), found=shapely.box(0.0, 0.0, 6.0 * covered, 0.15))) == count


@pytest.mark.parametrize(("length", "count"), [(0.54, 4), (0.7, 0)])
def test_what_stands_between_hides_one_face_from_the_other(length, count):
    """By hand: a tenth of 6 m is 0.6 m. A line in the middle is 0.075 m from both, which is no thickness here."""
    between = ((2.0, 0.075), (2.0 + length, 0.075))
    assert len(across(*faces(0.15), between)) == count


@pytest.mark.parametrize(("rise", "count"), [(0.0072, 4), (0.0112, 0)])
def test_faces_run_alongside(rise, count):
    """By hand: 6 m long, the sine of the angle at most 0.0015."""
    assert len(across(((0.0, 0.0), (6.0, 0.0)), ((0.0, 0.15), (6.0, 0.15 + rise)))) == count


@pytest.mark.parametrize(("apart", "count"), [(0.156, 0), (0.16, 4)])
def test_lines_in_a_row_are_treads(apart, count):
    """By hand: a third line as far on the other side, to a twentieth of 0.15 m, and as long."""
    third = ((0.0, -apart), (6.0, -apart))
    assert len(across(*faces(0.15), third)) == count


def test_a_pane_is_no_face_though_it_stands_as_far_from_one_as_a_partition_is_thick():
    """By hand: a wall 0.25 m thick with a pane of 30 mm in its middle, 0.11 m from both faces; partitions of 0.11 m."""
    window_in_wall = [((0.0, y), (3.0, y)) for y in (0.0, 0.11, 0.14, 0.25)]
    assert len(across(*window_in_wall, *faces(0.11, at=5.0))) == 4
