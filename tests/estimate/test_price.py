from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import CatalogueError
from takeoff.estimate.bill import margin_of_markup, markup_of_margin
from takeoff.estimate.price import estimate, usual_cautions
from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, Labour, Pack, Product, Rates, Step, System
from takeoff.system.bases import steps_on
from takeoff.units.money import add
from tests.system.blank_faces import blank_face

PACKS = (Pack(name="10 L", size=10.0, price=100.0), Pack(name="5 L", size=5.0, price=90.0))
RESIN = Product(id="resin", name="Resin", unit="L", packs=PACKS, hazards=("epoxy",))
COAT = Step(
    id="coat", name="Coat", kind="coat", basis="coated_area", product="resin", wet_film=2e-4, loss=0.2,
    labour=Labour(rate=10.0),
)  # fmt: skip
COVE = Step(id="key", name="Key", kind="work", basis="cove_length", labour=Labour(rate=10.0))
CATALOGUE = Catalogue(
    name="test",
    currency="USD",
    products=(RESIN,),
    systems=(
        System(id="wall", name="Wall", summary="", steps=(COAT,), notes=("Approve a sample.",)),
        System(id="base", name="Base", summary="", steps=(COVE,)),
    ),
    notes=("Example prices.",),
)
RATES = Rates(
    wage=40.0, burden=0.25, crew=2, shift_hours=8.0, setup_hours=2.0, minimum_charge=0.0,
    height_factors=((0.0, 1.0), (3.0, 1.2)), access_per_day=75.0, contingency=0.10, overhead=0.20, profit=0.25,
    material_tax=0.10, freight=56.0,
)  # fmt: skip


def make_lot(area=100.0, *, room="R1", system="wall", **quantities):
    return Lot(
        system=system,
        room=room,
        room_label=f"Room {room}",
        quantities=Quantities(net_area=area, **quantities),
        bands=((0.0, 3.0, area / 2), (3.0, 6.0, area / 2)),
    )


def amounts(found):
    return {line.id: line.amount for line in found.price}


def test_an_estimate_worked_by_hand_comes_out_line_by_line():
    # 100 m2 at 200 µm is 20 L, / 0.8 = 25 L: 2 x 10 L + 1 x 5 L = 290 (3 x 10 L would be 300).
    # 10 h x 1.1 for height = 11 h at 40 x 1.25 = 50. 13 h over 16 a day is one started day of access.
    found = estimate([make_lot()], CATALOGUE, replace(RATES, minimum_charge=2000.0, price_tax=0.05))
    assert amounts(found) == {
        "material": 290.0,
        "material_tax": 29.0,
        "freight": 56.0,
        "labour": 550.0,
        "setup": 100.0,
        "access": 75.0,
        "direct": 1100.0,
        "contingency": 110.0,
        "overhead": 242.0,
        "profit": 363.0,
        "minimum": 185.0,
        "net_price": 2000.0,
        "tax": 100.0,
        "price": 2100.0,
    }
    assert (found.hours, found.crew_days) == pytest.approx((13.0, 0.8125))
    assert (found.net_area, found.price_per_area) == (100.0, 21.0)
    assert found.line("price").amount == 2100.0


def test_a_margin_of_20_percent_is_a_markup_of_25():
    # Derived: g = m / (1 + m); cost 1452 / 0.8 = 1815.
    markup = amounts(estimate([make_lot()], CATALOGUE, RATES))
    margin = amounts(estimate([make_lot()], CATALOGUE, replace(RATES, profit=0.20, profit_basis="margin")))
    assert markup == margin
    assert margin["net_price"] == 1815.0
    assert margin["profit"] / margin["net_price"] == 0.20


def test_price_at_20_percent_margin_on_100_000_is_125_000():
    # Derived; at 20 % markup it is 120 000.
    assert 100_000 * (1 + markup_of_margin(0.20)) == pytest.approx(125_000)
    assert margin_of_markup(0.25) == pytest.approx(0.20)


def test_a_margin_of_the_whole_price_is_refused():
    with pytest.raises(CatalogueError, match="margin of 100 %"):
        estimate([make_lot()], CATALOGUE, replace(RATES, profit=1.0, profit_basis="margin"))


