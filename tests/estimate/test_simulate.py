import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.errors import InputError
from takeoff.estimate.price import estimate
from takeoff.estimate.simulate import Part, ThreePoint, draw, parts_of, simulate_price, usual_spreads
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, Labour, OwnLine, Pack, Product, Rates, Step, System

PLAIN = Rates(overhead=0.0, profit=0.0, contingency=0.0)


def make_spread(low, likely, high, id="a", **more):
    return ThreePoint(id=id, label=id, low=low, likely=likely, high=high, governs=(id,), **more)


def make_part(id="a", amount=1000.0, kind="labour"):
    return Part(id=id, label=id, kind=kind, amount=amount)


def pert_moments(low, likely, high):
    """Mean (a + 4m + b)/6 (Malcolm and others 1959) and deviation of the beta of scale 4: sqrt((μ - a)(b - μ)/7)."""
    mean = (low + 4.0 * likely + high) / 6.0
    return mean, math.sqrt((mean - low) * (high - mean) / 7.0)


@pytest.mark.parametrize("points", [(4.0, 6.0, 12.0), (10.0, 15.0, 30.0), (1.0, 1.0, 2.0), (1.0, 2.0, 2.0)])
def test_draws_have_the_moments_of_their_distribution(points):
    values = draw(make_spread(*points), 200_000, np.random.default_rng(3))
    mean, deviation = pert_moments(*points)
    # Four standard errors of a mean of 200 000 draws.
    assert values.mean() == pytest.approx(mean, abs=4 * deviation / math.sqrt(200_000))
    assert values.std() == pytest.approx(deviation, rel=0.01)
    assert values.min() >= points[0]
    assert values.max() <= points[2]


def test_percentiles_of_a_rate_are_those_of_its_beta_distribution():
    # 10, 15, 30 is beta with 2 and 4: P50 0.313810 and P80 0.490192 of the way (scipy.stats.beta.ppf), 20 wide.
    found = simulate_price([make_part(amount=1500.0)], [make_spread(10.0, 15.0, 30.0)], PLAIN)
    assert found.p50 == pytest.approx(100 * (10 + 20 * 0.313810), rel=5e-3)
    assert found.p80 == pytest.approx(100 * (10 + 20 * 0.490192), rel=5e-3)


def test_sum_of_many_rates_comes_near_the_normal_distribution():
    # Central limit theorem: sum of 30 independent parts; P10, P80 and P90 of a normal are mean - 1.28155 s,
    # + 0.84162 s and + 1.28155 s (standard tables).
    spreads = [make_spread(0.8, 1.0, 1.3, id=str(i)) for i in range(30)]
    found = simulate_price([make_part(str(i), 100.0) for i in range(30)], spreads, PLAIN)
    mean, deviation = pert_moments(80.0, 100.0, 130.0)
    assert found.mean == pytest.approx(30 * mean, rel=1e-3)
    assert found.deviation == pytest.approx(math.sqrt(30) * deviation, rel=0.01)
    for percentile, z in ((found.p10, -1.28155), (found.p80, 0.84162), (found.p90, 1.28155)):
        assert (percentile - found.mean) / found.deviation == pytest.approx(z, abs=0.04)


def test_same_seed_gives_the_same_range_and_another_seed_another():
    args = ([make_part()], [make_spread(0.8, 1.0, 1.5)], PLAIN)
    assert simulate_price(*args, seed=7) == simulate_price(*args, seed=7)
    assert simulate_price(*args, seed=7).mean != simulate_price(*args, seed=8).mean


def test_tornado_orders_drivers_by_swing_and_shares_add_up():
    parts = [make_part("big", 10_000.0), make_part("small", 100.0)]
    found = simulate_price(parts, [make_spread(0.9, 1.0, 1.2, id=id) for id in ("small", "big")], PLAIN)
    assert [driver.id for driver in found.drivers] == ["big", "small"]
    assert sum(driver.share for driver in found.drivers) == pytest.approx(1.0)
    assert found.drivers[0].share > 0.99


def test_tax_overhead_margin_and_minimum_are_on_the_way_to_the_price():
    rates = Rates(material_tax=0.1, overhead=0.2, profit=0.25, profit_basis="margin", contingency=0.05)
    # (1000 x 1.1 + 500) x 1.2 / (1 - 0.25) = 2560, contingency left out.
    found = simulate_price([make_part("m", 1000.0, "material"), make_part("l", 500.0)], [], rates, draws=10)
    assert found.likely == found.p50 == pytest.approx(2560.0)
    lifted = simulate_price([make_part()], [], Rates(minimum_charge=5000.0), draws=10)
    assert lifted.p10 == lifted.likely == 5000.0


