from datetime import date

import pytest

from takeoff.errors import InputError
from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.crewing import around_hours, works_of
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import Crew, Follow
from takeoff.estimate.labour import labour_lines
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, Labour, Pack, Product, Rates, Step, System

RATES = Rates(crew=2)


def make_catalogue(*, steps=None, pot_life=0.5):
    def coat(id, **more):
        return Step(id=id, name=id.title(), kind="coat", basis="net_area", product="p", wet_film=2e-4, **more)

    steps = steps or (
        coat("prime", labour=Labour(rate=10.0), min_recoat=12.0, max_recoat=48.0),
        Step(id="cove", name="Cove", kind="work", basis="cove_length", labour=Labour(rate=5.0), min_recoat=24.0),
        coat("glaze", labour=Labour(rate=5.0)),
    )
    product = Product(
        id="p", name="P", unit="L", packs=(Pack(name="4 L", size=4.0, price=1.0),), pot_life=pot_life, temperature=25.0
    )
    return Catalogue(
        name="test",
        currency="USD",
        systems=(System(id="s", name="S", summary="", steps=steps),),
        products=(product,),
    )


def make_step(id, rate, kind="coat", **more):
    product = "p" if kind == "coat" else None
    return Step(id=id, name=id.title(), kind=kind, basis="net_area", product=product, wet_film=2e-4,
                labour=Labour(rate=rate), **more)  # fmt: skip


def works_in_one_room(*steps, area=40.0, **more):
    catalogue = make_catalogue(steps=steps, pot_life=more.pop("pot_life", 0.5))
    lots = [Lot(system="s", room="A", room_label="A", quantities=Quantities(net_area=area))]
    return works_of(labour_lines(lots, catalogue, RATES), catalogue, RATES, **more)[0]


def make_lines(**quantities):
    lots = [
        Lot(system="s", room=r, room_label=r, quantities=Quantities(net_area=40.0, **quantities)) for r in ("A", "B")
    ]
    return labour_lines(lots, make_catalogue(), RATES)


def test_steps_follow_each_other_in_their_room_with_the_window_of_the_step_before():
    works, crews = works_of(make_lines(), make_catalogue(), RATES, crews=2)
    # 40 m2 at 10 m2/h is 4 man-hours, 2 h for a crew of two; abrading a quarter of that.
    assert [(w.id, w.hours) for w in works] == [
        ("A/s/prime", 2.0),
        ("A/s/glaze", 4.0),
        ("B/s/prime", 2.0),
        ("B/s/glaze", 4.0),
    ]
    assert works[1].follows == (Follow(work="A/s/prime", wait=12.0, within=48.0, abrade_hours=0.5),)
    assert works[2].follows == ()
    assert (crews[0].count, works[0].mixes) == (2, ((2.0, 0.5),))


def test_step_without_measured_work_is_passed_over_with_its_wait():
    works, _ = works_of(make_lines(cove_length=10.0), make_catalogue(), RATES)
    assert [w.step for w in works[:3]] == ["prime", "cove", "glaze"]
    assert (works[2].follows[0].work, works[2].follows[0].wait) == ("A/s/cove", 24.0)


def test_windows_and_pot_lives_double_for_ten_degrees_less():
    works, _ = works_of(make_lines(), make_catalogue(), RATES, temperature=15.0)
    assert (works[1].follows[0].wait, works[1].follows[0].within, works[0].mixes) == (24.0, 96.0, ((2.0, 1.0),))


def test_works_of_an_estimate_make_a_plan():
    works, crews = works_of(make_lines(), make_catalogue(), RATES)
    plan = plan_days(works, crews, Calendar(start=date(2026, 3, 2)), effort=5.0)
    # Two primes on Monday, two glazes from Tuesday 07:00: 8 h and 8 h.
    assert (plan.days, plan.hours, plan.abraded, plan.is_proven) == (2, 16.0, 0, True)
    assert [w.batches for w in plan.works] == [4, 4, 8, 8]


def test_coat_with_a_wet_edge_is_done_in_one_go():
    # 40 m2 at 5 m2/h by two people: 4 h.
    (coat,) = works_in_one_room(make_step("glaze", 5.0, wet_edge=True))
    assert (coat.hours, coat.is_whole, coat.part) == (4.0, True, "")


