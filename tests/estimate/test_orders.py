"""Order lists worked by hand over a plan of three days."""

from dataclasses import replace
from datetime import date, datetime

from takeoff.estimate.days.works import DayPlan, PlannedWork
from takeoff.estimate.orders import order_list
from takeoff.estimate.price import estimate
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, Labour, Pack, Product, Rates, Step, System


def make_product(id, **more):
    return Product(id=id, name=id.title(), unit="L", packs=(Pack(name="4 L", size=4.0, price=40.0),), **more)


def make_coat(id, product):
    return Step(
        id=id, name=id.title(), kind="coat", basis="net_area", product=product, wet_film=2e-4, labour=Labour(rate=10.0)
    )


CATALOGUE = Catalogue(
    name="test",
    currency="USD",
    systems=(System(id="s", name="S", summary="", steps=(make_coat("prime", "primer"), make_coat("top", "glaze"))),),
    products=(make_product("primer", code="P-1", lead_days=10), make_product("glaze", shelf_life_days=5)),
)
LOTS = [Lot(system="s", room="R", room_label="R", quantities=Quantities(net_area=60.0))]


def work(step, day, month=3):
    start = datetime(2026, month, day, 7)
    return PlannedWork(
        work=f"R/s/{step}", room="R", step=step, name=step, kind="work", start=start, end=start.replace(hour=15),
        bars=((start, start.replace(hour=15)),), crews=("Crew",), reason="",
    )  # fmt: skip


def plan(*works):
    return DayPlan(works=works, rooms=(), finish=None, days=0, hours=0.0, bound=0.0, abraded=0)


def ordered(*works, catalogue=CATALOGUE):
    found = estimate(LOTS, catalogue, Rates())
    return {line.product: line for line in order_list(found, catalogue, plan(*works))}


def test_each_week_is_a_delivery_on_the_first_day_of_use_and_is_ordered_its_lead_time_before():
    # Primer on Tuesday 10 March: ordered on 28 February, ten days before. Glaze in the week after.
    lines = ordered(work("prime", 10), work("top", 16))
    assert [(line.delivery, line.need_by) for line in lines.values()] == [
        (1, date(2026, 3, 10)), (2, date(2026, 3, 16)),
    ]  # fmt: skip
    assert (lines["primer"].code, lines["primer"].order_by) == ("P-1", date(2026, 2, 28))
    assert lines["glaze"].order_by is None


def test_what_is_first_used_in_one_week_comes_together_on_its_first_day():
    lines = ordered(work("prime", 10), work("top", 12))
    assert {(line.delivery, line.need_by) for line in lines.values()} == {(1, date(2026, 3, 10))}
    # It is ordered for the day on which it comes, and keeps from then on: glaze from the 10th, two days before its use.
    lead = tuple(replace(product, lead_days=10) for product in CATALOGUE.products)
    used = (work("prime", 10), work("top", 12), work("top", 16))
    lines = ordered(*used, catalogue=replace(CATALOGUE, products=lead))
    assert lines["glaze"].order_by == date(2026, 2, 28)
    assert lines["glaze"].notes == ("keeps 5 days and is used until 2026-03-16: have it brought in parts",)


def test_a_product_that_does_not_keep_until_its_last_use_is_told():
    # 60 m² at 0.2 mm are 12 L, three packs of 4 L. Used on the 16th and the 23rd: seven days, and it keeps five.
    lines = ordered(work("prime", 10), work("top", 16), work("top", 23))
    assert lines["glaze"].notes == ("keeps 5 days and is used until 2026-03-23: have it brought in parts",)
    assert not ordered(work("prime", 10), work("top", 16), work("top", 21))["glaze"].notes


def test_a_step_worked_together_with_others_is_found_and_nothing_is_dated_without_a_plan():
    lines = ordered(work("prime+top", 10))
    assert {line.need_by for line in lines.values()} == {date(2026, 3, 10)}
    found = estimate(LOTS, CATALOGUE, Rates())
    assert {(line.delivery, line.need_by) for line in order_list(found, CATALOGUE)} == {(0, None)}


def test_what_is_ordered_is_what_is_priced():
    found = estimate(LOTS, CATALOGUE, Rates())
    lines = order_list(found, CATALOGUE, plan(work("prime", 10), work("top", 16)))
    assert {line.product: line.packs for line in lines} == {line.product: line.packs for line in found.materials}
    longer = replace(CATALOGUE, products=tuple(replace(p, lead_days=None) for p in CATALOGUE.products))
    assert all(line.order_by is None for line in ordered(work("prime", 10), work("top", 16), catalogue=longer).values())
