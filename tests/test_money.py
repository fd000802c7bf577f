import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.units import format_money
from takeoff.units.money import add, places_of, rounded, share_out


def test_halves_are_rounded_away_from_nothing():
    assert [rounded(v, "USD") for v in (1.005, 1.004, 0.0, 2.675, -2.675)] == [1.01, 1.0, 0.0, 2.68, -2.68]


@pytest.mark.parametrize(
    ("currency", "places", "value", "shown"),
    [  # ISO 4217, the column of minor units, from memory
        ("JPY", 0, 1234.5, "JPY 1,235"),
        ("KRW", 0, 1234.4, "KRW 1,234"),
        ("CLP", 0, 0.4, "CLP 0"),
        ("USD", 2, 1234.565, "USD 1,234.57"),
        ("KWD", 3, 1234.5655, "KWD 1,234.566"),
        ("TND", 3, -0.0005, "TND −0.001"),
        ("CLF", 4, 1.00005, "CLF 1.0001"),
    ],
)
def test_money_has_the_decimals_of_its_currency(currency, places, value, shown):
    assert places_of(currency) == places
    assert format_money(value, currency) == shown
    assert format_money(rounded(value, currency), currency) == shown


def test_smallest_units_add_without_crumbs():
    assert add([0.1] * 10) == 1.0
    assert add([0.001] * 10) == 0.01
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
    assert share_out(total, weights, "USD") == parts


@given(
    st.sampled_from(["JPY", "USD", "KWD", "CLF"]),
    st.integers(0, 10**9),
    st.lists(st.floats(0, 1e6), min_size=1, max_size=30),
)
def test_shares_add_up_exactly_and_none_is_a_unit_off_its_due(currency, count, weights):
    unit = 10 ** -places_of(currency)
    total = count / 10 ** places_of(currency)
    parts = share_out(total, weights, currency)
    assert add(parts) == total
    assert all(rounded(part, currency) == part for part in parts)
    whole = sum(weights)
    if whole > 1e-6:
        for part, weight in zip(parts, weights, strict=True):
            assert abs(part - total * weight / whole) < 1.01 * unit
