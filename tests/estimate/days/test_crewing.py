from datetime import date

import pytest

from takeoff.errors import InputError
from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.crewing import around_hours, works_of
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import Follow
from takeoff.estimate.labour import labour_lines
from takeoff.exchange.catalogue_file import default_catalogue
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
        name="test", currency="USD", systems=(System(id="s", name="S", summary="", steps=steps),), products=(product,)
    )


def make_step(id, rate, kind="coat", **more):
    product = "p" if kind == "coat" else None
    return Step(id=id, name=id.title(), kind=kind, basis="net_area", product=product, wet_film=2e-4,
                labour=Labour(rate=rate), **more)  # fmt: skip


def works_in_one_room(*steps, area=40.0, **more):
    catalogue = make_catalogue(steps=steps, pot_life=more.pop("pot_life", 0.5))
    lots = [Lot(system="s", room="A", room_label="A", quantities=Quantities(net_area=area))]
    return works_of(labour_lines(lots, catalogue, RATES), catalogue, RATES, **more)


def make_lines(**quantities):
    lots = [
        Lot(system="s", room=r, room_label=r, quantities=Quantities(net_area=40.0, **quantities)) for r in ("A", "B")
    ]
    return labour_lines(lots, make_catalogue(), RATES)


def test_steps_follow_each_other_in_their_room_with_the_window_of_the_step_before():
    works = works_of(make_lines(), make_catalogue(), RATES, crews=2)
    # 40 m2 at 10 m2/h is 4 man-hours, 2 h for a crew of two; abraded at the usual 11.15 m2/h: 40 / 11.15 / 2 h.
    assert [(w.id, w.hours) for w in works] == [
        ("A/s/prime", 2.0),
        ("A/s/glaze", 4.0),
        ("B/s/prime", 2.0),
        ("B/s/glaze", 4.0),
    ]
    assert works[1].follows == (
        Follow(work="A/s/prime", wait=12.0, within=48.0, abrade_hours=pytest.approx(40.0 / 11.15 / 2)),
    )
    assert works[2].follows == ()
    assert works[0].mixes == ((2.0, 0.5),)


def test_step_without_measured_work_is_passed_over_with_its_wait():
    works = works_of(make_lines(cove_length=10.0), make_catalogue(), RATES)
    assert [w.step for w in works[:3]] == ["prime", "cove", "glaze"]
    assert (works[2].follows[0].work, works[2].follows[0].wait) == ("A/s/cove", 24.0)


def test_windows_and_pot_lives_double_for_ten_degrees_less():
    works = works_of(make_lines(), make_catalogue(), RATES, temperature=15.0)
    assert (works[1].follows[0].wait, works[1].follows[0].within, works[0].mixes) == (24.0, 96.0, ((2.0, 1.0),))


def test_works_of_an_estimate_make_a_plan():
    works = works_of(make_lines(), make_catalogue(), RATES)
    plan = plan_days(works, Calendar(start=date(2026, 3, 2)), effort=5.0)
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
    plan = plan_days(parts, Calendar(start=date(2026, 3, 2)))
    assert [(w.start.day, w.start.hour, len(w.bars), w.batches) for w in plan.works] == [
        (2, 7, 1, 14), (3, 7, 1, 14), (4, 7, 1, 14),
    ]  # fmt: skip
    assert len(works_in_one_room(make_step("glaze", 5.0, wet_edge=True), area=200.0, shift_hours=10.0)) == 2


def test_labour_without_an_end_is_refused_before_it_is_parted():
    with pytest.raises(InputError, match=r"20,000,000,000 hours of Glaze in one room\. Check the labour"):
        works_in_one_room(make_step("glaze", 1e-9, wet_edge=True))


