from dataclasses import replace

import pytest

from takeoff.errors import CatalogueError
from takeoff.model.systems import Catalogue, Labour, Pack, Product, Rates, Step, System
from takeoff.system.catalogue_check import check_catalogue, check_rates

TIN = Pack(name="tin", size=10.0, price=100.0)
RESIN = Product(id="resin", name="Resin", unit="L", packs=(TIN,))
MAT = Product(id="mat", name="Mat", unit="m2", packs=(TIN,), width=1.27)
COAT = Step(id="glaze", name="Glaze", kind="coat", basis="net_area", product="resin", wet_film=2e-4)
SYSTEM = System(id="mat-hygienic", name="Hygienic", summary="", steps=(COAT,))
CATALOGUE = Catalogue(name="test", currency="USD", systems=(SYSTEM,), products=(RESIN, MAT))


def with_step(**changes):
    return replace(CATALOGUE, systems=(replace(SYSTEM, steps=(replace(COAT, **changes),)),))


def with_product(**changes):
    return replace(CATALOGUE, products=(replace(RESIN, **changes), MAT))


def refusal(catalogue):
    with pytest.raises(CatalogueError) as caught:
        check_catalogue(catalogue)
    assert caught.value.remedy
    return str(caught.value)


def test_a_sound_catalogue_passes():
    assert check_catalogue(CATALOGUE) is None


def test_unknown_product_is_refused_with_its_place():
    assert refusal(with_step(product="x")).startswith(
        'system mat-hygienic, step glaze: product "x" is not in the catalogue.'
    )


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({"wet_film": None}, "no film"),
        ({"dry_film": 1e-4}, "wet_film and dry_film"),
        ({"wet_film": 0.0}, "wet_film is 0"),
        ({"wet_film": -1e-4}, "wet_film is -0.0001"),
        ({"wet_film": 0.2}, "200 mm in one coat"),
        ({"wet_film": None, "spread": float("nan")}, "spread is nan"),
        ({"wet_film": None, "mat_ratio": 2.0}, "mat step before it"),
        ({"loss": 1.0}, "a loss of 1"),
        ({"loss": -0.1}, "a loss of -0.1"),
        ({"coats": 0}, "coats is 0"),
        ({"coats": 10**9}, "Give at most 100"),
        ({"direction": "along", "at_openings": "hung_around"}, "cannot be hung around openings"),
        ({"into_wet": True}, "no wet step before it"),
        ({"basis": "corner_length"}, "cannot be counted by corner_length"),
        ({"product": None}, "a coat needs a product"),
        ({"product": "mat"}, "sold by m2"),
        ({"min_recoat": 24.0, "max_recoat": 12.0}, "min_recoat of 24 h is more than max_recoat of 12 h"),
        ({"max_recoat": 1e9}, "max_recoat is 1000000000.0"),
        ({"labour": Labour()}, "a rate or minutes"),
        ({"labour": Labour(rate=1.0, minutes=1.0)}, "a rate or minutes"),
        ({"labour": Labour(rate=0.0)}, "labour is 0"),
        ({"lap": -0.1}, "lap is -0.1"),
        ({"kind": "sealant", "basis": "top_length"}, "no amount"),
        ({"kind": "mat", "product": "mat", "lap": 1.3}, "a lap of 1.3 m"),
    ],
)
def test_steps_that_cannot_be_are_refused(changes, found):
    message = refusal(with_step(**changes))
    assert message.startswith("system mat-hygienic, step glaze: ")
    assert found in message


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({"packs": ()}, "no packs"),
        ({"packs": (replace(TIN, size=0.0),)}, 'pack "tin": size is 0'),
        ({"packs": (replace(TIN, price=-1.0),)}, 'pack "tin": price is -1'),
        ({"packs": (TIN, TIN)}, 'pack "tin" is there twice'),
        ({"packs": (replace(TIN, colours=1),)}, "they have no price"),
        ({"volume_solids": 0.0}, "volume solids of 0"),
        ({"volume_solids": 65.0}, "volume solids of 65"),
        ({"density": 0.0}, "density is 0"),
        ({"colour_pack": float("inf")}, "colour_pack is inf"),
        ({"pot_life": 1e9}, "Give at most 8,760"),
        ({"lead_days": 10**9}, "Give at most 3,650"),
        ({"shelf_life_days": -1}, "shelf_life_days is -1"),
        ({"dew_margin": -3.0}, "dew_margin is -3"),
        ({"temperature": 1e6}, "a temperature of 1000000.0 °C"),
        ({"least_temperature": float("nan")}, "a temperature of nan °C"),
        ({"least_temperature": 30.0, "most_temperature": 5.0}, "30 °C is more than most_temperature of 5 °C"),
        ({"stock_length": 2.4}, "a stock length on a product sold by"),
        ({"unit": "m", "stock_length": 3.0, "packs": (replace(TIN, size=7.0),)}, "holds 2.33 stock lengths"),
    ],
)
def test_products_that_cannot_be_are_refused(changes, found):
    message = refusal(with_product(**changes))
    assert message.startswith("product resin")
    assert found in message