def test_the_minimum_charge_does_not_touch_a_price_above_it():
    assert amounts(estimate([make_lot()], CATALOGUE, replace(RATES, minimum_charge=500.0)))["minimum"] == 0.0


def test_no_lots_give_an_empty_estimate_that_says_so():
    found = estimate([], CATALOGUE, replace(RATES, minimum_charge=2000.0))
    assert found.line("price").amount == 0.0
    assert (found.materials, found.labour, found.rooms, found.systems) == ((), (), (), ())
    assert (found.hours, found.price_per_area) == (0.0, 0.0)
    assert found.doubts == ("There is nothing to price: no room that was measured has a system.",)
    assert found.cautions


def test_a_room_of_area_zero_is_doubted_and_does_not_divide_by_zero():
    found = estimate([make_lot(0.0)], CATALOGUE, RATES)
    assert found.price_per_area == 0.0
    assert found.rooms[0].price == found.line("price").amount
    assert any("Room R1" in doubt and "nothing" in doubt for doubt in found.doubts)


@pytest.mark.parametrize(
    ("products", "step", "found"),
    [
        ((replace(RESIN, packs=(replace(PACKS[0], price=-500.0),)),), COAT, "price is -500"),
        ((RESIN,), replace(COAT, coats=-1), "coats is -1"),
        ((RESIN,), replace(COAT, labour=Labour(rate=-3.0)), "labour is -3"),
        ((), COAT, 'product "resin" is not in the catalogue'),
    ],
)
def test_what_no_catalogue_file_may_hold_is_refused_when_it_is_priced_too(products, step, found):
    # a job that another program wrote as JSON brings its own systems: these went into the price as they were
    system = System(id="wall", name="Wall", summary="", steps=(step,))
    with pytest.raises(CatalogueError, match=found):
        estimate([make_lot()], replace(CATALOGUE, products=products, systems=(system,)), RATES)


def test_a_step_without_labour_and_a_wage_of_nothing_are_told():
    bare = System(id="wall", name="Wall", summary="", steps=(replace(COAT, labour=None), COVE))
    found = estimate([make_lot(cove_length=3.0)], replace(CATALOGUE, systems=(bare,)), replace(RATES, wage=0.0))
    assert amounts(found)["labour"] == 0.0
    assert any("gives no labour for Coat:" in doubt for doubt in found.doubts)
    assert any("An hour of the crew costs nothing" in doubt for doubt in found.doubts)
    assert not [d for d in estimate([make_lot()], CATALOGUE, RATES).doubts if "labour" in d]


def test_a_coat_that_the_system_has_for_other_substrates_alone_is_told():
    # docs/catalogue.md, `on`: a step is done on these substrates; a wall of another goes without it
    primer = replace(COAT, id="prime", name="Prime", on=("concrete", "block"))
    system = System(id="wall", name="Wall", summary="", steps=(primer, COAT))
    for substrate, told in (("metal", True), ("concrete", False)):
        lot = replace(make_lot(), substrate=substrate)
        found = estimate([lot], replace(CATALOGUE, systems=(system,)), RATES)
        assert len(found.materials[0].needs) == 2 - told
        said = f"The system wall lays Prime on other substrates alone and has no such coat for {substrate}."
        assert (said in found.doubts) == told


def test_what_a_catalogue_leaves_to_its_defaults_and_a_factor_for_a_fraction_are_told():
    # docs/catalogue.md: without loss none is bought, without volume solids a dry film takes as much as a wet one
    coat = replace(COAT, wet_film=None, dry_film=2e-4, loss=0.0)
    bare = System(id="wall", name="Wall", summary="", steps=(coat,))
    found = estimate([make_lot()], replace(CATALOGUE, systems=(bare,)), replace(RATES, overhead=1.15))
    assert list(found.doubts) == [
        "The overhead is 1.15, 115 %: where a factor is meant, it is 0.15.",
        "The system wall gives no loss for Coat: what is spilled and stays in tools is not bought.",
        "The system wall takes what Coat is laid with for all solids, its dry film for its wet film.",
    ]
    assert estimate([make_lot()], CATALOGUE, RATES).doubts == ()


