"""From starts in slots to a plan that people read: bars by shift, who does what, rooms ready, and the hours."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

from takeoff.estimate.days.calendar import Grid
from takeoff.estimate.days.problem import Placement, Problem
from takeoff.estimate.days.reasons import reasons
from takeoff.estimate.days.works import WHOLE_JOB, Crew, DayPlan, PlannedWork, RoomReady, RoomTerms, Work


def day_plan(
    problem: Problem,
    works: Sequence[Work],
    crews: Sequence[Crew],
    rooms: Sequence[RoomTerms],
    placement: Placement,
    *,
    setup: float,
    cleanup: float,
    quick: int,
    bound: int,
) -> DayPlan:
    """Lay a placement out over the calendar, set-up before it and clean-up after it.

    Parameters
    ----------
    problem, works, crews, rooms
        What was planned, as given and in slots.
    placement
        The plan.
    setup, cleanup
        Hours of all crews before and after.
    quick, bound
        Slots at which the quick plan ends, and before which no plan does.
    """
    grid = problem.grid
    units = _units(problem, crews, placement)
    why = reasons(problem, works, crews, placement)
    finish, after = placement.finish(problem), grid.slots(cleanup)
    planned: list[PlannedWork] = []
    if problem.begins:
        planned.append(_around(grid, "setup", "Set up", 0, problem.begins, crews, "starts the job"))
    for i in sorted(range(len(works)), key=lambda i: (placement.starts[i], i)):
        work, at, extra = works[i], placement.starts[i], placement.abrading[i]
        if extra:
            missed = _missed_words(problem, works, placement, i)
            planned.append(_bar(grid, work, "abrade", at, at + extra, units[i], f"{why[i]}; {missed}"))
        reason = "follows its abrading" if extra else why[i]
        reason = f"{work.part}: {reason}" if work.part else reason
        planned.append(_bar(grid, work, "work", at + extra, placement.end(problem, i), units[i], reason))
    if after:
        planned.append(_around(grid, "cleanup", "Clean up", finish, finish + after, crews, "follows the last work"))
    cures = {term.room: grid.slots(term.cure) for term in rooms}
    ready = []
    for room in dict.fromkeys(work.room for work in works):
        done = max(grid.end(placement.end(problem, i)) for i, work in enumerate(works) if work.room == room)
        ready.append(RoomReady(room=room, done=grid.moment(done), ready=grid.moment(done + cures.get(room, 0))))
    end, least = finish + after, bound + after
    people = sum(crew.count for crew in crews)
    around = setup + cleanup
    busy = [sum(count for _, count in task.crews) for task in problem.tasks]
    asked = math.fsum(work.hours * n for work, n in zip(works, busy, strict=True))
    whole = (
        sum(task.length * n for task, n in zip(problem.tasks, busy, strict=True)) + (problem.begins + after) * people
    )
    abrading = sum(extra * n for extra, n in zip(placement.abrading, busy, strict=True))
    total = asked + around * people
    abraded = sum(1 for extra in placement.abrading if extra)
    notes = []
    if abraded:
        windows = "1 recoat window is" if abraded == 1 else f"{abraded} recoat windows are"
        notes.append(f"{windows} missed and abrading is added before the next step.")
    if end > least:
        shorter = f"A plan of {_short(grid.hours(least))} working hours is not ruled out"
        notes.append(f"{shorter}; this one takes {_short(grid.hours(end))}.")
    notes.append(
        _hours_words(
            steps=asked,
            around=around * people,
            rounding=grid.hours(whole) - total,
            minutes=grid.minutes,
            abrading=grid.hours(abrading),
            crews=people,
            until=grid.hours(end),
        )
    )
    return DayPlan(
        works=tuple(planned),
        rooms=tuple(ready),
        finish=grid.moment(grid.end(end)),
        days=-(-end // grid.shift),
        hours=round(grid.hours(end), 2),
        bound=round(grid.hours(least), 2),
        quick_hours=round(grid.hours(quick + after), 2),
        abraded=abraded,
        asked_hours=round(total, 2),
        planned_hours=round(grid.hours(whole + abrading), 2),
        notes=tuple(notes),
    )


def _hours_words(
    *,
    steps: float,
    around: float,
    rounding: float,
    minutes: int,
    abrading: float,
    crews: int,
    until: float,
) -> str:
    """Say how the hours of the works come to the hours that crews are there."""
    parts = [f"{steps:.2f} h of steps"]
    if around:
        parts.append(f"{around:.2f} h of set-up and clean-up")
    if rounding > 0.005:
        parts.append(f"{rounding:.2f} h as works are counted in whole {minutes} min")
    if abrading:
        parts.append(f"{abrading:.2f} h of abrading")
    planned = steps + around + max(0.0, rounding) + abrading
    there, waited = (
        f"{crews} {'crew' if crews == 1 else 'crews'} × {_short(until)} h",
        max(0.0, crews * until - planned),
    )
    return f"Crew hours: {' + '.join(parts)} = {planned:.2f} h; {there} − {planned:.2f} h = {waited:.2f} h of waiting."


def _short(hours: float) -> str:
    """Write hours to two decimals, without zeros at the end."""
    return f"{round(hours, 2):g}"


def _around(grid: Grid, id: str, name: str, start: int, end: int, crews: Sequence[Crew], reason: str) -> PlannedWork:
    """Lay set-up or clean-up, which all crews do."""
    work = Work(id=id, room=WHOLE_JOB, step=id, name=name, hours=grid.hours(end - start))
    names = tuple(name for crew in crews for name in _names(crew))
    return _bar(grid, work, "work", start, end, names, reason)


def _bar(
    grid: Grid,
    work: Work,
    kind: Literal["work", "abrade"],
    start: int,
    end: int,
    crews: tuple[str, ...],
    reason: str,
) -> PlannedWork:
    """Lay work over the shifts it takes; batches are mixed anew in each shift."""
    cuts = [start, *range((start // grid.shift + 1) * grid.shift, end, grid.shift), end]
    spans = [(a, b) for a, b in pairwise(cuts) if b > a]
    batches = 0
    if kind == "work":
        batches = sum(
            math.ceil((b - a) / (end - start) * hours / pot_life - 1e-9)
            for hours, pot_life in work.mixes
            for a, b in spans
        )
    begin = grid.begin(start)
    return PlannedWork(
        work=work.id,
        room=work.room,
        step=work.step,
        name="Abrade" if kind == "abrade" else work.name,
        kind=kind,
        start=grid.moment(begin),
        end=grid.moment(max(begin, grid.end(end))),
        bars=tuple((grid.moment(grid.begin(a)), grid.moment(grid.end(b))) for a, b in spans),
        crews=crews,
        reason=reason,
        batches=batches,
    )


def _missed_words(problem: Problem, works: Sequence[Work], placement: Placement, i: int) -> str:
    """Say which recoat windows a task misses."""
    grid = problem.grid
    said = []
    for follow, link in zip(works[i].follows, problem.tasks[i].links, strict=True):
        waited = grid.begin(placement.starts[i]) - grid.end(placement.end(problem, link.before))
        if link.within is not None and link.abrade and waited > link.within:
            name = works[link.before].name
            said.append(
                f"{_short(grid.hours(waited))} h after {name}, past its most of {follow.within:g} h: abraded first"
            )
    return "; ".join(said)


def _units(problem: Problem, crews: Sequence[Crew], placement: Placement) -> list[tuple[str, ...]]:
    """Say which of several equal crews does each task: those that are free, in the order of starts."""
    free = [[0] * crew.count for crew in crews]
    names: list[tuple[str, ...]] = [()] * len(problem.tasks)
    for i in sorted(range(len(problem.tasks)), key=lambda i: (placement.starts[i], placement.end(problem, i))):
        mine: list[str] = []
        for crew, count in problem.tasks[i].crews:
            idle = [n for n, until in enumerate(free[crew]) if until <= placement.starts[i]][:count]
            for n in idle:
                free[crew][n] = placement.end(problem, i)
                mine.append(_names(crews[crew])[n])
        names[i] = tuple(mine)
    return names


def _names(crew: Crew) -> list[str]:
    """Return what each of equal crews is called."""
    return [crew.name] if crew.count == 1 else [f"{crew.name} {n + 1}" for n in range(crew.count)]
