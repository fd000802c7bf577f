"""From starts in slots to a plan that people read: bars by shift, who does what, rooms ready, and the hours."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from takeoff.estimate.days.calendar import Grid, moment_words
from takeoff.estimate.days.problem import Link, Placement, Problem
from takeoff.estimate.days.works import WHOLE_JOB, DayPlan, PlannedWork, RoomReady, RoomTerms, Work

CREW = "Crew"
"""What a crew is called; several have a number."""


def day_plan(
    problem: Problem,
    works: Sequence[Work],
    rooms: Sequence[RoomTerms],
    placement: Placement,
    *,
    setup: float,
    cleanup: float,
    bound: int,
) -> DayPlan:
    """Lay a placement out over the calendar, set-up before it and clean-up after it, in hours of all crews.

    ``bound``: slots before which no plan ends.
    """
    grid = problem.grid
    laid = _Laid(problem, works, placement, grid.slots(cleanup))
    end, least = laid.finish + laid.after, bound + laid.after
    asked, abrading, words = laid.hours(setup + cleanup)
    abraded = sum(1 for extra in placement.abrading if extra)
    notes = []
    if abraded:
        windows = "1 recoat window is" if abraded == 1 else f"{abraded} recoat windows are"
        notes.append(f"{windows} missed and abrading is added before the next step.")
    if end > least:
        shorter = f"A plan of {_short(grid.hours(least))} working hours is not ruled out"
        notes.append(f"{shorter}; this one takes {_short(grid.hours(end))}.")
    notes.append(words)
    return DayPlan(
        works=tuple(laid.bars()),
        rooms=tuple(laid.rooms_ready(rooms)),
        finish=grid.moment(grid.end(end)),
        days=-(-end // grid.shift),
        hours=round(grid.hours(end), 2),
        bound=round(grid.hours(least), 2),
        abraded=abraded,
        asked_hours=round(asked, 2),
        abrading_hours=round(abrading, 2),
        notes=tuple(notes),
        dates=grid.calendar.working_days(-(-end // grid.shift)),
    )


class _Laid:
    """A placement over the calendar, with slots of clean-up ``after`` it."""

    def __init__(self, problem: Problem, works: Sequence[Work], placement: Placement, after: int) -> None:
        self.problem, self.works, self.placement, self.after = problem, works, placement, after
        self.grid, self.tasks, self.starts = problem.grid, problem.tasks, placement.starts
        self.ends = [placement.end(problem, i) for i in range(len(works))]
        self.finish = placement.finish(problem)
        self.names = [f"{CREW} {n + 1}" for n in range(problem.crews)] if problem.crews > 1 else [CREW]

    def hours(self, around: float) -> tuple[float, float, str]:
        """Return crew hours asked for and of abrading, and how all of them come to the hours that crews are there."""
        grid, count = self.grid, self.problem.crews
        steps = math.fsum(work.hours * work.crews for work in self.works)
        slots = sum(task.length * task.crews for task in self.tasks) + (self.problem.begins + self.after) * count
        asked = steps + around * count
        rounding = max(0.0, grid.hours(slots) - asked)
        extras = zip(self.placement.abrading, self.tasks, strict=True)
        abrading = grid.hours(sum(extra * task.crews for extra, task in extras))
        parts = [f"{steps:.2f} h of steps"]
        if around:
            parts.append(f"{around * count:.2f} h of set-up and clean-up")
        if rounding > 0.005:
            parts.append(f"{rounding:.2f} h as works are counted in whole {grid.minutes} min")
        if abrading:
            parts.append(f"{abrading:.2f} h of abrading")
        planned, until = asked + rounding + abrading, grid.hours(self.finish + self.after)
        there = f"{count} {'crew' if count == 1 else 'crews'} × {_short(until)} h − {planned:.2f} h"
        waiting = max(0.0, count * until - planned)
        return (
            asked,
            abrading,
            f"Crew hours: {' + '.join(parts)} = {planned:.2f} h; {there} = {waiting:.2f} h of waiting.",
        )

    def bars(self) -> Iterator[PlannedWork]:
        """Yield set-up, each work with the abrading before it, by start, and clean-up."""
        units, why = self._units(), self.reasons()
        if self.problem.begins:
            yield self._around("setup", "Set up", 0, self.problem.begins, "starts the job")
        for i in sorted(range(len(self.works)), key=lambda i: (self.starts[i], i)):
            work, at, extra = self.works[i], self.starts[i], self.placement.abrading[i]
            if extra:
                reason = f"{why[i]}; {self._missed_words(i)}"
                yield _bar(self.grid, work, "abrade", at, at + extra, units[i], reason)
            reason = "follows its abrading" if extra else why[i]
            reason = f"{work.part}: {reason}" if work.part else reason
            yield _bar(self.grid, work, "work", at + extra, self.ends[i], units[i], reason)
        if self.after:
            yield self._around("cleanup", "Clean up", self.finish, self.finish + self.after, "follows the last work")

    def rooms_ready(self, rooms: Sequence[RoomTerms]) -> Iterator[RoomReady]:
        grid = self.grid
        cures = {term.room: grid.slots(term.cure) for term in rooms}
        for room in dict.fromkeys(work.room for work in self.works):
            done = max(grid.end(self.ends[i]) for i, work in enumerate(self.works) if work.room == room)
            yield RoomReady(room=room, done=grid.moment(done), ready=grid.moment(done + cures.get(room, 0)))

    def _around(self, id: str, name: str, start: int, end: int, reason: str) -> PlannedWork:
        """Lay set-up or clean-up, which all crews do."""
        work = Work(id=id, room=WHOLE_JOB, step=id, name=name, hours=self.grid.hours(end - start))
        return _bar(self.grid, work, "work", start, end, tuple(self.names), reason)

    def _missed_words(self, i: int) -> str:
        grid, said = self.grid, []
        for follow, link in zip(self.works[i].follows, self.tasks[i].links, strict=True):
            waited = grid.begin(self.starts[i]) - grid.end(self.ends[link.before])
            if link.within is not None and link.abrade and waited > link.within:
                name, most = self.works[link.before].name, _short(follow.within or 0.0)
                said.append(f"{_short(grid.hours(waited))} h after {name}, past its most of {most} h: abraded first")
        return "; ".join(said)

    def _units(self) -> list[tuple[str, ...]]:
        """Say which of several equal crews does each task: those that are free, in the order of starts."""
        free = [0] * self.problem.crews
        names: list[tuple[str, ...]] = [()] * len(self.tasks)
        for i in sorted(range(len(self.tasks)), key=lambda i: (self.starts[i], self.ends[i])):
            idle = [n for n, until in enumerate(free) if until <= self.starts[i]][: self.tasks[i].crews]
            for n in idle:
                free[n] = self.ends[i]
            names[i] = tuple(self.names[n] for n in idle)
        return names

    def reasons(self) -> list[str]:
        """Say of each task why it does not start earlier."""
        used = np.zeros(self.finish + 1, dtype=np.int64)
        ending: dict[int, list[int]] = {}
        for i, task in enumerate(self.tasks):
            ending.setdefault(self.ends[i], []).append(i)
            used[self.starts[i] : self.ends[i]] += task.crews
        return [self._reason(used, ending, i) for i in range(len(self.works))]

    def _reason(self, used: NDArray[np.int64], ending: dict[int, list[int]], i: int) -> str:
        grid, task, at = self.grid, self.tasks[i], self.starts[i]
        held: list[tuple[int, Link | None]] = [(grid.first_at(task.opens), None)]
        for link in task.links:
            end = self.ends[link.before]
            held.append((max(end, grid.first_at(grid.end(end) + link.wait)), link))
        ready, binding = max(held, key=lambda pair: pair[0])
        if at <= ready:
            return self._held_by(binding, i)
        length = self.ends[i] - at
        if used[at - 1] + task.crews > self.problem.crews:
            doing = next((self.works[j] for j in ending.get(at, []) if j != i), None)
            return f"waits for {CREW}" if doing is None else f"{CREW} is at {doing.name} in {doing.room} until then"
        if task.is_whole and (at - 1 + self.placement.abrading[i]) % grid.shift + task.length > grid.shift:
            return "is done in one go and does not fit into the rest of the shift before"
        others = used[at - 1 : at - 1 + length].copy()
        others[1:] -= task.crews
        if bool(np.any(others + task.crews > self.problem.crews)):
            return f"waits for {CREW}, free too briefly before"
        return "is held so that what follows it falls into its recoat window, or nothing is gained by an earlier start"

    def _held_by(self, link: Link | None, i: int) -> str:
        """Say what a task that starts as soon as it can starts after."""
        grid, at = self.grid, self.starts[i]
        if link is None:
            if at > self.problem.begins:
                return f"the room opens {moment_words(grid.moment(self.tasks[i].opens))}"
            return "follows the set-up" if self.problem.begins else "starts the job"
        before = self.works[link.before]
        name = f"{before.name} in {before.room}"
        if not link.wait:
            return f"follows {name}"
        until = grid.end(self.ends[link.before]) + link.wait
        outside = ", outside the shift" if grid.begin(at) > until else ""
        return (
            f"waits {_short(grid.hours(link.wait))} h after {name}, until {moment_words(grid.moment(until))}{outside}"
        )


def _short(hours: float) -> str:
    """Write hours to two decimals, without zeros at the end."""
    return f"{round(hours, 2):g}"


def _bar(
    grid: Grid, work: Work, kind: Literal["work", "abrade"], start: int, end: int, crews: tuple[str, ...], reason: str
) -> PlannedWork:
    """Lay work over the shifts it takes; batches are mixed anew in each shift."""
    cuts = [start, *range((start // grid.shift + 1) * grid.shift, end, grid.shift), end]
    spans = [(a, b) for a, b in pairwise(cuts) if b > a]
    batches = 0
    if kind == "work":
        batches = max(1, len(crews)) * sum(
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
