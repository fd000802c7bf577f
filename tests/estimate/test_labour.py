import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.estimate.labour import (
    burdened_rate,
    crew_days,
    cut_up_factor,
    height_factor,
    labour_lines,
    overtime_mean,
    wage_words,
)
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, CrewMember, Labour, Rates, Step, System

FACTORS = ((0.0, 1.0), (3.0, 1.2), (5.0, 1.5))


def make_catalogue(*steps):
    return Catalogue(
        name="test", currency="USD", systems=(System(id="s", name="System", summary="", steps=steps),), products=()
    )


def make_step(basis, labour, *, id="step", **more):
    return Step(id=id, name=id.title(), kind="work", basis=basis, labour=labour, **more)


def make_lot(room="R1", bands=(), **quantities):
    return Lot(system="s", room=room, room_label=room, quantities=Quantities(**quantities), bands=bands)


def test_burdened_rate_of_45_at_35_percent_is_60_75():
    # Derived: 45.00 x 1.35.
    assert burdened_rate(Rates(wage=45.0, burden=0.35)) == pytest.approx(60.75)


@pytest.mark.parametrize(
    ("bands", "factor"),
    [
        ([], 1.0),
        ([(0.0, 3.0, 30.0)], 1.0),
        ([(0.0, 3.0, 30.0), (3.0, 5.0, 20.0), (5.0, 6.0, 10.0)], (30 + 24 + 15) / 60),
        ([(0.0, 6.0, 60.0)], (30 + 24 + 15) / 60),  # one band over all: by its share of height
        ([(5.0, 40.0, 10.0)], 1.5),
        ([(3.0, 3.0, 10.0)], 1.2),  # a band without height
        ([(0.0, 3.0, 0.0)], 1.0),
    ],
)
def test_height_factors_weigh_the_area_in_each_band(bands, factor):
    assert height_factor(bands, FACTORS) == pytest.approx(factor)


def test_cut_up_factor_counts_corners_and_opening_edges_per_square_metre():
    quantities = Quantities(net_area=50.0, inside_corner_length=12.0, outside_corner_length=3.0, jamb_length=10.0)
    assert cut_up_factor(quantities, 0.2) == pytest.approx(1.1)
    assert cut_up_factor(Quantities(inside_corner_length=3.0), 0.2) == 1.0


def test_hours_are_basis_over_rate_times_coats_height_and_corners():
    # 50 m2 at 10 m2/h, two coats: 10 h; half above 3 m: x 1.1; 25 m of corner on 50 m2 at 0.2: x 1.1.
    step = make_step("net_area", Labour(rate=10.0), coats=2)
    lot = make_lot(bands=((0.0, 3.0, 25.0), (3.0, 5.0, 25.0)), net_area=50.0, inside_corner_length=25.0)
    rates = Rates(wage=40.0, burden=0.25, height_factors=FACTORS, cut_up_factor=0.2)
    (line,) = labour_lines([lot], make_catalogue(step), rates)
    assert line.hours == pytest.approx(12.1)
    assert line.cost == 605.0
    assert "12.10 h" in line.arithmetic[1]
    assert "538.2 sf" in line.arithmetic[0]


def test_steps_that_ignore_height_and_lengths_take_no_factor():
    rates = Rates(height_factors=FACTORS, cut_up_factor=0.2)
    bands = ((3.0, 5.0, 50.0),)
    area = make_step("net_area", Labour(rate=10.0, height_factor=False), id="flat")
    corner = make_step("corner_length", Labour(rate=5.0, height_factor=False), id="corner")
    flat, corners = labour_lines(
        [make_lot(bands=bands, net_area=50.0, inside_corner_length=25.0)], make_catalogue(area, corner), rates
    )
    assert flat.hours == pytest.approx(5.5)
    assert corners.hours == pytest.approx(5.0)


def test_minutes_are_counted_for_each_piece():
    step = make_step("cove_inside_corners", Labour(minutes=15.0))
    (line,) = labour_lines([make_lot(cove_inside_corners=6)], make_catalogue(step), Rates())
    assert line.hours == pytest.approx(1.5)