def test_ids_that_stand_twice_are_refused():
    assert 'product "resin" is there twice' in refusal(replace(CATALOGUE, products=(RESIN, RESIN)))
    assert 'system "mat-hygienic" is there twice' in refusal(replace(CATALOGUE, systems=(SYSTEM, SYSTEM)))
    assert 'step "glaze" is there twice' in refusal(replace(CATALOGUE, systems=(replace(SYSTEM, steps=(COAT, COAT)),)))


def test_system_without_steps_is_refused():
    assert "no steps" in refusal(replace(CATALOGUE, systems=(replace(SYSTEM, steps=()),)))


def test_a_cure_without_an_end_is_refused():
    assert "Give at most 8,760" in refusal(replace(CATALOGUE, systems=(replace(SYSTEM, cure=1e9),)))


def test_mass_sold_product_used_by_volume_needs_its_density():
    assert "density" in refusal(with_product(unit="kg"))
    assert check_catalogue(with_product(unit="kg", density=1.2)) is None


def test_currency_must_be_a_code():
    assert "currency" in refusal(replace(CATALOGUE, currency="$"))


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({"wage": -1.0}, "wage is -1"),
        ({"overhead": float("nan")}, "overhead is nan"),
        ({"crew": 0}, "crew is 0"),
        ({"crew": 10**400}, "Give at most 1,000"),
        ({"setup_hours": 1e9}, "setup_hours is 1000000000.0"),
        ({"least_visit_hours": 25.0}, "Give at most 24"),
        ({"phase_gap": 10**9}, "Give at most 366"),
        ({"shift_hours": 0.0}, "a shift of 0"),
        ({"shift_hours": 1e-6}, "a shift of 1e-06"),
        ({"profit": 1.0, "profit_basis": "margin"}, "a margin of 100 %"),
        ({"height_factors": ()}, "do not start at the floor"),
        ({"height_factors": ((1.0, 1.0),)}, "do not start at the floor"),
        ({"height_factors": ((0.0, 1.0), (5.0, 1.2), (3.0, 1.1))}, "not in order"),
        ({"height_factors": ((0.0, 0.0),)}, "height factor is 0"),
        # percentages written for fractions
        ({"price_tax": 1.0}, "price_tax is 1, which is 100%"),
        ({"material_tax": 8.25}, "material_tax is 8.25"),
        ({"retention": 5.0}, "retention is 5"),
        ({"cut_up_factor": 10.0}, "cut_up_factor is 10"),
        ({"height_factors": ((0.0, 1.0), (3.0, 15.0))}, "height factor is 15"),
    ],
)
def test_rates_that_price_nothing_sensibly_are_refused(changes, found):
    with pytest.raises(CatalogueError, match=r"^rates: ") as caught:
        check_rates(replace(Rates(), **changes))
    assert found in str(caught.value)


def test_a_markup_of_more_than_the_cost_is_allowed():
    assert check_rates(Rates(profit=1.5, profit_basis="markup")) is None


@pytest.mark.parametrize("price", [0.0, 1e300])
def test_a_pack_that_costs_nothing_or_more_than_a_house_is_refused(price):
    assert 'pack "tin": price is' in refusal(with_product(packs=(replace(TIN, price=price),)))


def test_a_percentage_written_for_a_fraction_is_refused_with_the_fraction_that_was_meant():
    with pytest.raises(CatalogueError, match=r"overhead is 12, which is 1,200%\. Give .* 0\.12 is 12 %"):
        check_rates(Rates(overhead=12.0))
