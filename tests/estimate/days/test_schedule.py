import itertools
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.errors import InputError
from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import Follow, RoomTerms, Work

ALWAYS = Calendar(start=date(2026, 3, 2), shift_start=0.0, shift_hours=24.0, workdays=tuple(range(7)))
WEEK = Calendar(start=date(2026, 3, 2))  # a Monday, 07:00 to 15:00


def make_work(id, hours=2.0, room="R1", after=(), **more):
    return Work(id=id, room=room, step=id, name=id.title(), hours=hours, follows=tuple(after), **more)


def starts(plan):
    return {w.work: w.start for w in plan.works if w.kind == "work"}


def at(day, hour, minute=0):
    return datetime(2026, 3, day, hour, minute)


GRAHAM = {1: 3, 2: 2, 3: 2, 4: 2, 5: 4, 6: 4, 7: 4, 8: 4, 9: 9}
"""Hours of the nine works of Graham (1969, SIAM J. Appl. Math. 17, from memory): 1 before 9, and 4 before 5 to 8."""


@pytest.mark.parametrize(("crews", "less", "optimum"), [(3, 0, 12.0), (4, 0, 12.0), (3, 1, 10.0)])
def test_published_works_with_an_order_are_planned_in_their_optimum(crews, less, optimum):
    # In the order given more crews take 15 h and shorter works 13 h; 1 and 9 one after the other are the optimum.
    before = {9: 1, 5: 4, 6: 4, 7: 4, 8: 4}
    works = [
        make_work(str(n), hours - less, after=[Follow(work=str(before[n]))] if n in before else ())
        for n, hours in GRAHAM.items()
    ]
    plan = plan_days(works, ALWAYS, crews=crews, minutes=60, effort=30.0)
    assert (plan.hours, plan.is_proven) == (optimum, True)


@pytest.mark.parametrize("crews", [2, 3, 4, 6])
def test_works_on_which_longest_first_is_at_its_worst_are_planned_in_their_optimum(crews):
    # Graham (1969, from memory): two works each of 2m − 1 to m + 1 h and three of m h take m crews 3m h; longest first
    # takes 4m − 1 h.
    hours = [*(h for h in range(2 * crews - 1, crews, -1) for _ in range(2)), *[crews] * 3]
    plan = plan_days([make_work(str(n), h) for n, h in enumerate(hours)], ALWAYS, crews=crews, minutes=60, effort=30.0)
    assert (plan.hours, plan.is_proven) == (3.0 * crews, True)


def test_long_work_pauses_at_the_end_of_the_shift_and_over_the_weekend():
    # 8 h a day from Monday: 42 h end on the next Monday at 09:00.
    plan = plan_days([make_work("prep", 42.0)], WEEK)
    (work,) = plan.works
    assert (work.start, work.end, plan.days) == (at(2, 7), at(9, 9), 6)
    assert [(b.hour, e.hour) for b, e in work.bars] == [(7, 15)] * 5 + [(7, 9)]


def test_holiday_is_left_out():
    plan = plan_days([make_work("prep", 10.0)], Calendar(start=date(2026, 3, 2), holidays=(date(2026, 3, 3),)))
    assert plan.works[0].end == at(4, 9)


def test_least_recoat_runs_on_the_clock_through_the_night():
    works = [make_work("prime", 6.0), make_work("coat", 1.0, after=[Follow(work="prime", wait=16.0)])]
    plan = plan_days(works, WEEK)
    # Primed at 13:00, 16 h later is 05:00: the next shift begins at 07:00.
    assert starts(plan)["coat"] == at(3, 7)
    assert plan.works[1].reason == "waits 16 h after Prime in R1, until Tue 2026-03-03 05:00, outside the shift"


def test_wait_that_ends_within_the_shift_is_waited_out():
    works = [make_work("prime", 2.0), make_work("coat", 1.0, after=[Follow(work="prime", wait=3.0)])]
    plan = plan_days(works, WEEK)
    assert starts(plan)["coat"] == at(2, 12)
    assert plan.works[1].reason == "waits 3 h after Prime in R1, until Mon 2026-03-02 12:00"


def test_missed_most_recoat_adds_abrading_and_says_so():
    # Ready on Friday at 15:00, to be coated within 48 h: the weekend is longer.
    works = [
        make_work("prep", 33.0),
        make_work("prime", 7.0, after=[Follow(work="prep")]),
        make_work("coat", 4.0, after=[Follow(work="prime", wait=8.0, within=48.0, abrade_hours=1.5)]),
    ]
    plan = plan_days(works, WEEK)
    abrade, coat = plan.works[-2:]
    assert (abrade.kind, abrade.start, abrade.end, coat.start) == ("abrade", at(9, 7), at(9, 8, 30), at(9, 8, 30))
    assert "64 h after Prime, past its most of 48 h: abraded first" in abrade.reason
    assert plan.abraded == 1
    assert "1 recoat window is missed" in plan.notes[0]


