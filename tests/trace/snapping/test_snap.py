"""A picked point snaps to what it most likely means, and the index finds what lies near."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.trace.drawing.curves import arc_of_curve, chains_to_arcs
from takeoff.trace.snapping.snap import SegmentIndex, snap

CROSS = np.array([[0.0, 50.0, 100.0, 50.0], [60.0, 0.0, 60.0, 90.0]])
coordinates = st.integers(0, 200_000).map(lambda n: n / 1000)
places = st.tuples(coordinates, coordinates)


@pytest.fixture
def cross():
    return SegmentIndex.of(CROSS)


def test_near_the_end_of_a_line_it_is_the_end(cross):
    found = snap(cross, (98.0, 51.0), 5.0)
    assert (found.kind, found.point_pt, found.rows) == ("end", (100.0, 50.0), (0,))


def test_near_two_lines_it_is_their_crossing(cross):
    found = snap(cross, (62.0, 48.0), 5.0)
    assert (found.kind, found.point_pt, set(found.rows)) == ("crossing", (60.0, 50.0), {0, 1})


def test_near_the_middle_of_a_line_it_is_the_middle(cross):
    found = snap(cross, (50.0, 52.0), 5.0)
    assert (found.kind, found.point_pt) == ("middle", (50.0, 50.0))


def test_a_line_drawn_to_a_wall_snaps_square_to_it(cross):
    found = snap(cross, (21.0, 52.0), 5.0, from_point=(20.0, 10.0))
    assert (found.kind, found.point_pt) == ("perpendicular", (20.0, 50.0))


def test_elsewhere_it_is_the_nearest_place_along_the_line(cross):
    found = snap(cross, (21.0, 52.0), 5.0)
    assert (found.kind, found.point_pt) == ("along", (21.0, 50.0))
    assert found.distance_pt == pytest.approx(2.0)


def test_a_kind_that_is_not_wanted_is_passed_over(cross):
    assert snap(cross, (98.0, 51.0), 5.0, kinds=("along",)).kind == "along"
    assert snap(cross, (98.0, 51.0), 5.0, kinds=("middle",)) is None


def test_out_of_reach_there_is_nothing(cross):
    assert snap(cross, (20.0, 80.0), 5.0) is None


def test_an_empty_sheet_has_nothing_to_snap_to():
    index = SegmentIndex.of(np.zeros((0, 4)))
    assert snap(index, (0.0, 0.0), 10.0) is None


@settings(deadline=None, max_examples=30)
@given(st.lists(st.tuples(places, places), min_size=1, max_size=30), places)
def test_the_nearest_segment_is_the_nearest_of_all(pairs, point):
    """Measured again by stepping along every segment, which the index does not do."""
    segments = np.array([(*a, *b) for a, b in pairs])
    found = snap(SegmentIndex.of(segments), point, 1000.0, kinds=("along",))
    steps = np.linspace(0, 1, 401)
    along = segments[:, None, :2] + steps[None, :, None] * (segments[:, None, 2:] - segments[:, None, :2])
    stepped = np.hypot(*(along - np.array(point)).transpose(2, 0, 1)).min()
    assert found.distance_pt == pytest.approx(stepped, abs=1.0)
    assert found.distance_pt <= stepped + 1e-9


@settings(deadline=None, max_examples=30)
@given(st.lists(st.tuples(places, places), min_size=1, max_size=20), places, st.floats(1, 60))
def test_a_snap_lies_on_its_segments_and_within_reach(pairs, point, radius):
    segments = np.array([(*a, *b) for a, b in pairs])
    found = snap(SegmentIndex.of(segments), point, radius)
    if found is None:
        return
    assert found.distance_pt <= radius + 1e-9
    assert math.dist(found.point_pt, point) == pytest.approx(found.distance_pt)
    assert snap(SegmentIndex.of(segments[list(found.rows)]), found.point_pt, 1e-3) is not None


def test_the_usual_curve_of_a_quarter_circle_is_an_arc():
    """Control distance 4/3 (√2 − 1) of the radius: common knowledge, no source."""
    k = 4 / 3 * (math.sqrt(2) - 1)
    assert arc_of_curve(((1, 0), (1, k), (k, 1), (0, 1))) == pytest.approx(-math.tan(math.pi / 8), abs=1e-6)
    assert arc_of_curve(((0, 0), (1, 0), (2, 3), (5, 3))) is None


@pytest.mark.parametrize("count", [6, 16, 40])
def test_a_door_swing_drawn_as_chords_is_read_as_its_arc(count):
    angles = np.linspace(0, math.pi / 2, count + 1)
    points = np.column_stack([10 + 30 * np.cos(angles), 20 + 30 * np.sin(angles)])  # clockwise as displayed
    lines = np.concatenate([np.column_stack([points[:-1], points[1:]]), [[0.0, 0.0, 50.0, 0.0]]])
    stays, arcs, _ = chains_to_arcs(lines, np.zeros(len(lines), np.int64), np.zeros(len(lines), np.int64))
    assert stays.tolist() == [False] * count + [True]
    assert arcs[0] == pytest.approx([40, 20, 10, 50, -math.tan(math.pi / 8)])


def test_a_square_is_no_arc():
    lines = np.array([[0.0, 0, 9, 0], [9, 0, 9, 9], [9, 9, 0, 9], [0, 9, 0, 0]])
    stays, arcs, _ = chains_to_arcs(lines, np.zeros(4, np.int64), np.zeros(len(lines), np.int64))
    assert stays.all()
    assert len(arcs) == 0


def test_the_end_of_a_dimension_is_where_its_line_crosses_the_tick_not_the_ticks_free_end() -> None:
    # a line that overshoots by 3 points, its extension line and a 45° tick, all through (100, 100)
    index = SegmentIndex.of(
        np.array([[97.0, 100.0, 300.0, 100.0], [100.0, 90.0, 100.0, 110.0], [97.0, 103.0, 103.0, 97.0]])
    )
    pick = (98.0, 102.2)
    free, marked = snap(index, pick, 6.0), snap(index, pick, 6.0, at_marks=True)
    assert free is not None
    assert marked is not None
    assert (free.kind, free.point_pt) == ("end", (97.0, 103.0))
    assert (marked.kind, marked.point_pt) == ("crossing", (100.0, 100.0))


def test_an_end_still_counts_for_a_dimension_where_no_lines_cross() -> None:
    index = SegmentIndex.of(np.array([[97.0, 100.0, 300.0, 100.0]]))
    found = snap(index, (98.0, 101.0), 6.0, at_marks=True)
    assert found is not None
    assert (found.kind, found.point_pt) == ("end", (97.0, 100.0))


@pytest.mark.parametrize(("count", "is_found"), [(68, True), (92, False)])
def test_in_a_hatch_the_nearest_lines_alone_are_looked_at(count, is_found):
    """Lines beside the point, one after another, and beyond them two that cross: with more than 78 they are too far."""
    hatch = [[i / 1000, -50.0, i / 1000, 50.0] for i in range(count)]
    crossing = [[1.0, -50.0, 1.0, 50.0], [0.9, 2.0, 1.1, -2.0]]
    found = snap(SegmentIndex.of(np.array(hatch + crossing)), (0.0, 0.0), 1.5, kinds=("crossing",))
    assert (found is not None) == is_found
