import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.estimate.money import add, share_out, to_cents


def test_halves_of_a_cent_round_up():
    assert [to_cents(v) for v in (1.005, 1.004, 0.0, 2.675)] == [1.01, 1.0, 0.0, 2.68]


def test_cents_add_without_crumbs():
    assert add([0.1] * 10) == 1.0
    assert add([]) == 0.0


@pytest.mark.parametrize(
    ("total", "weights", "parts"),
    [
        (100.0, [1, 1, 1], (33.34, 33.33, 33.33)),
        (10.0, [3, 1], (7.5, 2.5)),
        (0.02, [1, 1, 1], (0.01, 0.01, 0.0)),
        (5.0, [], ()),
        (9.0, [0, 0, 0], (3.0, 3.0, 3.0)),
    ],
)
def test_shares_agree_with_hand_working(total, weights, parts):
    assert share_out(total, weights) == parts


@given(st.integers(0, 10**9), st.lists(st.floats(0, 1e6), min_size=1, max_size=30))
def test_shares_add_up_to_the_cent_and_none_is_a_cent_off_its_due(cents, weights):
    parts = share_out(cents / 100, weights)
    assert add(parts) == cents / 100
    whole = sum(weights)
    if whole > 1e-6:
        for part, weight in zip(parts, weights, strict=True):
            assert abs(part - cents / 100 * weight / whole) < 0.0101