def test_unknown_system_is_refused_with_the_known_ids():
    with pytest.raises(CatalogueError, match=r'no system "marble"\. Known systems: wall, base'):
        estimate([make_lot(system="marble")], CATALOGUE, RATES)


def test_cove_that_no_step_makes_is_doubted():
    found = estimate([make_lot(cove_length=10.0)], CATALOGUE, RATES)
    assert any("10.00 m (32.8 ft) of cove" in doubt for doubt in found.doubts)


def test_cautions_follow_the_products_and_notes_the_catalogue_and_systems():
    found = estimate([make_lot()], CATALOGUE, RATES)
    assert any("epoxies" in caution for caution in found.cautions)
    assert not any("Isocyanates" in caution for caution in found.cautions)
    assert found.notes == ("Example prices.", "Approve a sample.")


def test_wall_beside_a_base_that_coats_no_wall_is_not_in_the_area():
    lots = [make_lot(60.0), make_lot(40.0, room="R2", system="base", cove_length=20.0)]
    found = estimate(lots, CATALOGUE, RATES)
    assert found.net_area == 60.0
    assert [room.area for room in found.rooms] == [60.0, 0.0]
    assert [(system.id, system.label) for system in found.systems] == [("wall", "Wall"), ("base", "Base")]


def test_material_cost_is_shared_by_need_and_labour_falls_where_it_is_done():
    # 20 L over both rooms: two tins of 10 L at 200; three quarters of it in R1.
    lots = [make_lot(60.0), make_lot(20.0, room="R2")]
    first, second = estimate(lots, CATALOGUE, RATES).rooms
    assert (first.material, second.material) == (150.0, 50.0)
    assert (first.labour, second.labour) == (330.0, 110.0)
    assert first.price == pytest.approx(3 * second.price, abs=0.02)


def test_every_price_line_carries_its_arithmetic():
    found = estimate([make_lot()], CATALOGUE, RATES)
    assert all(line.arithmetic for line in (*found.price, *found.labour, *found.materials))
    assert any("25 % of USD 1,452.00" in text for text in found.line("profit").arithmetic)


areas = st.floats(0.5, 5000)


@given(areas, st.floats(0, 500))
def test_more_area_never_costs_less(area, more):
    small, large = (estimate([make_lot(a)], CATALOGUE, RATES).line("price").amount for a in (area, area + more))
    assert large >= small


@given(
    st.lists(areas, min_size=1, max_size=6),
    st.floats(0, 5000),
    st.floats(0, 0.9),
    st.sampled_from(["markup", "margin"]),
)
def test_shares_of_rooms_and_systems_add_up_to_the_price(room_areas, minimum, profit, basis):
    lots = [
        make_lot(area, room=f"R{i // 2}", system=("wall", "base")[i % 2], cove_length=area / 3)
        for i, area in enumerate(room_areas)
    ]
    rates = replace(RATES, minimum_charge=minimum, profit=profit, profit_basis=basis, price_tax=0.07)
    found = estimate(lots, CATALOGUE, rates)
    price = found.line("price").amount
    assert add(room.price for room in found.rooms) == price
    assert add(system.price for system in found.systems) == price
    assert add(room.material for room in found.rooms) == found.line("material").amount
    assert add(room.labour for room in found.rooms) == found.line("labour").amount


@given(st.floats(0, 5))
def test_markup_and_margin_undo_each_other(markup):
    assert markup_of_margin(margin_of_markup(markup)) == pytest.approx(markup)
    assert margin_of_markup(markup) == pytest.approx(1 - 1 / (1 + markup))


@given(st.floats(0, 0.9))
def test_profit_as_a_margin_is_that_part_of_the_price(margin):
    found = amounts(estimate([make_lot()], CATALOGUE, replace(RATES, profit=margin, profit_basis="margin")))
    assert found["profit"] == pytest.approx(margin * found["net_price"], abs=0.02)


