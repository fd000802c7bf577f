from dataclasses import replace
from itertools import product as every

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import CatalogueError
from takeoff.model.costs import MaterialNeed
from takeoff.model.cut_lists import Drop, MatLayout, Piece
from takeoff.model.systems import Catalogue, Pack, Product
from takeoff.system.packs import buy, cheapest_packs


def make_pack(name, size, price, colours=0):
    return Pack(name=name, size=size, price=price, colours=colours)


def bought(counts):
    return {p.pack: p.count for p in counts}


def make_need(product, needed, *, room="R1", drops=()):
    return MaterialNeed(
        system="s", step="t", room=room, product=product, unit="L", basis="net_area", basis_value=1.0,
        theoretical=needed, loss=0.0, needed=needed, arithmetic=(),
        layouts=(make_layout(room, drops),) if drops else (),
    )  # fmt: skip


def make_layout(room, lengths, width=1.0):
    drops = tuple(
        Drop(face=f"{room}:left", number=n, x0=0.0, x1=width, z0=0.0, z1=x, length=x, width=width)
        for n, x in enumerate(lengths, start=1)
    )
    area = sum(lengths) * width
    return MatLayout(roll_width=width, drops=drops, offcuts=(), seam_length=0.0, lap=0.0, net_area=area)


def make_catalogue(*products):
    return Catalogue(name="test", currency="USD", systems=(), products=products)


ONE = make_pack("1 gal", 1.0, 90.0)
THREE = make_pack("3 gal", 3.0, 240.0)
packs_strategy = st.lists(st.tuples(st.integers(1, 30), st.integers(1, 400)), min_size=1, max_size=3).map(
    lambda pairs: tuple(make_pack(f"p{i}", float(s), float(p)) for i, (s, p) in enumerate(pairs))
)


@pytest.mark.parametrize(
    ("needed", "expected"),
    [
        # 1 gal at 90, 3 gal at 240, worked by hand
        (0.5, {"1 gal": 1}),
        (2.0, {"1 gal": 2}),  # 180 against 240
        (2.1, {"3 gal": 1}),  # 270 against 240
        (3.0, {"3 gal": 1}),
        (7.2, {"3 gal": 2, "1 gal": 2}),  # 660 against 720
        (8.2, {"3 gal": 3}),  # 720 against 750
    ],
)
def test_the_cheapest_covering_packs_are_bought(needed, expected):
    assert bought(cheapest_packs(needed, (ONE, THREE))) == expected


def test_equal_costs_leave_the_least_over():
    small, large = make_pack("small", 4.0, 50.0), make_pack("large", 6.0, 50.0)
    assert bought(cheapest_packs(3.5, (large, small))) == {"small": 1}


def test_equal_cost_and_left_over_open_the_fewest_packs():
    assert bought(cheapest_packs(30.0, (make_pack("10", 10.0, 100.0), make_pack("30", 30.0, 300.0)))) == {"30": 1}


def test_a_large_pack_that_is_dear_per_unit_is_passed_over():
    assert bought(cheapest_packs(10.0, (make_pack("10", 10.0, 200.0), make_pack("2", 2.0, 30.0)))) == {"2": 5}


def test_colour_packs_count_in_the_choice():
    # 1 gal: 90 + 1 x 5 = 95; 3 gal: 240 + 6 x 20 = 360 against 3 x (90 + 20) = 330.
    one, three = make_pack("1 gal", 1.0, 90.0, colours=1), make_pack("3 gal", 3.0, 240.0, colours=6)
    assert bought(cheapest_packs(3.0, (one, three), colour_pack=0.0)) == {"3 gal": 1}
    assert bought(cheapest_packs(3.0, (one, three), colour_pack=20.0)) == {"1 gal": 3}


def test_nothing_needed_buys_nothing():
    assert cheapest_packs(0.0, (ONE,)) == ()


def test_a_floats_last_digit_does_not_open_another_pack():
    assert bought(cheapest_packs(0.1 + 0.2, (make_pack("tin", 0.3, 10.0),))) == {"tin": 1}


def test_product_without_packs_is_refused():
    with pytest.raises(CatalogueError, match="no pack"):
        cheapest_packs(1.0, ())


def test_empty_pack_is_refused():
    with pytest.raises(CatalogueError, match="holds nothing"):
        cheapest_packs(1.0, (make_pack("air", 0.0, 1.0),))


