import math

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from takeoff.errors import GeometryError
from takeoff.geometry.arcs import arc_centre, segment_length
from takeoff.geometry.paths import (
    Path,
    carry_station,
    nearest_station,
    offset_path,
    part_nearest,
    point_at,
    point_on_segment,
    split_bulge,
)

QUARTER = math.tan(math.pi / 8)
SQUARE = Path(((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)), (0.0,) * 4, True)


def straight(*points, closed=False):
    return Path(tuple(points), (0.0,) * (len(points) if closed else len(points) - 1), closed)


def test_stations_run_from_nothing_to_the_whole_length():
    assert straight((0, 0), (3, 4), (3, 10)).stations() == (0.0, 5.0, 11.0)
    assert SQUARE.stations() == (0.0, 4.0, 8.0, 12.0, 16.0)


def test_open_chain_has_no_turn_at_its_ends():
    assert straight((0, 0), (4, 0), (4, 4)).turns() == [0.0, pytest.approx(-math.pi / 2), 0.0]


def test_smooth_joint_of_line_and_arc_has_no_turn():
    # A line to the right, then a quarter circle that turns up the page, then a line up.
    path = Path(((0, 0), (2, 0), (3, -1), (3, -4)), (0.0, QUARTER, 0.0), False)
    assert path.turns() == [pytest.approx(0.0, abs=1e-12)] * 4
    assert path.stations()[-1] == pytest.approx(5 + math.pi / 2)


def test_full_circle_of_two_half_circles_has_its_circumference():
    assert Path(((0, 0), (2, 0)), (1.0, 1.0), True).stations()[-1] == pytest.approx(2 * math.pi)


def test_faces_of_a_thick_wall_round_a_square_differ_by_eight_half_thicknesses():
    # Sides of 4 m, wall 0.2 m thick: outside 4 x 4.2, inside 4 x 3.8.
    assert offset_path(SQUARE, 0.1).stations()[-1] == pytest.approx(16.8)
    assert offset_path(SQUARE, -0.1).stations()[-1] == pytest.approx(15.2)


def test_faces_of_an_l_shaped_wall_differ_by_twice_the_thickness():
    path = straight((0, 0), (5, 0), (5, 3))  # turns right as displayed
    assert offset_path(path, 0.1).stations()[-1] == pytest.approx(8.2)
    assert offset_path(path, -0.1).stations()[-1] == pytest.approx(7.8)


def test_offset_of_an_arc_is_an_arc_about_the_same_centre():
    path = Path(((5.0, 0.0), (0.0, 5.0)), (-QUARTER,), False)
    centre, radius = arc_centre(*path.segments()[0])
    for distance in (0.3, -0.3):
        moved = offset_path(path, distance)
        same, other = arc_centre(*moved.segments()[0])
        assert same == (pytest.approx(centre[0], abs=1e-9), pytest.approx(centre[1], abs=1e-9))
        assert abs(other - radius) == pytest.approx(0.3)
        assert moved.stations()[-1] == pytest.approx(other * math.pi / 2)


def test_both_faces_of_a_curved_wall_differ_by_angle_times_thickness():
    path = Path(((5.0, 0.0), (0.0, 5.0)), (QUARTER,), False)
    outer, inner = offset_path(path, -0.15).stations()[-1], offset_path(path, 0.15).stations()[-1]
    assert outer - inner == pytest.approx(0.3 * math.pi / 2)


def test_offset_by_nothing_is_the_chain_itself():
    assert offset_path(SQUARE, 0.0) is SQUARE


@pytest.mark.parametrize(
    ("path", "distance", "reason"),
    [
        (straight((0, 0), (4, 0), (1, 0)), 0.1, "turns back"),
        (SQUARE, -2.5, "shorter than the wall's thickness"),
        (straight((0, 0), (3, 0), (3, 0.2), (6, 0.2)), 0.5, None),
        (Path(((0, 0), (2, 0)), (1.0,), False), 1.5, "no radius left"),
        # A quarter circle of radius 1 between two walls that meet its ends at right angles: 0.9 m in there is none.
        (Path(((0, 5), (0, 0), (1, -1), (6, -1)), (0.0, -0.05, 0.0), False), -4.0, "thickness"),
    ],
)
def test_offset_that_leaves_no_face_is_refused(path, distance, reason):
    if reason is None:
        assert offset_path(path, distance).stations()[-1] == pytest.approx(6.2)  # a small step is kept
        return
    with pytest.raises(GeometryError, match=reason):
        offset_path(path, distance)


def test_point_square_to_a_station_keeps_its_place_on_the_other_face():
    path = straight((0, 0), (5, 0), (5, 3))
    face = offset_path(path, 0.1)
    # Left of a line to the right is up the page; the outer face starts at x = 0 too, so 2 m stays 2 m.
    assert carry_station(path, face, 0, 2.0, stations=path.stations()) == pytest.approx(2.0)
    # On the second segment the outer face starts 0.1 m before the vertex.
    assert carry_station(path, face, 1, 6.0, stations=path.stations()) == pytest.approx(1.1)


def test_station_on_an_arc_is_carried_along_its_radius():
    path = Path(((5.0, 0.0), (0.0, 5.0)), (-QUARTER,), False)
    face = offset_path(path, 0.5)
    half = path.stations()[-1] / 2
    assert carry_station(path, face, 0, half, stations=path.stations()) == pytest.approx(face.stations()[-1] / 2)


@st.composite
def stars(draw):
    """Simple closed polygons round the origin, counter-clockwise as displayed."""
    count = draw(st.integers(3, 8))
    steps = draw(st.lists(st.floats(0.5, 1.0), min_size=count, max_size=count))
    radii = draw(st.lists(st.floats(4.0, 9.0), min_size=count, max_size=count))
    angles = [2 * math.pi * math.fsum(steps[: i + 1]) / math.fsum(steps) for i in range(count)]
    return tuple((r * math.cos(a), -r * math.sin(a)) for r, a in zip(radii, angles, strict=True))


@given(stars())
def test_turning_of_a_simple_closed_chain_sums_to_one_round(points):
    assert math.fsum(straight(*points, closed=True).turns()) == pytest.approx(2 * math.pi)
    assert math.fsum(straight(*points[::-1], closed=True).turns()) == pytest.approx(-2 * math.pi)


@given(stars(), st.lists(st.floats(-0.2, 0.2), min_size=8, max_size=8))
def test_turning_of_corners_and_arcs_together_sums_to_one_round(points, bulges):
    path = Path(points, tuple(bulges[: len(points)]), True)
    assume(shapely.LinearRing(path.flattened(0.001)[:-1]).is_simple)
    assert math.fsum(path.turns()) + math.fsum(4 * math.atan(b) for b in path.bulges) == pytest.approx(2 * math.pi)


@settings(max_examples=60)
@given(stars(), st.floats(0.02, 0.3), st.booleans())
def test_offset_agrees_with_the_mitred_buffer_of_an_independent_library(points, distance, outwards):
    # Shapely (GEOS) buffers with mitred joints; the left hand of a counter-clockwise walker is inside.
    path = straight(*points, closed=True)
    polygon = shapely.Polygon(points)
    by = distance if outwards else -distance
    expected = polygon.buffer(by, join_style="mitre", mitre_limit=1e6)
    assume(expected.geom_type == "Polygon" and len(expected.exterior.coords) == len(points) + 1)
    found = offset_path(path, -by)
    assert found.stations()[-1] == pytest.approx(expected.exterior.length, rel=1e-9)
    assert shapely.Polygon(found.points).area == pytest.approx(expected.area, rel=1e-9)


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
