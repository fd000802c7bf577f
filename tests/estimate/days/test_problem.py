import itertools
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.errors import InputError
from takeoff.estimate.days.calendar import Calendar, lay_grid
from takeoff.estimate.days.dispatching import place
from takeoff.estimate.days.problem import Link, Problem, Task, heads_of, latest_ends, least_finish
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import Follow, Work

WEEK = Calendar(start=date(2026, 3, 2))  # a Monday, 07:00 to 15:00


def make_problem(rooms, count=1):
    """Build rooms of (hours, wait after it) in slots of an hour."""
    tasks = []
    for steps in rooms:
        for n, (hours, _) in enumerate(steps):
            links = (Link(len(tasks) - 1, steps[n - 1][1], None, 0),) if n else ()
            tasks.append(Task(hours, 1, links, False, 0, None))
    most = sum(8 + task.length + sum(link.wait for link in task.links) for task in tasks)
    return Problem(tuple(tasks), count, lay_grid(WEEK, minutes=60, slots=3 * most), most)


def test_what_dries_for_a_night_ends_the_day_before():
    # Coat 6 h, 12 h to the seal of 1 h. To finish at Tuesday 15:00 the seal starts at 14:00, so the coat is done by
    # Monday 15:00; to finish an hour later, on Wednesday at 08:00, by Tuesday 15:00.
    problem = make_problem([[(6, 12), (1, 0)]])
    assert latest_ends(problem, 16) == [8, 16]
    assert latest_ends(problem, 17) == [16, 17]
    assert heads_of(problem) == [0, 8]


def test_two_coats_that_do_not_fit_into_a_day_put_the_last_seal_off_to_the_third():
    # 14 h of work; by hand: coats to Tuesday 11:00, so the last seal is on Wednesday from 07:00 to 08:00.
    problem = make_problem([[(6, 12), (1, 0)]] * 2)
    assert least_finish(problem) == 17
    works = [
        Work(id=f"{room}{step}", room=room, step=step, name=step, hours=hours, follows=follows)
        for room in ("R1", "R2")
        for step, hours, follows in (("coat", 6.0, ()), ("seal", 1.0, (Follow(work=f"{room}coat", wait=12.0),)))
    ]
    plan = plan_days(works, WEEK, effort=0.0)
    assert (plan.hours, plan.bound, plan.is_proven) == (17.0, 17.0, True)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.lists(st.tuples(st.integers(1, 9), st.sampled_from([0, 4, 12, 30])), min_size=1, max_size=2),
        min_size=1,
        max_size=3,
    ),
    st.integers(1, 2),
)
def test_no_order_of_works_beats_the_bound(rooms, count):
    problem = make_problem(rooms, count)
    orders = itertools.permutations(range(len(problem.tasks)))
    assert least_finish(problem) <= min(place(problem, order).finish(problem) for order in orders)


def test_work_without_an_end_is_refused_before_its_days_are_laid_out():
    with pytest.raises(InputError, match="1,250,000,000 days of work and waiting"):
        lay_grid(WEEK, minutes=60, slots=10**10)
