import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from takeoff.geometry.arcs import arc_centre, flatten_segment, segment_length, tangents, turn_between

QUARTER = math.tan(math.pi / 8)  # the bulge of a quarter circle: tan of a quarter of 90 degrees

coordinate = st.floats(-50, 50)
bulge = st.floats(0.01, 5).flatmap(lambda b: st.sampled_from([b, -b]))


def chord_ends():
    return st.tuples(coordinate, coordinate, coordinate, coordinate).filter(
        lambda c: math.hypot(c[0] - c[2], c[1] - c[3]) > 0.1
    )


def test_straight_segment_is_as_long_as_its_chord():
    assert segment_length((0, 0), (3, 4), 0.0) == 5.0


@pytest.mark.parametrize(
    ("a", "b", "value", "length"),
    [
        ((0, 0), (2, 0), 1.0, math.pi),  # half circle of radius 1
        ((0, 0), (2, 0), -1.0, math.pi),
        ((1, 0), (0, 1), QUARTER, math.pi / 2),  # quarter circle of radius 1
        ((0, 0), (0, 2), math.tan(3 * math.pi / 8), 1.5 * math.pi * math.sqrt(2)),  # 270 degrees, chord 2, radius √2
    ],
)
def test_length_of_an_arc_is_its_radius_times_its_angle(a, b, value, length):
    assert segment_length(a, b, value) == pytest.approx(length)


def test_bulge_near_zero_is_as_long_as_the_chord():
    assert segment_length((0, 0), (7, 0), 1e-12) == pytest.approx(7.0, abs=1e-12)


def test_positive_bulge_turns_counter_clockwise_as_displayed():
    # Walking right along the lowest part of a circle is counter-clockwise; y runs down, so low is a large y.
    middle = flatten_segment((0.0, 0.0), (2.0, 0.0), 1.0, 0.001)
    assert max(y for _, y in middle) == pytest.approx(1.0, abs=0.001)
    assert min(y for _, y in middle) == pytest.approx(0.0, abs=1e-9)


def test_centre_of_a_shallow_arc_lies_on_its_concave_side():
    centre, radius = arc_centre((1.0, 0.0), (0.0, 1.0), QUARTER)
    assert radius == pytest.approx(1.0)
    assert min(math.dist(centre, (0.0, 0.0)), math.dist(centre, (1.0, 1.0))) == pytest.approx(0.0, abs=1e-12)


def test_tangents_of_a_quarter_circle_are_square_to_one_another():
    start, end = tangents((1.0, 0.0), (0.0, 1.0), QUARTER)
    assert turn_between(start, end) == pytest.approx(math.pi / 2)


def test_turn_to_the_left_as_displayed_is_positive():
    assert turn_between((1.0, 0.0), (0.0, -1.0)) == pytest.approx(math.pi / 2)
    assert turn_between((1.0, 0.0), (0.0, 1.0)) == pytest.approx(-math.pi / 2)


def test_straight_segment_stays_two_points_when_flattened():
    assert flatten_segment((0, 0), (5, 5), 0.0, 0.001) == [(0, 0), (5, 5)]


@given(chord_ends(), bulge)
def test_length_agrees_with_many_short_chords_of_the_same_arc(ends, value):
    a, b = ends[:2], ends[2:]
    length = segment_length(a, b, value)
    chords = shapely.LineString(flatten_segment(a, b, value, length * 1e-6)).length
    assert chords == pytest.approx(length, rel=1e-4)
    assert chords <= length * (1 + 1e-12)


@given(chord_ends(), bulge, st.floats(0.0005, 0.05))
def test_flattened_points_lie_on_the_circle_and_chords_leave_it_by_the_tolerance_at_most(ends, value, tolerance):
    a, b = ends[:2], ends[2:]
    centre, radius = arc_centre(a, b, value)
    points = flatten_segment(a, b, value, tolerance)
    assert points[0] == a
    assert points[-1] == b
    for p, q in pairwise(points):
        assert math.dist(p, centre) == pytest.approx(radius, rel=1e-9)
        middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        assert radius - math.dist(middle, centre) <= tolerance * (1 + 1e-6) + 1e-9 * radius


@given(chord_ends(), bulge)
def test_arc_turns_by_four_times_the_angle_of_its_bulge(ends, value):
    start, end = tangents(ends[:2], ends[2:], value)
    turned = 4 * math.atan(value)
    assert math.remainder(turn_between(start, end) - turned, 2 * math.pi) == pytest.approx(0.0, abs=1e-9)
    assert math.hypot(*start) == pytest.approx(1.0)


@given(chord_ends(), bulge)
def test_arc_walked_backwards_has_the_same_length_and_centre(ends, value):
    a, b = ends[:2], ends[2:]
    assert segment_length(b, a, -value) == pytest.approx(segment_length(a, b, value))
    (x, y), radius = arc_centre(a, b, value)
    back, same = arc_centre(b, a, -value)
    assert same == pytest.approx(radius)
    assert back == (pytest.approx(x, abs=1e-6), pytest.approx(y, abs=1e-6))