def test_window_is_held_by_starting_the_step_before_later_where_that_costs_nothing():
    # The mat needs the crew until Tuesday 15:00 in room 2; priming room 1 at once would miss its 24 h.
    works = [
        make_work("long", 16.0, "R2"),
        make_work("prime", 2.0, "R1"),
        make_work("coat", 2.0, "R1", [Follow(work="prime", wait=2.0, within=24.0, abrade_hours=2.0)]),
    ]
    plan = plan_days(works, WEEK)
    assert plan.abraded == 0
    begin, end = starts(plan)["coat"], next(w.end for w in plan.works if w.work == "prime")
    assert timedelta(hours=2) <= begin - end <= timedelta(hours=24)


def test_room_that_cannot_cure_by_its_day_is_named():
    terms = RoomTerms(room="R1", cure=72.0, ready_by=at(4, 12))
    with pytest.raises(InputError, match="R1 cannot be ready by its day: Coat would end too late for it to cure"):
        plan_days([make_work("coat", 8.0)], WEEK, rooms=[terms])
    plan = plan_days([make_work("coat", 8.0)], WEEK, rooms=[RoomTerms(room="R1", cure=72.0, ready_by=at(5, 15))])
    assert plan.rooms[0].ready == at(5, 15)


def test_room_with_the_nearer_day_goes_first():
    works = [make_work("a", 8.0, "R1"), make_work("b", 8.0, "R2")]
    plan = plan_days(works, WEEK, rooms=[RoomTerms(room="R2", cure=12.0, ready_by=at(3, 7))])
    assert starts(plan) == {"b": at(2, 7), "a": at(3, 7)}
    assert next(w.reason for w in plan.works if w.work == "a") == "Crew is at B in R2 until then"


def test_room_is_entered_when_it_opens():
    plan = plan_days([make_work("a", 1.0)], WEEK, rooms=[RoomTerms(room="R1", open_from=at(4, 10))])
    assert starts(plan)["a"] == at(4, 10)
    assert plan.works[0].reason == "the room opens Wed 2026-03-04 10:00"


def test_work_in_one_go_waits_for_a_shift_that_holds_it():
    plan = plan_days([make_work("a", 3.0), make_work("b", 6.0, after=[Follow(work="a")], is_whole=True)], WEEK)
    assert starts(plan)["b"] == at(3, 7)
    assert plan.works[1].reason == "is done in one go and does not fit into the rest of the shift before"


def test_several_crews_work_side_by_side_and_are_told_apart():
    works = [make_work(name, 8.0, name) for name in ("r1", "r2", "r3")]
    plan = plan_days(works, WEEK, crews=2)
    assert (plan.days, plan.is_proven) == (2, True)
    assert sorted(w.crews for w in plan.works if w.start == at(2, 7)) == [("Crew 1",), ("Crew 2",)]


def test_batches_follow_from_the_pot_life():
    plan = plan_days([make_work("coat", 3.0, mixes=((3.0, 0.5),)), make_work("sand", 1.0)], WEEK)
    assert {w.work: w.batches for w in plan.works} == {"coat": 6, "sand": 0}


def test_no_batch_is_left_over_the_night():
    # 6 h, then 3 h of coat: 2 h on Monday, 1 h on Tuesday. At 45 min a batch that is 3 and 2; 4 would do in one go.
    works = [make_work("prep", 6.0), make_work("coat", 3.0, after=[Follow(work="prep")], mixes=((3.0, 0.75),))]
    plan = plan_days(works, WEEK)
    assert (len(plan.works[1].bars), plan.works[1].batches) == (2, 5)


def test_set_up_comes_before_all_work_and_clean_up_after_it_with_all_crews():
    works = [make_work("a", 3.0, "R1"), make_work("b", 3.0, "R2")]
    plan = plan_days(works, WEEK, crews=2, setup=1.0, cleanup=0.5)
    assert [(w.room, w.name, w.start, w.end) for w in plan.works] == [
        ("Whole job", "Set up", at(2, 7), at(2, 8)),
        ("R1", "A", at(2, 8), at(2, 11)),
        ("R2", "B", at(2, 8), at(2, 11)),
        ("Whole job", "Clean up", at(2, 11), at(2, 11, 30)),
    ]
    assert plan.works[0].crews == ("Crew 1", "Crew 2")
    assert plan.works[1].reason == "follows the set-up"
    assert (plan.hours, plan.bound, plan.is_proven) == (4.5, 4.5, True)
    assert [room.room for room in plan.rooms] == ["R1", "R2"]


