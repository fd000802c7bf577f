import itertools
import json
import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.system.packing import first_fit, full_patterns, lower_bound, pack

U120 = json.loads((Path(__file__).parents[1] / "cases" / "packing.json").read_text())["u120_00"]


def triplets(count, *, seed, capacity=1000):
    """Build the triplet class of Falkenauer (1996): three pieces fill each stock length, so n/3 is the optimum.

    The first piece is from 380 to 490 of 1000, the second from 250 up to half of what is left, the third the rest.
    """
    draw = random.Random(seed)
    sizes = []
    for _ in range(count):
        first = draw.randint(380, 490)
        second = draw.randint(250, (capacity - first) // 2)
        sizes += [first, second, capacity - first - second]
    return sizes


def fewest(sizes, capacity):
    """Try every way to put each piece into an open length or a new one."""
    best = len(sizes)

    def place(at, left):
        nonlocal best
        if len(left) >= best:
            return
        if at == len(sizes):
            best = len(left)
            return
        for i, room in enumerate(left):
            if room >= sizes[at]:
                place(at + 1, (*left[:i], room - sizes[at], *left[i + 1 :]))
        place(at + 1, (*left, capacity - sizes[at]))

    place(0, ())
    return best


def is_packing(found, sizes, capacity):
    indices = sorted(itertools.chain.from_iterable(found.bins))
    return indices == list(range(len(sizes))) and all(sum(sizes[i] for i in row) <= capacity for row in found.bins)


@pytest.mark.long
def test_falkenauer_u120_00_is_packed_into_its_published_optimum_and_proven():
    found = pack(U120["sizes"], U120["capacity"], effort=20.0)
    assert is_packing(found, U120["sizes"], U120["capacity"])
    assert (len(found.bins), found.lower_bound) == (U120["optimum"], U120["optimum"])
    assert found.first_fit > U120["optimum"]


@pytest.mark.parametrize("seed", [0, 1])
def test_triplets_of_60_pieces_are_packed_into_20_where_first_fit_takes_more(seed):
    sizes = triplets(20, seed=seed)
    found = pack(sizes, 1000, effort=20.0)
    assert is_packing(found, sizes, 1000)
    assert (len(found.bins), found.lower_bound) == (20, 20)
    assert found.first_fit > 20


def worst_for_first_fit(count):
    """Build the class on which first-fit decreasing takes 11 for 9: Johnson, Demers, Ullman, Garey and Graham (1974).

    6 pieces over a half, 6 + 6 over a quarter and 12 under it, for each 9 stock lengths: 510 + 260 + 230 six times and
    2 × 270 + 2 × 230 three times fill 1000.
    """
    return [510] * 6 * count + [270] * 6 * count + [260] * 6 * count + [230] * 12 * count


@pytest.mark.parametrize("count", [1, 3, 10])
def test_pieces_that_are_worst_for_first_fit_decreasing_take_9_where_it_takes_11(count):
    sizes = worst_for_first_fit(count)
    found = pack(sizes, 1000)
    assert is_packing(found, sizes, 1000)
    assert (len(found.bins), found.lower_bound, found.first_fit) == (9 * count, 9 * count, 11 * count)


def test_pieces_of_two_or_three_to_a_length_are_packed_well_under_first_fit():
    # No packing is shorter than the total length; first-fit decreasing leaves a rest in nearly every length here.
    draw = random.Random(4)
    sizes = [draw.randint(115_000, 220_000) for _ in range(60)]
    found = pack(sizes, 457_200, effort=5.0)
    assert is_packing(found, sizes, 457_200)
    assert -(-sum(sizes) // 457_200) <= found.lower_bound <= len(found.bins) < found.first_fit


def test_without_effort_the_answer_of_first_fit_comes_with_its_bound():
    sizes = triplets(20, seed=0)
    found = pack(sizes, 1000, effort=0.0)
    assert is_packing(found, sizes, 1000)
    assert found.lower_bound == 20
    assert len(found.bins) <= found.first_fit


def test_bound_of_martello_and_toth_counts_pieces_that_share_no_length():
    # By hand: 6 + 6 + 6 fill no common length of 10, their total asks for two.
    assert lower_bound([6, 6, 6], 10) == 3
    assert lower_bound([4, 4, 4], 12) == 1


def test_nothing_to_cut_takes_no_length():
    assert pack([], 10).bins == ()


@settings(deadline=None, max_examples=60)
@given(st.lists(st.integers(1, 20), min_size=1, max_size=8))
def test_small_packings_are_the_fewest_that_an_exhaustive_search_finds(sizes):
    found = pack(sizes, 20, effort=5.0)
    assert is_packing(found, sizes, 20)
    assert len(found.bins) == found.lower_bound == fewest(sizes, 20)


@settings(deadline=None, max_examples=100)
@given(st.lists(st.integers(1, 100), max_size=40))
def test_bound_and_first_fit_bracket_every_packing(sizes):
    found = pack(sizes, 100, effort=0.0)
    assert is_packing(found, sizes, 100)
    assert lower_bound(sizes, 100) <= found.lower_bound <= len(found.bins) <= found.first_fit if sizes else True
    # Dosa (2007, from memory): first-fit decreasing takes at most 11/9 of the fewest and 6/9 more.
    assert found.first_fit <= 11 / 9 * len(found.bins) + 6 / 9


def test_first_fit_decreasing_puts_each_piece_into_the_first_length_that_holds_it():
    # By hand, lengths of 10: 7+3, 6+4, 5.
    assert first_fit([7, 6, 5, 4, 3], [1, 1, 1, 1, 1], 10) == [(0, 4), (1, 3), (2,)]


def test_cutting_patterns_raise_the_bound_where_total_length_and_halves_do_not():
    # By hand: two pieces of 4 fit into 10, so five take three lengths; their total asks for two.
    assert lower_bound([4] * 5, 10) == 2
    found = pack([4] * 5, 10)
    assert (len(found.bins), found.lower_bound) == (3, 3)


def every_pattern(sizes, demand, capacity):
    """List all ways to cut one length that leave no room for a further piece, by trying every one."""
    full = set()
    for row in itertools.product(*(range(n + 1) for n in demand)):
        room = capacity - sum(size * n for size, n in zip(sizes, row, strict=True))
        if room >= 0 and all(size > room or n == need for size, n, need in zip(sizes, row, demand, strict=True)):
            full.add(tuple(i for i, n in enumerate(row) for _ in range(n)))
    return full


@given(st.dictionaries(st.integers(1, 30), st.integers(1, 3), min_size=1, max_size=5))
def test_full_patterns_are_all_that_trying_every_way_finds(pieces):
    sizes = sorted(pieces, reverse=True)
    demand = [pieces[size] for size in sizes]
    found = full_patterns(sizes, demand, 30)
    assert len(found) == len(set(found))
    assert set(found) == every_pattern(sizes, demand, 30)


def test_pieces_with_too_many_ways_to_cut_them_stay_as_first_fit_packs_them():
    # 60 pieces of different lengths, 25 to a stock length: far more ways than can be listed.
    sizes = list(range(1_000, 1_060))
    assert full_patterns(sizes[::-1], [1] * 60, 26_000) is None
    found = pack(sizes, 26_000)
    assert is_packing(found, sizes, 26_000)
    assert len(found.bins) == found.first_fit
