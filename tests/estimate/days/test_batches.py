import pytest

from takeoff.estimate.days.batches import late_packs, late_words
from takeoff.estimate.price import estimate
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, Labour, Pack, Product, Rates, Step, System


def late(*, pot_life, people=2, temperature=None, sizes=(4.0, 20.0)):
    """Price 100 m2 at 0.2 mm wet and 10 m2 per man-hour, and see which packs outlast their pot life."""
    packs = tuple(Pack(name=f"{size:g} L", size=size, price=10.0) for size in sizes)
    product = Product(id="p", name="P", unit="L", packs=packs, pot_life=pot_life, temperature=20.0)
    step = Step(id="top", name="Top coat", kind="coat", basis="net_area", product="p", wet_film=2e-4,
                labour=Labour(rate=10.0, height_factor=False))  # fmt: skip
    system = System(id="s", name="S", summary="", steps=(step,))
    catalogue = Catalogue(name="test", currency="USD", systems=(system,), products=(product,))
    rates = Rates(crew=people)
    lots = [Lot(system="s", room="A", room_label="A", quantities=Quantities(net_area=100.0))]
    return late_packs(estimate(lots, catalogue, rates), catalogue, rates, temperature=temperature)


def test_pack_that_outlasts_its_pot_life_is_named():
    # By hand: 0.2 L/m2 at 20 m2/h of two people are 4 L an hour, so 4 L take 60 min.
    (found,) = late(pot_life=0.5)
    assert (found.name, found.pack, found.hours) == ("Top coat", "4 L", pytest.approx(1.0))
    said = "Mix in parts, or send more people: Top coat (4 L: 60 min to lay, pot life 30 min)."
    assert late_words((found,)) == said


def test_more_people_lay_it_in_time_and_so_does_a_cooler_day():
    assert late(pot_life=0.5, people=4) == ()
    # Ten degrees less double the pot life to an hour.
    assert late(pot_life=0.5, temperature=10.0) == ()
    assert late(pot_life=1.0) == ()
    assert late(pot_life=None) == ()


def test_nothing_late_is_nothing_said():
    assert late_words(()) == ""