def test_most_of_a_window_runs_from_each_part_and_abrading_is_of_that_part():
    glaze = make_step("glaze", 5.0, wet_edge=True, min_recoat=12.0, max_recoat=48.0)
    *parts, seal = works_in_one_room(glaze, make_step("seal", 40.0), area=120.0)
    assert len(parts) == 2
    # 120 m2 at 11.15 m2/h for a crew of two, half of it for each part.
    hours = pytest.approx(120.0 / 11.15 / 2 / 2)
    assert sorted(seal.follows, key=lambda f: f.work) == [
        Follow(work=w.id, wait=12.0, within=48.0, abrade_hours=hours) for w in parts
    ]


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
    assert (sand.follows, sand.is_whole) == ((Follow(work="A/s/base+mat+saturate", wait=12.0),), False)


def test_what_is_mixed_in_one_batch_is_done_in_one_go():
    one, more = (works_in_one_room(make_step("prime", 5.0), pot_life=life)[0] for life in (4.0, 3.9))
    assert (one.is_whole, more.is_whole) == (True, False)


def test_each_coat_of_a_step_waits_for_the_one_before():
    first, second = works_in_one_room(make_step("top", 10.0, coats=2, min_recoat=2.0, max_recoat=24.0))
    assert [(w.id, w.part, w.hours) for w in (first, second)] == [
        ("A/s/top/1", "coat 1 of 2", 2.0),
        ("A/s/top/2", "coat 2 of 2", 2.0),
    ]
    assert second.follows == (
        Follow(work="A/s/top/1", wait=2.0, within=24.0, abrade_hours=pytest.approx(40.0 / 11.15 / 2)),
    )


def test_works_and_set_up_are_the_priced_hours():
    rates = Rates(crew=2, setup_hours=6.0)
    lines = make_lines()
    works = works_of(lines, make_catalogue(), rates, crews=3)
    around = around_hours(rates, 3)
    priced = sum(line.hours for line in lines) + rates.setup_hours
    assert (sum(work.hours for work in works) + 2 * around * 3) * rates.crew == pytest.approx(priced)


def follow_of(work, id):
    return next(follow for follow in work.follows if follow.work.endswith(id))


def room_of(*steps, **quantities):
    catalogue = make_catalogue(steps=steps)
    lots = [Lot(system="s", room="A", room_label="A", quantities=Quantities(net_area=40.0, **quantities))]
    return {work.step: work for work in works_of(labour_lines(lots, catalogue, RATES), catalogue, RATES)}


GLAZE = {"min_recoat": 12.0, "max_recoat": 48.0}


def make_cove(id, **more):
    return Step(id=id, name=id.title(), kind="work", basis="cove_length", labour=Labour(rate=5.0), **more)


def test_what_is_done_on_the_cove_between_two_coats_of_the_wall_does_not_start_the_wall_anew():
    works = room_of(
        make_step("glaze", 10.0, **GLAZE), make_cove("seal", min_recoat=6.0), make_step("again", 10.0), cove_length=10.0
    )
    # The wall is coated within 48 h of its own last coat, whatever the cove; and 6 h after the cove at the earliest.
    assert follow_of(works["again"], "glaze").within == 48.0
    assert (follow_of(works["again"], "seal").wait, follow_of(works["again"], "seal").within) == (6.0, None)


def test_a_step_that_abrades_ends_the_window_so_that_nothing_is_abraded_twice():
    sand = make_step("sand", 10.0, kind="work", abrades=("wall",))
    works = room_of(make_step("glaze", 10.0, **GLAZE), sand, make_step("again", 10.0))
    assert all(follow.within is None for work in works.values() for follow in work.follows)
    assert follow_of(works["sand"], "glaze").wait == 12.0


def test_work_that_covers_nothing_may_come_after_the_window_and_does_not_reset_it():
    works = room_of(make_step("glaze", 10.0, **GLAZE), make_step("tack", 10.0, kind="work"), make_step("again", 10.0))
    assert follow_of(works["tack"], "glaze").within is None
    assert follow_of(works["again"], "glaze").within == 48.0


