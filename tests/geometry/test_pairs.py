"""Neighbours and groups agree with the plain definition: every pair tried, every link followed."""

import math
import random
import tracemalloc
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.geometry import pairs
from takeoff.geometry.pairs import are_within, linked_groups, near_pairs, nearest_within, pairs_within

sizes = st.integers(0, 40)
seeds = st.integers(0, 2**32 - 1)


@given(seeds, sizes, sizes, st.integers(2, 5), st.floats(0.01, 0.5))
def test_pairs_are_those_that_a_try_of_every_pair_finds(seed, n, m, d, reach):
    rng = np.random.default_rng(seed)
    first, second = rng.random((n, d)), rng.random((m, d))
    distance = np.linalg.norm(first[:, None] - second[None], axis=2)
    a, b, off = pairs_within(first, second, reach)
    assert list(zip(a.tolist(), b.tolist(), strict=True)) == list(map(tuple, np.argwhere(distance <= reach).tolist()))
    assert np.allclose(off, distance[a, b])
    assert np.array_equal(are_within(first, second, reach), (distance <= reach).any(axis=1))


def test_rows_are_looked_up_part_by_part(monkeypatch):
    rng = np.random.default_rng(1)
    first, second = rng.random((50, 3)), rng.random((40, 3))
    whole = pairs_within(first, second, 0.4)
    monkeypatch.setattr(pairs, "AT_ONCE", 7)
    assert all(map(np.array_equal, pairs_within(first, second, 0.4), whole))


def test_thousands_of_short_lines_on_one_another_are_told_within_the_memory_of_a_part():
    lines = np.tile([0.0, 0.0, 0.1, 0.1], (5_000, 1))
    tracemalloc.start()
    assert are_within(lines, lines, 0.8).all()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 600_000_000  # every pair of them at once is 25,000,000 times 4 coordinates and 2 rows


@given(seeds, sizes, sizes, st.floats(0.01, 0.5))
def test_the_nearest_is_that_of_the_smallest_distance(seed, n, m, reach):
    rng = np.random.default_rng(seed)
    first, second = rng.random((n, 4)), rng.random((m, 4))
    off, row = nearest_within(first, second, reach)
    distance = np.linalg.norm(first[:, None] - second[None], axis=2)
    for i in range(n):
        if m and distance[i].min() <= reach:
            assert row[i] == distance[i].argmin()
            assert np.isclose(off[i], distance[i].min())
        else:
            assert row[i] == -1
            assert np.isinf(off[i])


@given(seeds, st.integers(1, 60), st.integers(0, 80))
def test_groups_are_the_connected_components(seed, count, links):
    rng = np.random.default_rng(seed)
    a, b = rng.integers(0, count, links), rng.integers(0, count, links)
    beside = {i: set() for i in range(count)}
    for i, j in zip(a.tolist(), b.tolist(), strict=True):
        beside[i].add(j)
        beside[j].add(i)
    expected = [-1] * count
    number = 0
    for start in range(count):
        if expected[start] < 0:
            waiting = [start]
            while waiting:
                here = waiting.pop()
                if expected[here] < 0:
                    expected[here] = number
                    waiting.extend(beside[here])
            number += 1
    assert linked_groups(count, a, b).tolist() == expected


def test_a_long_chain_is_one_group():
    a = np.arange(9_999)
    assert linked_groups(10_000, a, a + 1).max() == 0


REACH = 0.5


def each_with_each(at: np.ndarray) -> list[tuple[int, int]]:
    near = [(math.dist(at[i], at[j]), i, j) for i, j in combinations(range(len(at)), 2)]
    return [(i, j) for gap, i, j in sorted(near) if gap <= REACH]


@pytest.mark.parametrize("seed", range(5))
def test_pairs_are_those_of_each_with_each_nearest_first(seed):
    luck = random.Random(seed)
    at = np.array([(luck.randint(0, 40) / 4.0, luck.randint(0, 40) / 4.0) for _ in range(150)])
    found = near_pairs(at, REACH)
    assert sorted(map(tuple, found.tolist())) == sorted(each_with_each(at))
    gaps = [math.dist(at[i], at[j]) for i, j in found]
    assert gaps == sorted(gaps)
