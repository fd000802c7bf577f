"""Price lines worked by hand. What each line takes is common practice, no source; the arithmetic is in the comments."""

from dataclasses import replace
from datetime import date

import pytest

from takeoff.estimate.bill import Counts, Taken, price_lines
from takeoff.model.costs import LabourLine, MaterialLine, SiteDays
from takeoff.model.systems import CrewMember, OwnLine, Rates
from takeoff.units.money import add

RATES = Rates(
    wage=40.0, burden=0.25, crew=3, setup_hours=6.0, access_per_day=90.0, contingency=0.10, overhead=0.20, profit=0.25,
    travel_per_km=0.5, per_diem=60.0, lodging=110.0,
)  # fmt: skip
SITE = SiteDays(
    start=date(2026, 3, 2), finish=date(2026, 3, 13), crews=1, visits=6, days=6, phases=2, access_days=8, trips=6,
    nights=0, day_rates=0, travel_hours=0.5, travel_km=30.0, abrading=2.0, waiting=10.0,
)  # fmt: skip
COUNTS = Counts(rooms=3, area=200.0, length=50.0, hours=100.0, visits=6, days=6, phases=2)


def made(rates=RATES, site=SITE, counts=COUNTS):
    material = MaterialLine(
        product="p", name="P", unit="L", needed=1.0, packs=(), bought=1.0, left_over=0.0, colour_packs=0, cost=2000.0,
        arithmetic=(),
    )  # fmt: skip
    labour = LabourLine(
        system="s", step="x", name="X", room="R", basis="net_area", basis_value=1.0, hours=60.0, cost=3000.0,
        arithmetic=(),
    )  # fmt: skip
    taken = Taken(
        materials=(material,),
        labour=(labour,),
        days=5.0,
        counts=counts,
        is_empty=False,
        kind="at whole packs",
        site=site,
    )
    return {line.id: line for line in price_lines(taken, rates, currency="USD")}


def amounts(lines):
    return {id: line.amount for id, line in lines.items()}


def test_what_a_plan_takes_is_paid_line_by_line():
    # 50 an hour. Abrading 2 x 3 people = 6 h: 300. Waiting 10 x 3 = 30 h: 1500. Set-up 2 phases x 6 h: 600.
    # Travel: 6 trips x 2 x 0.5 h x 3 people = 18 h: 900; 6 x 2 x 30 km at 0.5: 180. Access: 8 days x 90 = 720.
    found = amounts(made())
    assert [found[id] for id in ("abrading", "waiting", "setup", "travel", "access")] == [
        300.0, 1500.0, 600.0, 1080.0, 720.0,
    ]  # fmt: skip
    assert found["direct"] == 2000.0 + 3000.0 + 300.0 + 1500.0 + 600.0 + 1080.0 + 720.0
    assert "stay" not in found


def test_nights_away_are_paid_by_person():
    # 15 days x 60 = 900 and 12 nights x 110 = 1320.
    found = amounts(made(site=replace(SITE, trips=1, nights=12, day_rates=15)))
    assert found["stay"] == 2220.0
    # One trip: 1 x 2 x 0.5 x 3 = 3 h at 50 and 60 km at 0.5.
    assert found["travel"] == 180.0


def test_without_a_plan_the_price_says_what_it_leaves_out():
    lines = made(site=None)
    assert not {"abrading", "waiting", "travel", "stay"} & lines.keys()
    assert (lines["setup"].amount, lines["access"].amount) == (300.0, 450.0)
    assert "waiting, abrading, travel, nights away and further phases are left out" in lines["access"].arithmetic[1]


@pytest.mark.parametrize(
    ("line", "amount"),
    [
        ({"amount": 450.0}, 450.0),
        ({"amount": 100.0, "per": "phase"}, 200.0),
        ({"amount": 20.0, "per": "visit"}, 120.0),
        ({"amount": 35.0, "per": "day"}, 210.0),
        ({"amount": 80.0, "per": "room"}, 240.0),
        ({"amount": 0.25, "per": "area"}, 50.0),
        ({"amount": 1.5, "per": "length"}, 75.0),
        ({"amount": 2.0, "per": "hour"}, 200.0),
        ({"amount": 0.03, "per": "fraction", "of": "material"}, 60.0),
        ({"amount": 0.02, "per": "fraction", "of": "labour"}, 60.0),
        ({"amount": 0.01, "per": "fraction", "of": "direct"}, 92.0),  # of 9200: all direct lines
    ],
)
def test_a_line_of_ones_own_is_direct_cost_by_what_it_is_counted_by(line, amount):
    before, after = (
        amounts(made(replace(RATES, lines=lines))) for lines in ((), (OwnLine(id="a", label="A", **line),))
    )
    assert after["own:a"] == pytest.approx(amount)
    assert after["direct"] == pytest.approx(before["direct"] + amount)
    # 1.1 for contingency, 1.2 overhead, 1.25 profit: a dollar of direct cost is 1.65 of price, cents rounded.
    assert after["price"] - before["price"] == pytest.approx(amount * 1.1 * 1.2 * 1.25, abs=0.03)


def test_a_line_at_cost_and_a_fraction_of_the_price_come_on_top():
    # 9200 x 1.1 x 1.2 x 1.25 = 15180. A permit of 500 at cost: 15680. A bond of 1.5 % of that: 235.20.
    lines = (
        OwnLine(id="permit", label="Permit", amount=500.0, at_cost=True),
        OwnLine(id="bond", label="Bond", amount=0.015, per="fraction", of="price"),
    )
    found = made(replace(RATES, lines=lines, price_tax=0.10))
    assert (found["own:permit"].amount, found["own:bond"].amount) == (500.0, 235.2)
    assert (found["net_price"].amount, found["tax"].amount, found["price"].amount) == (15915.2, 1591.52, 17506.72)
    assert found["direct"].amount == 9200.0


def test_all_lines_up_to_direct_cost_add_up_to_it():
    found = list(made(replace(RATES, lines=(OwnLine(id="a", label="A", amount=0.1),))).values())
    upto = [line.id for line in found].index("direct")
    assert add(line.amount for line in found[:upto]) == found[upto].amount


def test_labour_says_the_classes_of_a_crew():
    people = (
        CrewMember(name="Foreman", count=1, wage=52.0),
        CrewMember(name="Applicator", count=2, wage=34.0, burden=0.40, fringe=6.0),
    )
    lines = made(replace(RATES, people=people))["labour"].arithmetic
    # 52 x 1.25 = 65. 34 x 1.4 + 6 = 53.60. (65 + 2 x 53.60) / 3 = 57.40.
    assert lines[0].endswith("= USD 65.00 an hour")
    assert "2 × Applicator" in lines[1]
    assert lines[1].endswith("= USD 53.60 an hour")
    assert lines[2] == "In the mean of 3 people USD 57.40 an hour"


def test_a_minimum_charge_lifts_the_price_and_lines_at_cost_come_on_top_of_it():
    # 15180 is lifted by 4820 to 20000; a permit of 500 at cost makes 20500.
    permit = OwnLine(id="permit", label="Permit", amount=500.0, at_cost=True)
    found = amounts(made(replace(RATES, minimum_charge=20000.0, lines=(permit,))))
    assert (found["minimum"], found["net_price"]) == (4820.0, 20500.0)


def test_retention_is_told_and_not_taken_off():
    # 15180 x 5 % = 759.
    with_it, without = made(replace(RATES, retention=0.05))["price"], made()["price"]
    assert with_it.amount == without.amount == 15180.0
    assert with_it.arithmetic[-1] == "Of it USD 759.00, 5 %, is retention: paid late, and not taken off."
