"""Points at stations and stations of points, on straight lines and arcs."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from takeoff.geometry.arcs import segment_length
from takeoff.geometry.nearest import nearest_station, part_nearest, point_at, point_on_segment, split_bulge
from takeoff.geometry.paths import Path

coordinate = st.floats(-50, 50).map(lambda v: round(v, 3))
points = st.tuples(coordinate, coordinate)
bulges = st.one_of(st.just(0.0), st.floats(0.05, 2.0), st.floats(-2.0, -0.05))


def apart(a, b):
    return math.dist(a, b) > 0.5


@given(points, points.filter(lambda p: True), bulges, st.floats(0.0, 1.0))
def test_the_part_of_a_point_on_a_segment_is_found_again(a, b, bulge, part):
    if not apart(a, b):
        return
    at = point_on_segment(a, b, bulge, part)
    found = part_nearest(a, b, bulge, at)
    assert math.dist(point_on_segment(a, b, bulge, found), at) < 1e-6


@given(points, points, bulges, st.floats(0.1, 0.9))
def test_the_pieces_of_a_split_arc_are_as_long_as_the_whole(a, b, bulge, part):
    if not apart(a, b) or bulge == 0.0:
        return
    middle = point_on_segment(a, b, bulge, part)
    first, second = split_bulge(bulge, part)
    whole = segment_length(a, b, bulge)
    assert math.isclose(segment_length(a, middle, first), part * whole, rel_tol=1e-9)
    assert math.isclose(segment_length(middle, b, second), (1 - part) * whole, rel_tol=1e-9)


@given(points, points, bulges, points)
def test_no_sampled_point_of_a_segment_is_nearer_than_the_nearest(a, b, bulge, point):
    if not apart(a, b):
        return
    away = math.dist(point_on_segment(a, b, bulge, part_nearest(a, b, bulge, point)), point)
    sampled = min(math.dist(point_on_segment(a, b, bulge, i / 200), point) for i in range(201))
    assert away <= sampled + 1e-9


def test_a_station_beyond_the_end_is_the_end():
    path = Path(((0.0, 0.0), (4.0, 0.0), (4.0, 3.0)), (0.0, 0.0), False)
    assert point_at(path, 99.0) == (4.0, 3.0)
    assert point_at(path, 5.0) == (4.0, 1.0)


def test_the_nearest_station_of_a_corner_path_is_on_its_second_wall():
    path = Path(((0.0, 0.0), (4.0, 0.0), (4.0, 3.0)), (0.0, 0.0), False)
    station, segment, away = nearest_station(path, (5.0, 2.0))
    assert (station, segment, away) == (6.0, 1, 1.0)