def test_coat_with_a_wet_edge_that_is_longer_than_a_shift_is_laid_in_equal_parts_one_after_the_other():
    # 200 m2 at 5 m2/h by two people are 20 h: three parts of 6 h 40 min in shifts of 8 h, 14 batches of half an hour.
    parts = works_in_one_room(make_step("glaze", 5.0, wet_edge=True), area=200.0)
    assert [(w.id, w.part, w.is_whole) for w in parts] == [
        (f"A/s/glaze/{n}", f"part {n} of 3", True) for n in (1, 2, 3)
    ]
    assert [w.hours for w in parts] == pytest.approx([20.0 / 3] * 3)
    assert parts[1].follows == (Follow(work="A/s/glaze/1"),)
    plan = plan_days(parts, [Crew(id="crew", name="Crew")], Calendar(start=date(2026, 3, 2)))
    assert [(w.start.day, w.start.hour, len(w.bars), w.batches) for w in plan.works] == [
        (2, 7, 1, 14), (3, 7, 1, 14), (4, 7, 1, 14),
    ]  # fmt: skip
    assert len(works_in_one_room(make_step("glaze", 5.0, wet_edge=True), area=200.0, shift_hours=10.0)) == 2


def test_most_of_a_window_runs_from_each_part_and_abrading_is_of_that_part():
    glaze = make_step("glaze", 5.0, wet_edge=True, min_recoat=12.0, max_recoat=48.0)
    *parts, seal = works_in_one_room(glaze, make_step("seal", 40.0), area=120.0)
    assert len(parts) == 2
    # 12 h of glaze: a quarter is 3 h of abrading, half of it for each part.
    assert seal.follows == tuple(Follow(work=w.id, wait=12.0, within=48.0, abrade_hours=1.5) for w in parts)


def test_what_goes_into_a_wet_step_is_one_work_with_it():
    steps = (
        make_step("base", 10.0),
        make_step("mat", 5.0, kind="work", into_wet=True),
        make_step("saturate", 10.0, into_wet=True, min_recoat=12.0),
        make_step("sand", 10.0, kind="work"),
    )
    lay, sand = works_in_one_room(*steps)
    # 2 h + 4 h + 2 h; 4 batches of half an hour for each of the two coats.
    assert (lay.name, lay.hours, lay.is_whole) == ("Base to Saturate", 8.0, True)
    assert lay.mixes == ((2.0, 0.5), (2.0, 0.5))
    assert (sand.follows, sand.is_whole) == (
        (Follow(work="A/s/base+mat+saturate", wait=12.0, abrade_hours=0.5),),
        False,
    )


def test_what_is_mixed_in_one_batch_is_done_in_one_go():
    one, more = (works_in_one_room(make_step("prime", 5.0), pot_life=life)[0] for life in (4.0, 3.9))
    assert (one.is_whole, more.is_whole) == (True, False)


def test_each_coat_of_a_step_waits_for_the_one_before():
    first, second = works_in_one_room(make_step("top", 10.0, coats=2, min_recoat=2.0, max_recoat=24.0))
    assert [(w.id, w.part, w.hours) for w in (first, second)] == [
        ("A/s/top/1", "coat 1 of 2", 2.0),
        ("A/s/top/2", "coat 2 of 2", 2.0),
    ]
    assert second.follows == (Follow(work="A/s/top/1", wait=2.0, within=24.0, abrade_hours=0.5),)


def test_works_and_set_up_are_the_priced_hours():
    rates = Rates(crew=2, setup_hours=6.0)
    lines = make_lines()
    works, _ = works_of(lines, make_catalogue(), rates, crews=3)
    around = around_hours(rates, 3)
    priced = sum(line.hours for line in lines) + rates.setup_hours
    assert (sum(work.hours for work in works) + 2 * around * 3) * rates.crew == pytest.approx(priced)


def test_no_crew_is_refused():
    with pytest.raises(InputError, match="0 crews"):
        works_of(make_lines(), make_catalogue(), RATES, crews=0)