def test_hours_asked_for_and_hours_that_crews_are_there_are_reconciled():
    # By hand: 1.1 + 2.0 h of steps, in quarters 1.25 + 2.0; set-up and clean-up 0.5 h each; 3 h of waiting between.
    works = [make_work("prime", 1.1), make_work("coat", 2.0, after=[Follow(work="prime", wait=3.0)])]
    plan = plan_days(works, WEEK, setup=0.5, cleanup=0.5)
    assert (plan.asked_hours, plan.hours) == (pytest.approx(4.1), 7.25)
    assert plan.notes == (
        "Crew hours: 3.10 h of steps + 1.00 h of set-up and clean-up + 0.15 h as works are counted in whole 15 min"
        " = 4.25 h; 1 crew × 7.25 h − 4.25 h = 3.00 h of waiting.",
    )


def test_abrading_may_be_done_the_day_before_work_that_fills_a_shift():
    # The coat takes a whole shift, so it begins on a morning, at least 16 h after a shift ends: past its 12 h.
    works = [
        make_work("prime", 3.0),
        make_work("coat", 8.0, after=[Follow(work="prime", wait=4.0, within=12.0, abrade_hours=1.0)], is_whole=True),
    ]
    for limit in (0.0, 2.0):
        plan = plan_days(works, WEEK, effort=limit)
        abrade, coat = plan.works[1:]
        assert (abrade.kind, abrade.end - abrade.start) == ("abrade", timedelta(hours=1))
        assert (coat.start.hour, coat.end.hour, len(coat.bars)) == (7, 15, 1)


def test_nothing_to_do_is_an_empty_plan():
    plan = plan_days([], WEEK)
    assert (plan.works, plan.hours, plan.is_proven) == ((), 0.0, True)


def shortest(hours, waits):
    """Try every order of one crew's works over rooms of two steps each, around the clock."""
    rooms = range(len(hours))
    best = float("inf")
    for order in set(itertools.permutations([r for r in rooms for _ in range(2)])):
        now, done = 0, {}
        for room in order:
            step = 1 if room in done else 0
            now = max(now, done[room] + waits[room]) if step else now
            now += hours[room][step]
            done[room] = now
        best = min(best, now)
    return best


@settings(deadline=None, max_examples=25)
@given(st.lists(st.tuples(st.tuples(st.integers(1, 5), st.integers(1, 5)), st.integers(0, 12)), min_size=1, max_size=3))
def test_small_plans_are_as_short_as_an_exhaustive_search_finds(rooms):
    works = []
    for r, ((first, second), wait) in enumerate(rooms):
        works.append(make_work(f"{r}.0", float(first), f"R{r}"))
        works.append(make_work(f"{r}.1", float(second), f"R{r}", [Follow(work=f"{r}.0", wait=float(wait))]))
    plan = plan_days(works, ALWAYS, minutes=60, effort=10.0)
    assert plan.is_proven
    assert plan.hours == shortest([hours for hours, _ in rooms], [wait for _, wait in rooms])


@settings(deadline=None, max_examples=25)
@given(
    st.lists(
        st.tuples(st.sampled_from([1.0, 2.5, 5.0, 9.0]), st.sampled_from([0.0, 4.0, 12.0, 30.0])),
        min_size=1,
        max_size=10,
    ),
    st.integers(1, 2),
)
def test_every_plan_obeys_waits_windows_crews_and_shifts(steps, count):
    works, waits = [], {}
    for n, (hours, wait) in enumerate(steps):
        room = f"R{n // 3}"
        after = [Follow(work=str(n - 1), wait=wait, within=wait + 20.0, abrade_hours=0.5)] if n % 3 else []
        works.append(make_work(str(n), hours, room, after))
        if after:
            waits[str(n)] = (str(n - 1), wait)
    plan = plan_days(works, WEEK, crews=count, effort=0.5)
    mains = {w.work: w for w in plan.works if w.kind == "work"}
    abraded = {w.work: w for w in plan.works if w.kind == "abrade"}
    assert set(mains) == {w.id for w in works}
    for id, (before, wait) in waits.items():
        begin = abraded.get(id, mains[id]).start
        waited = begin - mains[before].end
        assert waited >= timedelta(hours=wait)
        assert (waited > timedelta(hours=wait + 20.0)) == (id in abraded)
    for work in works:
        bars = mains[work.id].bars
        assert sum((e - b for b, e in bars), timedelta()) == timedelta(hours=work.hours)
        assert all(b.weekday() < 5 and b.hour >= 7 and e <= b.replace(hour=15, minute=0) for b, e in bars)
    edges = sorted([(b, 1) for w in plan.works for b, _ in w.bars] + [(e, -1) for w in plan.works for _, e in w.bars])
    assert max(itertools.accumulate(step for _, step in edges)) <= count
    assert plan.bound <= plan.hours + 1e-9
    assert all(w.reason for w in plan.works)
