import random
import time
from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.system.coarse import COARSE, coarse_bound, coarse_packing, dive
from takeoff.system.filling import first_fit

CAPACITY = 20 * COARSE + 7


def sized(pieces):
    counts = Counter(pieces)
    sizes = sorted(counts, reverse=True)
    return sizes, [counts[size] for size in sizes]


def soon():
    return time.monotonic() + 20.0


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(1, CAPACITY), min_size=1, max_size=30))
def test_bound_in_a_coarser_unit_stays_under_a_packing_that_holds_every_piece(pieces):
    sizes, demand = sized(pieces)
    rows = coarse_packing(sizes, demand, CAPACITY, deadline=soon())
    assert [sum(column) for column in zip(*rows, strict=True)] == demand
    assert all(sum(n * size for n, size in zip(row, sizes, strict=True)) <= CAPACITY for row in rows)
    assert coarse_bound(sizes, demand, CAPACITY, deadline=soon()) <= len(rows)


def test_rounding_may_lower_the_bound_but_never_lifts_it():
    # Two pieces of half a length and a unit: no length holds both, which rounded down they seem to.
    half = CAPACITY // 2 + 1
    assert coarse_bound([half], [2], CAPACITY, deadline=soon()) in (1, 2)
    assert coarse_bound([CAPACITY * 2 // 3], [3], CAPACITY, deadline=soon()) == 3


def test_dive_finds_the_halves_and_thirds_that_go_together():
    # By hand: 6 + 4 three times and 5 + 5 twice fill lengths of 10.
    assert sorted(dive([6, 5, 4], [3, 4, 3], 10, deadline=soon())) == sorted([(1, 0, 1)] * 3 + [(0, 2, 0)] * 2)


def test_dive_without_time_packs_what_is_there_all_the_same():
    draw = random.Random(1)
    sizes, demand = sized([draw.randint(100, 400) for _ in range(40)])
    rows = dive(sizes, demand, 1000, deadline=time.monotonic())
    assert [sum(column) for column in zip(*rows, strict=True)] == demand
    assert len(rows) <= len(first_fit(sizes, demand, 1000)) + 1
