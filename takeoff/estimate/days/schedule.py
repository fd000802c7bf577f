"""Crew days: steps by room over shifts, with waits, recoat windows, cures, crews and working calendar.

A quick plan comes first (`takeoff.estimate.days.dispatching`). Where no bound (`takeoff.estimate.days.problem`) proves
it the shortest, other priorities are tried and CP-SAT looks for a shorter one; the gap that is left is stated. How long
to look is counted in steps, never by the clock: every machine makes the same plan of the same job. The clock of a
recoat window runs from the end of a step to the start of what covers its surface next. Missing the most that a window
allows puts abrading before the next step, and the plan says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from takeoff.errors import InputError
from takeoff.estimate.days.calendar import Calendar, lay_grid
from takeoff.estimate.days.dispatching import dispatched_plan, serial_plan, settled
from takeoff.estimate.days.laying_out import day_plan
from takeoff.estimate.days.problem import Link, Placement, Problem, Task, least_finish
from takeoff.estimate.days.solver import solve
from takeoff.estimate.days.works import DayPlan, RoomTerms, Work

SMALL = 100
"""Works up to which all the effort goes to the solver."""

LARGE = 600
"""Works from which on all the effort goes to other priorities: on so many the solver finds nothing."""

PLACED_OF_EFFORT = 90_000
"""Tasks dispatched for one unit of effort: about 1 s of processor time, measured on 70 to 1,400 works, 2026."""


def plan_days(
    works: Sequence[Work],
    calendar: Calendar,
    *,
    crews: int = 1,
    rooms: Sequence[RoomTerms] = (),
    setup: float = 0.0,
    cleanup: float = 0.0,
    effort: float = 10.0,
    minutes: int = 15,
) -> DayPlan:
    """Plan works into days in the shortest working time found.

    ``works`` come after what they follow, and where nothing else decides the first in a room is done first; each fits
    its shift and takes no more than the ``crews`` there are. ``rooms`` say when rooms open, cure and must be ready; one
    without terms is open from the start and ready when done. ``setup`` and ``cleanup`` are hours that all crews take
    before the first work and after the last. ``effort`` is how long to look for a shorter plan: 1 is about a second of
    processor time, counted in steps, 0 gives the quick plan. Hours are rounded up to whole slots of so many
    ``minutes``. Raises `InputError` when a room cannot be ready by its day, and names it.

    Examples
    --------
    A primer of 4 h, 12 h to the coat of 4 h: the coat is done the next morning.

    >>> from datetime import date
    >>> from takeoff.estimate.days.works import Follow
    >>> works = [
    ...     Work(id="p", room="R1", step="prime", name="Prime", hours=4.0),
    ...     Work(id="c", room="R1", step="coat", name="Coat", hours=4.0,
    ...          follows=(Follow(work="p", wait=12.0),)),
    ... ]
    >>> plan = plan_days(works, Calendar(start=date(2026, 3, 2)))
    >>> [str(w.start) for w in plan.works], plan.days, plan.is_proven
    (['2026-03-02 07:00:00', '2026-03-03 07:00:00'], 2, True)
    >>> plan.works[1].reason
    'waits 12 h after Prime in R1, until Mon 2026-03-02 23:00, outside the shift'
    """
    if not works:
        return DayPlan(works=(), rooms=(), finish=None, days=0, hours=0.0, bound=0.0, abraded=0)
    problem = _problem(works, crews, calendar, rooms, minutes, setup + cleanup, setup)
    bound = least_finish(problem)
    quick = _better(problem, serial_plan(problem), dispatched_plan(problem, bound=bound))
    best = quick
    if effort > 0.0 and (quick.broken or quick.finish(problem) > bound or sum(quick.abrading)):
        best, bound = _improved(problem, works, quick, bound, effort)
    if best.broken:
        _refuse(problem, works, best, is_proven=False, effort=0.0)
    return day_plan(problem, works, rooms, best, setup=setup, cleanup=cleanup, bound=bound)


def _improved(
    problem: Problem, works: Sequence[Work], quick: Placement, bound: int, effort: float
) -> tuple[Placement, int]:
    """Return a plan no worse than the quick one, and the bound that is known then."""
    best = quick
    is_small, is_large = len(works) <= SMALL, len(works) > LARGE
    if not is_small:
        placed = int((1.0 if is_large else 0.5) * effort * PLACED_OF_EFFORT)
        best = _better(problem, quick, dispatched_plan(problem, bound=bound, placed=placed))
    if is_large and not best.broken:
        return best, bound
    rest = effort if is_small else 0.5 * effort
    found = solve(problem, best, bound=bound, effort=rest)
    if found.placement is not None:
        return _better(problem, best, found.placement), found.bound
    if best.broken:
        _refuse(problem, works, best, is_proven=found.is_impossible, effort=effort)
    return best, found.bound


def _problem(
    works: Sequence[Work],
    crews: int,
    calendar: Calendar,
    rooms: Sequence[RoomTerms],
    minutes: int,
    around: float,
    setup: float,
) -> Problem:
    work_index = {work.id: n for n, work in enumerate(works)}
    terms = {room.room: room for room in rooms}
    one = lay_grid(calendar, minutes=minutes, slots=1)
    begins = one.slots(setup)
    lengths, links = [], []
    for work in works:
        lengths.append(one.slots(work.hours))
        row = []
        for f in work.follows:
            within = None if f.within is None else math.floor(f.within * 60.0 / minutes + 1e-6)
            row.append(Link(work_index[f.work], one.slots(f.wait), within, one.slots(f.abrade_hours)))
        links.append(tuple(row))
    opens = max((one.clock_of(t.open_from, is_late=True) for t in rooms if t.open_from is not None), default=0)
    need = sum(n + one.shift for n in lengths) + max(0, opens) + one.slots(around)
    need += sum(link.wait + link.abrade for found in links for link in found)
    grid = lay_grid(calendar, minutes=minutes, slots=3 * need)
    ends_room = {f.work for work in works for f in work.follows if works[work_index[f.work]].room == work.room}
    tasks = []
    for work, length, found in zip(works, lengths, links, strict=True):
        term = terms.get(work.room, RoomTerms(room=work.room))
        opening, due = grid.begin(begins), None
        if term.open_from is not None:
            opening = max(opening, grid.clock_of(term.open_from, is_late=True))
        if term.ready_by is not None and work.id not in ends_room:
            due = grid.clock_of(term.ready_by, is_late=False) - grid.slots(term.cure)
        tasks.append(Task(length, work.crews, found, work.is_whole, opening, due))
    return Problem(tuple(tasks), crews, grid, need, begins)


def _better(problem: Problem, one: Placement, other: Placement) -> Placement:
    """Return the better of two placements, the other pushed as early as it goes."""
    return min(one, settled(problem, other), key=lambda placed: placed.rank(problem))


def _refuse(problem: Problem, works: Sequence[Work], quick: Placement, *, is_proven: bool, effort: float) -> None:
    """Name the fewest constraints that cannot hold, or those that the best plan found breaks."""
    broken = quick.broken
    if effort > 0.0:
        found = solve(problem, quick, bound=0, effort=effort, lets_break=True)
        if found.placement is not None:
            broken = found.placement.broken
    said = [
        f"{works[i].room} cannot be ready by its day: {works[i].name} would end too late for it to cure" for i in broken
    ]
    raise InputError(
        ("no plan holds everything: " if is_proven else "no plan was found that holds everything: ") + "; ".join(said),
        remedy="Give it a later day, more crews, longer shifts or Saturdays, or leave the day out.",
    )
