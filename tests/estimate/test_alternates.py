from dataclasses import replace

import pytest

from takeoff.errors import InputError
from takeoff.estimate.alternates import compare
from takeoff.estimate.price import estimate
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, Labour, Pack, Product, Rates, Step, System

RATES = Rates(wage=40.0, burden=0.25, contingency=0.0, overhead=0.0, profit=0.0, setup_hours=0.0)


def make_catalogue(currency="USD"):
    def product(id, price):
        return Product(id=id, name=id.title(), unit="L", packs=(Pack(name="10 L", size=10.0, price=price),))

    def coat(id, product):
        return Step(
            id=id,
            name=id.title(),
            kind="coat",
            basis="net_area",
            product=product,
            wet_film=2e-4,
            labour=Labour(rate=10.0),
        )

    return Catalogue(
        name="test",
        currency=currency,
        systems=(
            System(id="two", name="Two coats", summary="", steps=(coat("prime", "primer"), coat("glaze", "glaze"))),
            System(id="one", name="One coat", summary="", steps=(coat("prime", "primer"),)),
        ),
        products=(product("primer", 100.0), product("glaze", 200.0)),
    )


def price(system, area=50.0, currency="USD"):
    lot = Lot(system=system, room="R1", room_label="R1", quantities=Quantities(net_area=area))
    return estimate([lot], make_catalogue(currency), RATES)


def both(**more):
    return compare([("One coat", price("one")), ("Two coats", price("two", **more))])


def test_alternates_show_what_each_costs_and_the_difference_to_the_first():
    # By hand, 50 m2 at 10 m2/h and 50 an hour: 250 a coat; 10 L a coat: one pack of 100 and one of 200.
    found = both()
    assert found.names == ("One coat", "Two coats")
    assert found.row("price", "price").values == (350.0, 800.0)
    assert found.row("price", "price").differences == (0.0, 450.0)
    assert found.row("total", "hours").values == (5.0, 10.0)


def test_line_that_one_alternate_lacks_is_none_and_counts_nothing():
    row = both().row("material", "glaze")
    assert (row.values, row.differences) == ((None, 200.0), (0.0, 200.0))
    assert both().row("labour", "glaze").values == (None, 250.0)


def test_what_differs_leaves_out_what_is_the_same():
    found = both()
    kinds = {(row.kind, row.id) for row in found.what_differs}
    assert ("material", "primer") not in kinds
    assert ("total", "net_area") not in kinds
    assert {("material", "glaze"), ("labour", "glaze"), ("price", "direct")} <= kinds


def test_notes_say_what_only_one_takes_and_when_areas_differ():
    assert [note for note in both().notes if not note.startswith("Open in")] == ['Only "Two coats" takes: Glaze.']
    assert both(area=40.0).notes[0] == "The alternates do not cover the same net area."
    doubted = replace(price("two"), doubts=("Something is doubtful.",))
    found = compare([("A", price("two")), ("B", doubted)])
    assert [note for note in found.notes if '"B"' in note] == ['Open in "B": Something is doubtful.']


def test_differences_of_price_lines_add_up_to_that_of_the_price():
    found = both()
    parts = ("material", "material_tax", "freight", "labour", "setup", "access", "contingency", "overhead", "profit")
    parts += ("minimum", "tax")
    assert sum(found.row("price", id).differences[1] for id in parts) == pytest.approx(450.0)


def test_fewer_than_two_same_names_and_different_currencies_are_refused():
    one = ("A", price("one"))
    with pytest.raises(InputError, match="1 alternates by name"):
        compare([one, one])
    with pytest.raises(InputError, match="EUR and USD"):
        compare([one, ("B", price("one", currency="EUR"))])
