import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.geometry.intervals import overlap, total, without

# Whole numbers: membership can be told half-way between them.
cut = st.tuples(st.integers(-2, 12), st.integers(-2, 12)).map(lambda c: (min(c), max(c)))
cuts = st.lists(cut, max_size=6)


def held(intervals):
    return {k for k in range(-3, 13) if any(a <= k + 0.5 <= b for a, b in intervals)}


@pytest.mark.parametrize(
    ("taken", "left"),
    [
        ([], [(0, 10)]),
        ([(2, 3)], [(0, 2), (3, 10)]),
        ([(5, 7), (1, 2)], [(0, 1), (2, 5), (7, 10)]),
        ([(1, 4), (3, 6)], [(0, 1), (6, 10)]),
        ([(-1, 11)], []),
        ([(0, 10)], []),
        ([(0, 4), (4, 10)], []),
        ([(11, 12), (-3, -2)], [(0, 10)]),
        ([(3, 3)], [(0, 3), (3, 10)]),
    ],
)
def test_subtract_leaves_what_no_cut_takes(taken, left):
    assert without([(0, 10)], taken) == left


def test_subtract_from_nothing_leaves_nothing():
    assert without([(0.0, 2.0)], [(0.0, 2.0)]) == []


def test_overlap_of_touching_intervals_is_empty():
    assert overlap([(0, 2)], [(2, 4)]) == []


def test_total_of_nothing_is_zero():
    assert total([]) == 0


@given(cuts)
def test_subtract_keeps_exactly_the_points_outside_the_cuts(taken):
    left = without([(0, 10)], taken)
    assert held(left) == held([(0, 10)]) - held(taken)
    assert total(left) == len(held(left))


@given(cuts, cuts)
def test_overlap_holds_exactly_the_points_in_both(first, second):
    one, two = without([(0, 10)], first), without([(0, 10)], second)
    assert held(overlap(one, two)) == held(one) & held(two)
    assert sorted(overlap(one, two)) == sorted(overlap(two, one))