@given(st.integers(1, 60), packs_strategy)
def test_packs_cost_no_more_than_any_combination_tried_by_brute_force(needed, packs):
    found = cheapest_packs(float(needed), packs)
    cost = sum(p.price * p.count for p in found)
    size = sum(p.size * p.count for p in found)
    tries = every(*(range(-(-needed // int(p.size)) + 1) for p in packs))
    rows = [
        (
            sum(n * p.price for n, p in zip(row, packs, strict=True)),
            sum(n * p.size for n, p in zip(row, packs, strict=True)),
        )
        for row in tries
    ]
    assert (cost, size) == min(row for row in rows if row[1] >= needed)


@given(st.floats(0.01, 5000), packs_strategy)
def test_packs_cover_the_need_and_without_any_one_of_them_do_not(needed, packs):
    found = cheapest_packs(needed, packs)
    total = sum(p.size * p.count for p in found)
    assert total >= needed * (1 - 1e-8)
    assert all(total - p.size < needed for p in found)


@given(st.floats(0.01, 2000), st.floats(0, 500), packs_strategy)
def test_a_larger_need_never_costs_less(needed, more, packs):
    def cost(amount):
        return sum(p.price * p.count for p in cheapest_packs(amount, packs))

    assert cost(needed + more) >= cost(needed)


def test_needs_of_all_rooms_are_added_before_packs_are_rounded():
    product = Product(id="resin", name="Resin", unit="L", packs=(make_pack("tin", 10.0, 100.0),))
    needs = [make_need("resin", 4.0, room="R1"), make_need("resin", 5.0, room="R2")]
    (line,) = buy(needs, make_catalogue(product))
    assert (line.needed, line.bought, line.left_over, line.cost) == (9.0, 10.0, 1.0, 100.0)
    assert line.needs == tuple(needs)


def test_colour_packs_go_with_the_packs_that_take_them():
    packs = (make_pack("3 gal", 3.0, 240.0, colours=3), make_pack("1 gal", 1.0, 90.0, colours=1))
    product = Product(id="glaze", name="Glaze", unit="L", packs=packs, colour_pack=10.0)
    (line,) = buy([make_need("glaze", 4.0)], make_catalogue(product))
    assert line.colour_packs == 4
    assert line.cost == 240.0 + 90.0 + 40.0
    assert any("4 colour packs" in text for text in line.arithmetic)


def test_mat_is_bought_in_rolls_by_its_drops_and_not_by_its_area():
    # Worked by hand: 5 drops of 8.5 m from a roll of 50 m, so 17 drops take 4 rolls; by area alone 3 would do.
    product = Product(id="mat", name="Mat", unit="m2", packs=(make_pack("roll", 50.0, 200.0),), width=1.0)
    need = make_need("mat", 17 * 8.5, drops=(8.5,) * 17)
    (line,) = buy([need], make_catalogue(product))
    assert bought(line.packs) == {"roll": 4}
    assert line.cost == 800.0


def test_drops_of_different_rooms_share_rolls():
    product = Product(id="mat", name="Mat", unit="m2", packs=(make_pack("roll", 10.0, 100.0),), width=1.0)
    needs = [make_need("mat", 12.0, room="R1", drops=(6.0, 6.0)), make_need("mat", 8.0, room="R2", drops=(4.0, 4.0))]
    (line,) = buy(needs, make_catalogue(product))
    assert bought(line.packs) == {"roll": 2}


def test_the_roll_whose_whole_rolls_cost_least_is_chosen():
    packs = (make_pack("short", 10.0, 60.0), make_pack("long", 30.0, 150.0))
    product = Product(id="mat", name="Mat", unit="m2", packs=packs, width=1.0)
    # Three drops of 6 m: three short rolls at 180, one long roll at 150.
    (line,) = buy([make_need("mat", 18.0, drops=(6.0,) * 3)], make_catalogue(product))
    assert bought(line.packs) == {"long": 1}


def test_drop_longer_than_every_roll_is_refused():
    product = Product(id="mat", name="Mat", unit="m2", packs=(make_pack("roll", 10.0, 100.0),), width=1.0)
    with pytest.raises(CatalogueError, match=r"no roll .* long enough"):
        buy([make_need("mat", 11.0, drops=(11.0,))], make_catalogue(product))


def test_a_cutting_plan_comes_with_the_mat_and_says_its_bound_and_waste():
    product = Product(id="mat", name="Mat", unit="m2", packs=(make_pack("roll", 10.0, 100.0),), width=1.0)
    (line,) = buy([make_need("mat", 20.0, drops=(5.0, 4.0, 3.0, 3.0, 3.0, 2.0))], make_catalogue(product))
    # By hand: 5+3+2 and 4+3+3 fill two rolls of 10 m; longest first takes three.
    assert (len(line.cut_plan.rolls), line.cut_plan.first_fit, bought(line.packs)) == (2, 3, {"roll": 2})
    said = " ".join(line.arithmetic)
    assert "6 drops in 6 cuts across 2 rolls" in said
    assert "nothing reused: 3; no plan for these cuts takes fewer than 2" in said


def test_strips_are_bought_in_whole_lengths_by_what_is_cut_from_each():
    # By hand: four corners of 1.6 m, two do not come out of one length of 3 m: four lengths, where metres alone say 3.
    trim = Product(id="trim", name="Trim", unit="m", packs=(make_pack("length", 3.0, 10.0),), stock_length=3.0)
    pieces = tuple(Piece(label=f"corner {n}", length=1.6) for n in range(4))
    need = replace(make_need("trim", 6.4), pieces=pieces)
    (line,) = buy([need], make_catalogue(trim))
    assert (bought(line.packs), len(line.stock_plan.stock), line.cost) == ({"length": 4}, 4, 40.0)
    assert any("4 pieces from 4 lengths" in text for text in line.arithmetic)


def test_bundles_of_lengths_are_opened_for_the_lengths_cut():
    trim = Product(id="trim", name="Trim", unit="m", packs=(make_pack("bundle of 5", 15.0, 45.0),), stock_length=3.0)
    need = replace(make_need("trim", 6.4), pieces=tuple(Piece(label="", length=1.6) for _ in range(4)))
    (line,) = buy([need], make_catalogue(trim))
    assert bought(line.packs) == {"bundle of 5": 1}


def test_material_as_used_costs_the_lowest_price_per_unit_without_anything_over():
    packs = (make_pack("3 gal", 3.0, 240.0, colours=3), make_pack("1 gal", 1.0, 90.0, colours=1))
    product = Product(id="glaze", name="Glaze", unit="L", packs=packs, colour_pack=10.0)
    (line,) = buy([make_need("glaze", 4.0), make_need("glaze", 0.5)], make_catalogue(product), as_used=True)
    # 3 for 240 with three colour packs is 90 a unit, 1 for 90 with one is 100
    assert (line.cost, line.left_over, line.packs) == (4.5 * 90.0, 0.0, ())
