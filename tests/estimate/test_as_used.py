"""The price with material as it is used: worked by hand once, and alike however many states were priced before."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from takeoff.estimate.alternates import AsUsedPrices
from takeoff.estimate.price import estimate
from tests.estimate.test_price import CATALOGUE, RATES, make_lot


def fresh(lots) -> float:
    return AsUsedPrices().price(lots, CATALOGUE, RATES)


def test_a_price_with_material_as_used_worked_by_hand():
    """100 m² × 0.2 L/m² ÷ 0.8 = 25 L at 10.00, the lowest price of a litre = 250.00; tax 25.00; freight 56.00.

    100 m² ÷ 10 m²/h × 1.1 for height = 11 h × 50.00 = 550.00; set-up 2 h = 100.00; one day of access 75.00: direct
    cost 1,056.00; + 10 % = 1,161.60; + 20 % = 1,393.92; + 25 % = 1,742.40.
    """
    assert fresh([make_lot()]) == 1742.40


def test_whole_packs_never_cost_less():
    for area in (1.0, 33.0, 100.0, 140.0):
        whole = estimate([make_lot(area)], CATALOGUE, RATES).line("price").amount
        assert fresh([make_lot(area)]) <= whole


def test_only_lots_that_are_another_are_worked_out_again():
    prices = AsUsedPrices()
    rooms = [make_lot(10.0 + n, room=f"R{n}") for n in range(6)]
    prices.price(rooms, CATALOGUE, RATES)
    assert prices.worked_out == 6
    prices.price([*rooms[:5], make_lot(99.0, room="R5")], CATALOGUE, RATES)
    assert prices.worked_out == 7
    prices.price(rooms[:3], CATALOGUE, RATES)
    assert prices.worked_out == 7


def test_other_rates_are_not_priced_by_what_was_kept():
    prices = AsUsedPrices()
    prices.price([make_lot()], CATALOGUE, RATES)
    dearer = replace(RATES, wage=80.0)
    assert prices.price([make_lot()], CATALOGUE, dearer) == AsUsedPrices().price([make_lot()], CATALOGUE, dearer)


states = st.lists(
    st.dictionaries(
        st.tuples(st.sampled_from(["R1", "R2", "R3"]), st.sampled_from(["wall", "base"])),
        st.tuples(st.sampled_from([0.0, 7.5, 60.0, 212.3]), st.sampled_from([0.0, 12.0, 40.7])),
    ),
    max_size=6,
)


@given(states=states)
def test_a_state_costs_the_same_to_the_cent_whatever_was_priced_before_it(states):
    prices = AsUsedPrices()
    for state in states:
        lots = [make_lot(a, room=room, system=s, cove_length=c) for (room, s), (a, c) in state.items()]
        assert prices.price(lots, CATALOGUE, RATES) == fresh(lots)
