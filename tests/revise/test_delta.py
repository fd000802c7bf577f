from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.model.costs import Estimate, PriceLine
from takeoff.model.figures import MeasuredItem, Measurement, Quantities, Uncertainty
from takeoff.revise.delta import Delta, Pair, make_delta


def item(id: str, net: float, base: float, *runs: str) -> MeasuredItem:
    figures = Quantities(net_area=net, base_length=base)
    return MeasuredItem(id=id, label=f"Room {id}", quantities=figures, u=Uncertainty(), sources=runs)


def measurement(by: str, *items: MeasuredItem) -> Measurement:
    total = Quantities(
        net_area=sum(i.quantities.net_area for i in items), base_length=sum(i.quantities.base_length for i in items)
    )
    return Measurement(
        by=by,
        rule="exact-net",
        items=items,
        total=MeasuredItem(id="total", label="Total", quantities=total, u=Uncertainty()),
    )


def estimate(price: float, hours: float) -> Estimate:
    none = ()
    return Estimate(
        currency="USD", materials=(), labour=(),
        price=(PriceLine(id="price", label="Price", amount=price, arithmetic=none),),
        rooms=(), systems=(), net_area=1.0, price_per_area=price, hours=hours, crew_days=1.0, cautions=(), notes=(),
    )  # fmt: skip


BEFORE = (
    measurement("room", item("R1", 50.0, 20.0, "a"), item("R2", 40.0, 16.0, "b", "d"), item("R3", 8.0, 4.0, "c")),
    measurement("run", item("a", 50.0, 20.0), item("d", 10.0, 4.0), item("b", 30.0, 12.0), item("c", 8.0, 4.0)),
    estimate(1000.0, 30.0),
)
AFTER = (
    measurement("room", item("R1", 56.0, 22.0, "a"), item("R2", 37.0, 15.0, "b", "d")),
    measurement("run", item("a", 56.0, 22.0), item("d", 9.0, 4.0), item("b", 28.0, 11.0)),
    estimate(985.0, 29.5),
)
WORDS = {"a": ("length changed",), "b": ("openings changed",), "c": ("wall gone",)}


@pytest.fixture
def delta() -> Delta:
    steps = {"a": 60.0, "b": -10.25, "c": -70.0, "d": 0.1}
    return make_delta(BEFORE, AFTER, words=WORDS, steps=steps, used=Pair(before=950.0, after=929.85))


def test_added_and_deducted_are_kept_apart(delta: Delta) -> None:
    assert delta.added("net_area") == pytest.approx(6.0)
    assert delta.deducted("net_area") == pytest.approx(1.0 + 2.0 + 8.0)
    assert delta.total["net_area"].change == pytest.approx(6.0 - 11.0)


def test_money_is_added_deducted_and_left_over_in_whole_packs(delta: Delta) -> None:
    # run d has less to coat and costs more: its money stands beside its area
    assert delta.money_added == 60.00
    assert delta.money_deducted == 80.15
    assert (delta.left_over.before, delta.left_over.after) == (50.0, 55.15)
    assert delta.whole_packs == 5.15
    assert delta.other == 0.0


def test_runs_stand_under_their_rooms_and_sum_to_them(delta: Delta) -> None:
    assert [(r.room, r.id) for r in delta.runs] == [
        ("Room R1", "a"), ("Room R2", "d"), ("Room R2", "b"), ("Room R3", "c"),
    ]  # fmt: skip
    assert {r.id: r.price_change for r in delta.rooms} == {"R1": 60.0, "R2": -10.15, "R3": -70.0}


@given(
    st.lists(st.integers(-500_000, 500_000), min_size=4, max_size=4),
    st.tuples(*[st.integers(0, 10**8)] * 2),
    st.tuples(*[st.integers(0, 10**7)] * 2),
)
def test_runs_rooms_packs_and_the_rest_make_the_change_of_the_price_to_the_cent(
    cents: list[int], used: tuple[int, int], left: tuple[int, int]
) -> None:
    old, new = (estimate((u + p) / 100, 1.0) for u, p in zip(used, left, strict=True))
    delta = make_delta(
        (*BEFORE[:2], old),
        (*AFTER[:2], new),
        words={},
        steps=dict(zip("abcd", (c / 100 for c in cents), strict=True)),
        used=Pair(before=used[0] / 100, after=used[1] / 100),
    )
    runs = round(100 * sum(r.price_change for r in delta.runs))
    rooms = round(100 * sum(r.price_change for r in delta.rooms))
    assert runs == rooms == sum(cents)
    rest = round(100 * delta.whole_packs) + round(100 * delta.other)
    assert rooms + rest == round(100 * delta.price.change)
    assert round(100 * delta.whole_packs) == left[1] - left[0]


def test_a_room_that_is_gone_counts_from_all_to_nothing(delta: Delta) -> None:
    gone = next(r for r in delta.rooms if r.id == "R3")
    assert (gone.figures["net_area"].before, gone.figures["net_area"].after) == (8.0, 0.0)


def test_what_did_not_change_is_left_out() -> None:
    same = (measurement("room", item("R1", 50.0, 20.0)), measurement("run", item("a", 50.0, 20.0)), estimate(9.0, 1.0))
    assert make_delta(same, same, words={}, steps={}, used=Pair(before=9.0, after=9.0)).rooms == ()