def test_parts_of_an_estimate_add_up_to_its_direct_cost_and_price():
    step = Step(
        id="coat", name="Coat", kind="coat", basis="net_area", product="p", wet_film=2e-4, labour=Labour(rate=10.0)
    )
    catalogue = Catalogue(
        name="test",
        currency="USD",
        systems=(System(id="s", name="S", summary="", steps=(step,)),),
        products=(Product(id="p", name="Paint", unit="L", packs=(Pack(name="4 L", size=4.0, price=80.0),)),),
    )
    rates = Rates(contingency=0.0, material_tax=0.08, freight=120.0, access_per_day=75.0)
    lots = [Lot(system="s", room=room, room_label=room, quantities=Quantities(net_area=60.0)) for room in ("R1", "R2")]
    priced = estimate(lots, catalogue, rates)
    parts = parts_of(priced)
    assert [part.id for part in parts] == ["material:p", "labour:s:coat", "freight", "setup", "access"]
    assert parts[1].label == "Coat · S"  # the same step of two systems is told apart
    assert sum(part.amount for part in parts) == pytest.approx(
        priced.line("direct").amount - priced.line("material_tax").amount
    )
    found = simulate_price(parts, usual_spreads(parts), rates, draws=1000)
    assert found.likely == pytest.approx(priced.line("net_price").amount, abs=0.05)
    assert {driver.id for driver in found.drivers} == {
        "labour", "material", "material:p", "labour:s:coat", "setup", "visits",
    }  # fmt: skip


def test_usual_spreads_take_the_largest_parts_alone_and_the_rest_together():
    parts = [make_part(str(i), 100.0 + i) for i in range(20)] + [make_part("f", 900.0, "freight")]
    spreads = usual_spreads(parts, most=3)
    assert [spread.id for spread in spreads] == ["labour", "19", "18", "17"]
    assert len(spreads[0].governs) == 20


def test_rates_that_move_together_widen_the_range_more_than_rates_that_do_not():
    parts = [make_part(str(i), 100.0) for i in range(10)]
    alone = simulate_price(parts, [make_spread(0.8, 1.0, 1.3, id=str(i)) for i in range(10)], PLAIN)
    common = ThreePoint(id="all", label="all", low=0.8, likely=1.0, high=1.3, governs=tuple(p.id for p in parts))
    together = simulate_price(parts, [common], PLAIN)
    # A sum of n independent equal parts has 1/sqrt(n) of the deviation of n times one.
    assert together.deviation / alone.deviation == pytest.approx(math.sqrt(10), rel=0.02)


def test_no_draws_are_refused():
    with pytest.raises(InputError, match="0 draws"):
        simulate_price([make_part()], [], PLAIN, draws=0)


@settings(deadline=None, max_examples=40)
@given(st.floats(0.2, 1.0), st.floats(1.0, 3.0))
def test_percentiles_are_ordered_and_within_what_the_rates_allow(low, high):
    found = simulate_price([make_part()], [make_spread(low, 1.0, high)], PLAIN, draws=500)
    assert 1000.0 * low - 1e-6 <= found.p10 <= found.p50 <= found.p80 <= found.p90 <= 1000.0 * high + 1e-6
    assert found.likely == pytest.approx(1000.0)


def labour(amount, id="a", kind="labour"):
    return Part(id=id, label=id, kind=kind, amount=amount)


def test_how_often_the_price_that_is_asked_would_hold_is_told():
    # PERT of 0.5, 1, 1.5 is symmetric: at its likely value half of the draws stay under it, at 1.5 all do.
    spread = ThreePoint(id="a", label="A", low=0.5, likely=1.0, high=1.5, governs=("a",))
    rates = Rates(overhead=0.0, profit=0.0)
    half, all_ = (simulate_price((labour(1000.0),), (spread,), rates, asked=asked) for asked in (1000.0, 1500.0))
    assert half.holds == pytest.approx(0.5, abs=0.01)
    assert half.words == f"The price would hold in {round(100 * half.holds)} of 100 such jobs."
    assert all_.holds == 1.0


def test_visits_and_measured_quantities_take_part():
    parts = (labour(1000.0), labour(300.0, "waiting", "site"), labour(200.0, "access", "access"))
    spreads = {spread.id: spread for spread in usual_spreads(parts, quantity=0.02)}
    assert spreads["visits"].governs == ("waiting", "access")
    assert (spreads["quantity"].low, spreads["quantity"].high) == (pytest.approx(0.94), pytest.approx(1.06))
    assert "visits" not in {spread.id for spread in usual_spreads((labour(1000.0),))}


def test_lines_on_top_and_fractions_of_the_price_come_after_profit():
    # (1000 x 1.2 x 1.1 + 500) x 1.02: a permit at cost, and a bond of 2 % of the price.
    lines = (
        OwnLine(id="permit", label="Permit", amount=500.0, at_cost=True),
        OwnLine(id="bond", label="Bond", amount=0.02, per="fraction", of="price"),
    )
    parts = (labour(1000.0), labour(500.0, "own:permit", "on top"), labour(36.4, "own:bond", "on top"))
    found = simulate_price(parts, (), Rates(overhead=0.2, profit=0.1, lines=lines), draws=1)
    assert found.likely == pytest.approx((1000.0 * 1.2 * 1.1 + 500.0) * 1.02)
