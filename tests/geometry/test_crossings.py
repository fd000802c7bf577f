from itertools import combinations, pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from takeoff.geometry.crossings import crossing_segments
from takeoff.geometry.paths import Path

SQUARE = Path(((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)), (0.0,) * 4, True)


def straight(*points, closed=False):
    return Path(tuple(points), (0.0,) * (len(points) if closed else len(points) - 1), closed)


@pytest.mark.parametrize(
    ("path", "pair"),
    [
        (SQUARE, None),
        (straight((0, 0), (4, 4), (4, 0), (0, 4), closed=True), (0, 2)),
        (straight((0, 0), (6, 0), (6, 3), (3, 3), (3, -2)), (0, 3)),
        (straight((0, 0), (6, 0), (6, 3), (3, 3), (3, 0)), None),  # its end stands on the first segment
        (straight((0, 0), (4, 0), (2, 0)), None),  # back along itself, which is no crossing
        (Path(((0, 0), (4, 0), (4, -1), (0, -1)), (-1.0, 0.0, 0.0, 0.0), True), (0, 2)),
        (Path(((0, 0), (4, 0), (4, 1), (0, 1)), (-1.0, 0.0, 0.0, 0.0), True), None),
        (Path(((0, 0), (2, 0)), (1.0, 1.0), True), None),
        # through a vertex, and through one that both passes share
        (straight((0, 0), (4, 0), (4, 2), (2, 2), (2, 0), (2, -2)), (0, 4)),
        (straight((0, 0), (2, 2), (4, 4), (4, 0), (2, 2), (0, 4), closed=True), (1, 4)),
        # a pinch: both passes meet in a vertex and part on the same side
        (straight((0, 0), (2, 2), (4, 0), (4, 4), (2, 2), (0, 4), closed=True), None),
        (straight((0, 0), (6, 0), (6, 3), (3, 0), (0, 3), closed=True), None),
    ],
)
def test_crossing_segments_are_found_and_touching_ones_are_not(path, pair):
    assert crossing_segments(path, sag=0.002) == pair


def test_end_that_overshoots_within_reach_only_touches():
    path = straight((0, 0), (6, 0), (6, 3), (3, 3), (3, -0.01))
    assert crossing_segments(path, sag=0.002) == (0, 3)
    assert crossing_segments(path, sag=0.002, reach=0.02) is None


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=4, max_size=8, unique=True))
def test_crossings_agree_with_an_independent_library(points):
    # Shapely (GEOS): two chords that cross inside both are a crossing; a simple ring has none.
    pair = crossing_segments(straight(*points, closed=True), sag=0.001)
    chords = [shapely.LineString(ends) for ends in pairwise([*points, points[0]])]
    if any(one.crosses(two) for one, two in combinations(chords, 2)):
        assert pair is not None
    if shapely.LinearRing(points).is_simple:
        assert pair is None


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=4, max_size=8, unique=True))
def test_chain_walked_backwards_crosses_itself_or_not_alike(points):
    forward = crossing_segments(straight(*points), sag=0.001)
    backward = crossing_segments(straight(*points[::-1]), sag=0.001)
    assert (forward is None) == (backward is None)