def test_lines_stand_in_lot_and_step_order_without_what_measured_nothing():
    steps = (
        make_step("net_area", Labour(rate=10.0), id="prime"),
        make_step("cove_length", Labour(rate=4.0), id="cove"),
        make_step("room", Labour(minutes=30.0), id="tidy"),
        make_step("net_area", None, id="cure"),
    )
    lots = [make_lot("R2", net_area=10.0), make_lot("R1", net_area=10.0, cove_length=4.0)]
    lines = labour_lines(lots, make_catalogue(*steps), Rates())
    assert [(line.room, line.step) for line in lines] == [
        ("R2", "prime"),
        ("R2", "tidy"),
        ("R1", "prime"),
        ("R1", "cove"),
        ("R1", "tidy"),
    ]


def test_a_crew_of_four_does_80_man_hours_in_two_and_a_half_days():
    assert crew_days(80.0, Rates(crew=4, shift_hours=8.0)) == 2.5


@given(st.lists(st.tuples(st.floats(0, 8), st.floats(0.1, 4), st.floats(0.1, 100)), min_size=1, max_size=6))
def test_height_factor_lies_between_the_lowest_and_the_highest(bands):
    factor = height_factor([(low, low + tall, area) for low, tall, area in bands], FACTORS)
    assert 1.0 - 1e-9 <= factor <= 1.5 + 1e-9


def test_factors_for_height_and_for_corners_are_derived_in_the_arithmetic():
    # By hand: (30 x 1 + 10 x 1.2) / 40 = 1.05 and 1 + 0.25 x (12 + 4) / 40 = 1.1.
    lot = make_lot(
        bands=((0.0, 3.0, 30.0), (3.0, 5.0, 10.0)), net_area=40.0, inside_corner_length=12.0, jamb_length=4.0
    )
    rates = Rates(height_factors=FACTORS, cut_up_factor=0.25)
    (line,) = labour_lines([lot], make_catalogue(make_step("net_area", Labour(rate=10.0))), rates)
    assert "for height: (30.00 m² × 1 + 10.00 m² × 1.2) / 40.00 m² = 1.050" in line.arithmetic
    edges = "(12.00 m of corners + 4.00 m of edges)"
    assert f"for corners and edges: 1 + 0.250 m × {edges} / 40.00 m² = 1.100" in line.arithmetic
    assert line.hours == pytest.approx(4.0 * 1.05 * 1.1)


CREW = (
    CrewMember(name="Foreman", count=1, wage=52.0),
    CrewMember(name="Applicator", count=2, wage=34.0, burden=0.40, fringe=6.0),
)


def test_classes_count_by_their_number():
    # (52 x 1.25 + 2 x (34 x 1.4 + 6)) / 3 = (65 + 107.2) / 3
    assert burdened_rate(Rates(burden=0.25, crew=3, people=CREW)) == pytest.approx(57.40)


def test_overtime_raises_wage_and_burden_but_not_fringe():
    # 10 h with 2 h at 1.5: (8 + 3) / 10 = 1.1. (65 x 1.1 + 2 x (47.6 x 1.1 + 6)) / 3 = (71.5 + 116.72) / 3
    rates = Rates(burden=0.25, crew=3, people=CREW, shift_hours=10.0, overtime_after=8.0)
    assert overtime_mean(rates) == pytest.approx(1.1)
    assert burdened_rate(rates) == pytest.approx((71.5 + 116.72) / 3)


def test_forty_six_hours_at_twelve_with_overtime_after_forty_are_the_published_588():
    # 29 CFR 778.110 (a), from memory: 40 h at 12 and 6 h at 18 are 588.
    week = Rates(wage=12.0, burden=0.0, shift_hours=46.0, overtime_after=40.0)
    assert 46.0 * burdened_rate(week) == pytest.approx(588.0)


def test_a_shift_within_the_limit_has_no_overtime():
    assert overtime_mean(Rates(shift_hours=8.0, overtime_after=8.0)) == 1.0
    assert wage_words(Rates(wage=40.0, burden=0.35), "USD") == ("USD 40.00 × (1 + 0.35) = USD 54.00 an hour",)