def test_the_most_between_two_coats_of_a_step_can_be_said_for_itself():
    works = works_in_one_room(
        make_step("top", 10.0, coats=2, min_recoat=2.0, max_between=24.0), make_step("seal", 40.0)
    )
    assert [follow.within for work in works for follow in work.follows] == [24.0, None]


def test_abrading_is_counted_by_the_area_of_the_surface_at_the_rate_of_the_step_that_abrades_it():
    # 40 m2 at 8 m2/h are 5 man-hours, 2.5 h for two. 10 m of cove, 0.2 m2 each, at the usual 11.15 m2/h.
    sand = make_step("sand", 8.0, kind="work", abrades=("wall",))
    works = room_of(
        sand, make_step("glaze", 10.0, **GLAZE), make_cove("mortar", max_recoat=24.0),
        make_cove("seal", min_recoat=0.0), make_step("again", 10.0), cove_length=10.0,
    )  # fmt: skip
    assert follow_of(works["again"], "glaze").abrade_hours == pytest.approx(2.5)
    assert follow_of(works["seal"], "mortar").abrade_hours == pytest.approx(2.0 / 11.15 / 2)


def test_a_wet_step_takes_its_window_from_the_last_of_those_worked_together_that_has_one():
    works = room_of(
        make_step("base", 20.0, min_recoat=4.0),
        make_step("mat", 20.0, kind="mat", into_wet=True),
        make_step("saturate", 20.0, into_wet=True, **GLAZE),
        make_step("corners", 20.0, kind="work", into_wet=True),
        make_step("glaze", 20.0),
    )
    (follow,) = works["glaze"].follows
    assert (follow.wait, follow.within) == (12.0, 48.0)


def test_what_is_laid_over_a_part_counts_from_that_part():
    # 120 m2 at 5 m2/h: 12 h for two, two parts of each coat; each part is abraded by itself, 120 / 11.15 / 2 / 2 h.
    glaze = make_step("glaze", 5.0, wet_edge=True, **GLAZE)
    _, _, first, second = works_in_one_room(glaze, make_step("again", 5.0, wet_edge=True), area=120.0)
    assert [(f.work[-1], f.wait, f.within) for f in first.follows] == [("2", 12.0, None), ("1", 12.0, 48.0)]
    assert [(f.work[-1], f.wait, f.within) for f in second.follows] == [("1", 0.0, None), ("2", 12.0, 48.0)]
    assert follow_of(second, "glaze/2").abrade_hours == pytest.approx(120.0 / 11.15 / 2 / 2)


def test_crews_share_the_steps_of_a_room_that_has_wall_enough_for_each():
    # By hand: 100 m2 of wall, 40 m2 a crew: two of three crews work on it, each step in half the time.
    catalogue = default_catalogue()
    lot = Lot(system="thin-film", room="R", room_label="R", quantities=Quantities(net_area=100.0))
    rates = Rates(crew=2)
    lines = labour_lines((lot,), catalogue, rates)
    alone = works_of(lines, catalogue, rates, crews=3)
    shared = works_of(lines, catalogue, rates, crews=3, share_area=40.0)
    assert {work.crews for work in alone} == {1}
    assert {work.crews for work in shared} == {2}
    assert [work.hours for work in shared] == pytest.approx([work.hours / 2.0 for work in alone])
    small = works_of(lines, catalogue, rates, crews=3, share_area=60.0)
    assert small == alone


def test_crew_hours_are_the_same_shared_or_not_and_the_room_is_ready_no_later():
    catalogue = default_catalogue()
    lot = Lot(system="thin-film", room="R", room_label="R", quantities=Quantities(net_area=120.0))
    lines = labour_lines((lot,), catalogue, Rates(crew=2))
    plans = []
    for share in (None, 50.0):
        works = works_of(lines, catalogue, Rates(crew=2), crews=2, share_area=share)
        plans.append(plan_days(works, Calendar(start=date(2026, 3, 2)), crews=2, effort=0.0))
    assert plans[1].asked_hours == pytest.approx(plans[0].asked_hours, abs=0.01)
    assert plans[1].finish < plans[0].finish
