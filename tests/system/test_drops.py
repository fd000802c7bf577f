import json
import math
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import CatalogueError
from takeoff.system.cutting import pack_lengths
from takeoff.system.hanging import drop_count

CASES = json.loads((Path(__file__).parents[1] / "cases" / "drops.json").read_text())


@pytest.mark.parametrize("case", CASES["counts"], ids=lambda case: case["working"])
def test_drops_agree_with_hand_working(case):
    found = drop_count(case["length"], width=case["width"], lap=case["lap"], is_closed=case["closed"])
    assert found == case["drops"]


@pytest.mark.parametrize("case", CASES["rolls"], ids=lambda case: case["working"])
def test_rolls_agree_with_hand_working(case):
    assert pack_lengths(case["drops"] * case["times"], case["roll"]).first_fit == case["rolls"]


def test_no_drops_take_no_roll():
    assert pack_lengths([], 50.0).bins == ()


def test_drop_longer_than_a_roll_is_refused():
    with pytest.raises(CatalogueError, match=r"8\.600 m is longer than the 8\.500 m"):
        pack_lengths([8.6], 8.5)


@pytest.mark.parametrize("lap", [1.27, 2.0, -0.01])
def test_lap_that_leaves_nothing_of_the_width_is_refused(lap):
    with pytest.raises(CatalogueError, match="lap"):
        drop_count(20.0, width=1.27, lap=lap, is_closed=True)


@given(st.floats(0.01, 500), st.floats(0.5, 2), st.floats(0, 0.2), st.booleans())
def test_drops_cover_the_face_and_one_fewer_would_not(length, width, lap, is_closed):
    count = drop_count(length, width=width, lap=lap, is_closed=is_closed)
    ends = 0.0 if is_closed else lap
    assert count * (width - lap) + ends >= length * (1 - 1e-6)
    if count > 1:
        assert (count - 1) * (width - lap) + ends < length


@given(st.lists(st.floats(0.5, 10), max_size=40), st.floats(10, 50))
def test_every_drop_is_cut_once_and_no_roll_is_overdrawn(drops, roll_length):
    rolls = [[drops[i] for i in row] for row in pack_lengths(drops, roll_length, effort=0.0).bins]
    grains = 1e-4 * len(drops)  # each is counted in tenths of a millimetre, rounded up
    assert sorted(drop for roll in rolls for drop in roll) == sorted(drops)
    assert all(math.fsum(roll) <= roll_length * (1 + 1e-6) for roll in rolls)
    # First fit: what lies in a roll did not fit into the one before it.
    assert all(math.fsum(a) + b[-1] > roll_length * (1 - 1e-6) - grains for a, b in pairwise(rolls))
    assert len(rolls) >= math.ceil(math.fsum(drops) / roll_length * (1 - 1e-6))