@pytest.mark.parametrize("system", [s.id for s in default_catalogue().systems])
def test_every_shipped_system_prices_a_room_with_the_arithmetic_of_each_line(system):
    catalogue = default_catalogue()
    quantities = Quantities(
        length=20.0, gross_area=60.0, net_area=48.66, base_length=16.6, top_length=20.0, jamb_length=13.0,
        head_length=6.0, sill_length=2.6, inside_corners=4, inside_corner_length=12.0, outside_corner_length=3.0,
        cove_length=16.6, cove_girth_area=3.14, cove_volume=0.0216, cove_inside_corners=4, cove_outside_corners=1,
    )  # fmt: skip
    face = blank_face(20.0, 3.0, is_closed=True, inside=4)
    lot = Lot(
        system=system, room="R1", room_label="Process", quantities=quantities, faces=(face,), bands=((0.0, 3.0, 48.66),)
    )
    found = estimate([lot], catalogue, catalogue.rates)
    steps = steps_on(catalogue.system(system), "concrete")
    assert {line.step for line in found.labour} == {step.id for step in steps if step.labour is not None}
    assert all(line.needed <= line.bought * (1 + 1e-8) for line in found.materials)
    assert all(need.arithmetic for line in found.materials for need in line.needs)
    assert add(room.price for room in found.rooms) == found.line("price").amount
    used = [catalogue.product(line.product) for line in found.materials]
    has_isocyanate = any("isocyanate" in product.hazards for product in used)
    assert any("Isocyanates" in caution for caution in found.cautions) == has_isocyanate


def test_systems_come_in_catalogue_order_and_rooms_as_they_are_given():
    given = [make_lot(room="R9", system="base", cove_length=4.0), make_lot(room="R10"), make_lot(room="R2")]
    found = estimate(given, CATALOGUE, RATES)
    assert [s.id for s in found.systems] == ["wall", "base"]
    assert [r.id for r in found.rooms] == [line.room for line in found.labour] == ["R9", "R10", "R2"]
    assert [a.room for a in found.areas] == ["R9", "R10", "R2"]


def test_arithmetic_of_a_job_in_feet_reads_feet_first():
    found = estimate([make_lot(9.290304)], CATALOGUE, RATES, units="imperial")
    assert found.labour[0].arithmetic[0].startswith("100.0 sf (9.29 m²) at ")
    assert found.materials[0].needs[0].arithmetic[1].startswith("100.0 sf (9.29 m²) × 1 coat")


def test_mat_on_block_without_a_filler_is_doubted():
    mat = Product(id="glass", name="Glass", unit="m2", packs=PACKS, width=1.0)
    fill = replace(COAT, id="fill", fills_pores=True)
    hang = Step(id="mat", name="Mat", kind="mat", basis="coated_area", product="glass", labour=Labour(rate=10.0))
    for steps, substrate, is_told in (
        ((COAT, hang), "block", True),
        ((COAT, hang), "brick", True),
        ((COAT, hang), "concrete", False),
        ((fill, COAT, hang), "block", False),
        ((COAT, hang, fill), "block", True),
        ((COAT,), "block", False),
    ):
        systems = (System(id="wall", name="Wall", summary="", steps=steps),)
        catalogue = replace(CATALOGUE, systems=systems, products=(RESIN, mat))
        face = blank_face(10.0, 3.0)
        lot = replace(make_lot(30.0), faces=(face,))
        found = estimate([lot], catalogue, replace(RATES, substrate=substrate))
        assert any("without a filler" in doubt for doubt in found.doubts) == is_told


@pytest.mark.parametrize(
    "subject",
    ["check dimensions", "data sheet", "codes and authorities", "dew-point", "lead", "height", "confined", "licensed"],
)
def test_the_general_cautions_are_always_there(subject):
    assert any(subject in sentence for sentence in usual_cautions([]))


@pytest.mark.parametrize(
    ("hazard", "word"), [("isocyanate", "asthma"), ("epoxy", "allergy"), ("silica", "silica"), ("solvent", "vapour")]
)
def test_each_hazard_brings_its_own_caution_once(hazard, word):
    assert not any(word in sentence for sentence in usual_cautions([]))
    assert sum(word in sentence for sentence in usual_cautions([hazard, hazard])) == 1


def test_the_last_word_is_that_an_estimate_guarantees_nothing():
    assert usual_cautions(["epoxy"])[-1] == "This report is an estimate, not a guarantee."
